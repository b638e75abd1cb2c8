"""The catalogue: named magnets, steels, conductors and wires with sources and spreads.

The data files state the rule by which every value was chosen. They are read once and cached.
"""

import difflib
import hashlib
import tomllib
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from functools import cache, lru_cache
from importlib import resources
from typing import Any

from polepiece.errors import InputError
from polepiece.materials import pooled as pooled_constants
from polepiece.materials.conductor import Build, Conductor, Enamel, Wire
from polepiece.materials.curve import KneeCurve, KneeShape
from polepiece.materials.magnet import MagnetMaterial, Source, Status
from polepiece.materials.steel import LangevinSteel, LinearSteel, SteelLaw, SteelMaterial, TwoLangevinSteel

MAGNETS, STEELS, CONDUCTORS = DATA_FILES = ("magnets.toml", "steels.toml", "conductors.toml")
MILLIMETRE = 1e-3


@dataclass(frozen=True, slots=True, kw_only=True)
class Finish:
    """What the surface of a magnet changes: contact and section, never the alloy."""

    slug: str
    name: str
    gap_a_side: tuple[float, float]  # extra distance between bar and steel on each side, m, (low, high)
    section_loss: tuple[float, float]  # relative loss of section, (low, high)
    status: Status = "assumption"
    note: str = ""


def _bytes(name: str) -> bytes:
    return resources.files("polepiece.materials").joinpath("data", name).read_bytes()


def _table(name: str) -> dict[str, Any]:
    return tomllib.loads(_bytes(name).decode("utf-8"))


def _unknown(kind: str, given: str, known: Iterable[str]) -> InputError:
    names = sorted(known)
    near = difflib.get_close_matches(given.lower(), [name.lower() for name in names], n=1, cutoff=0.4)
    nearest = next((name for name in names if near and name.lower() == near[0]), None)
    hint = f" Did you mean {nearest!r}?" if nearest else ""
    return InputError(f"{kind} {given!r} is not in the catalogue.{hint} Known: {', '.join(names)}.")


def _pair(values: Iterable[float]) -> tuple[float, float]:
    low, high = values
    return float(low), float(high)


def _row_source(row: Mapping[str, Any]) -> Source:
    parts = [
        f"{key.replace('_', ' ')} {row[key]}"
        for key in ("remanence", "coercivity", "energy_product", "recoil_permeability", "resistivity")
        if key in row
    ]
    return Source(id=row["id"], status=row["status"], note=f"{row['source']}: {', '.join(parts)}")


@cache
def _magnets() -> dict[str, MagnetMaterial]:
    return {row["slug"]: _magnet(row) for row in _table(MAGNETS)["grade"]}


def _magnet(row: Mapping[str, Any]) -> MagnetMaterial:
    shape = row["shape"]
    curve = KneeCurve(
        remanence=row["remanence"],
        coercivity=row["coercivity"],
        energy_product=row["energy_product"],
        shape=KneeShape(
            shoulder_permeability=shape["shoulder_permeability"],
            sharpness=shape["sharpness"],
            knee=shape["knee"],
        ),
    )
    statuses = set(row["status"].values())
    weakest: Status = "assumption" if "assumption" in statuses else "memory" if "memory" in statuses else "read"
    return MagnetMaterial(
        slug=row["slug"],
        name=row["name"],
        family=row["family"],
        curve=curve,
        recoil_permeability=row["recoil_permeability"],
        resistivity=row.get("resistivity"),
        temperature_coefficient=row.get("temperature_coefficient"),
        density=row.get("density"),
        oriented=row["oriented"],
        status=weakest,
        statuses=row["status"],
        note=row["note"],
        spread={key: _pair(value) for key, value in row["spread"].items()},
        sources=tuple(_row_source(one) for one in row["row"]),
    )


@cache
def _finishes() -> dict[str, tuple[str | None, Finish]]:
    """Finish by its own slug and by its aliases; the first item is the grade of an alias."""
    found: dict[str, tuple[str | None, Finish]] = {}
    for row in _table(MAGNETS)["finish"]:
        one = Finish(
            slug=row["slug"],
            name=row["name"],
            gap_a_side=_pair(row["gap_a_side"]),
            section_loss=_pair(row["section_loss"]),
            status=row["status"],
            note=row["note"],
        )
        found[one.slug] = (None, one)
        found.update({alias: (grade, one) for alias, grade in row["alias"].items()})
    return found


def magnet(slug: str) -> MagnetMaterial:
    """A grade by its slug; "alnico-5-rough-cast" gives Alnico 5 (see ``finish`` for what the skin changes).

    Parameters
    ----------
    slug : str
        For example "alnico-5" or "ceramic-8".

    Returns
    -------
    MagnetMaterial

    Raises
    ------
    InputError
        If the slug is unknown; the message names the nearest.
    """
    grade = _finishes()[slug][0] if slug in _finishes() else None
    grades = _grades_in_use()
    try:
        return grades[grade or slug]
    except KeyError:
        aliases = [name for name, (target, _) in _finishes().items() if target]
        raise _unknown("magnet grade", slug, [*grades, *aliases]) from None


def _grades_in_use() -> dict[str, MagnetMaterial]:
    """Return the published grades, or with what many benches say of them in their place."""
    pooled = pooled_constants.in_use()
    return _magnets() if pooled is None else _pooled_magnets(pooled.digest)


@lru_cache(maxsize=4)
def _pooled_magnets(_: str) -> dict[str, MagnetMaterial]:
    pooled = pooled_constants.in_use()
    assert pooled is not None
    found = dict(_magnets())
    for slug, one in pooled.grades.items():
        if slug in found:
            middle = {key: one.constants[key][0] for key in pooled_constants.QUANTITIES}
            ends = {key: one.constants[key][1:] for key in pooled_constants.QUANTITIES}
            moved = found[slug].with_constants(**middle, limit=True)
            found[slug] = replace(moved, spread=found[slug].spread | ends, together=one.together)
    return found


def magnets() -> tuple[MagnetMaterial, ...]:
    """Every grade, in the order of the data file (aliases of finishes left out)."""
    return tuple(_grades_in_use().values())


def finish(slug: str) -> Finish | None:
    """The finish that a slug stands for ("rough-cast", "alnico-5-rough-cast"), or None for a plain grade."""
    found = _finishes().get(slug)
    return found[1] if found else None


@cache
def _steels() -> dict[str, SteelMaterial]:
    table = _table(STEELS)
    sources = {row["id"]: Source(**row) for row in table["source"]}
    return {row["name"]: _steel(row, table["default"], sources) for row in table["steel"]}


def _steel_law(row: Mapping[str, Any]) -> SteelLaw:
    parameters = {key: value for key, value in row.items() if key != "kind"}
    match row["kind"]:
        case "two-langevin":
            return TwoLangevinSteel(**parameters)
        case "langevin":
            return LangevinSteel(**parameters)
        case "string":
            return LangevinSteel.from_initial_permeability(**parameters)
        case "linear":
            return LinearSteel(**parameters)
        case kind:
            raise InputError(f"{STEELS}: law kind {kind!r} is unknown.")


def _steel(row: Mapping[str, Any], default: Mapping[str, Any], sources: Mapping[str, Source]) -> SteelMaterial:
    law = row["law"]
    spread = {
        "reversible_permeability": _pair(default["reversible_permeability_spread"]),
        "resistivity": _pair(row["resistivity_spread"]),
    }
    if law["kind"] == "string":
        spread |= {key: _pair(value) for key, value in law["spread"].items()}
        law = {key: value for key, value in law.items() if key != "spread"}
    return SteelMaterial(
        name=row["name"],
        law=_steel_law(law),
        reversible_permeability=default["reversible_permeability"],
        resistivity=row["resistivity"],
        density=row["density"],
        status=row.get("status", "read"),
        note=row.get("note", ""),
        fit_error=_pair(row["fit_error"]) if "fit_error" in row else None,
        spread=spread,
        sources=tuple(sources[one] for one in row["sources"]),
    )


def steel(name: str) -> SteelMaterial:
    """A steel by name, for example "1010", "12L14", "430", "music-wire".

    Raises
    ------
    InputError
        If the name is unknown; the message names the nearest.
    """
    try:
        found = _steels()[name]
    except KeyError:
        raise _unknown("steel", name, _steels()) from None
    pooled = pooled_constants.in_use()
    if pooled is None or pooled.steel is None:
        return found
    value, low, high = pooled.steel
    spread = found.spread | {"reversible_permeability": (low, high)}
    return replace(found, reversible_permeability=value, spread=spread)


def steels() -> tuple[SteelMaterial, ...]:
    """Every steel, in the order of the data file."""
    return tuple(steel(name) for name in _steels())


@cache
def _conductor_table() -> tuple[dict[str, Conductor], dict[tuple[int, str], Wire], Enamel]:
    table = _table(CONDUCTORS)
    conductors = {}
    for row in table["conductor"]:
        conductors[row["name"]] = Conductor(
            name=row["name"],
            resistivity=row["resistivity"],
            temperature_coefficient=row["temperature_coefficient"],
            density=row["density"],
            status=row["status"],
            note=row["note"],
            spread={key: _pair(value) for key, value in row["spread"].items()},
            sources=tuple(Source(**one) for one in row["sources"]),
        )
    source = (Source(**table["wire_source"]),)
    wires = {}
    for row in table["wire"]:
        wires[row["awg"], row["build"]] = Wire(
            awg=row["awg"],
            build=row["build"],
            bare=_diameters(row["bare_mm"]),
            overall=_diameters(row["overall_mm"]),
            copper=conductors["copper"],
            sources=source,
        )
    enamel_row = table["enamel"]
    return conductors, wires, Enamel(**{**enamel_row, "spread": _pair(enamel_row["spread"])})


def _diameters(values_mm: Iterable[float]) -> tuple[float, float, float]:
    low, nominal, high = (value * MILLIMETRE for value in values_mm)
    return low, nominal, high


def conductor(name: str) -> Conductor:
    """A conductor by name: "copper", "nickel-silver", "brass".

    Raises
    ------
    InputError
        If the name is unknown; the message names the nearest.
    """
    conductors = _conductor_table()[0]
    try:
        return conductors[name]
    except KeyError:
        raise _unknown("conductor", name, conductors) from None


def copper_factor(celsius: float) -> float:
    """Return the resistance of copper at ``celsius`` over that at 20 degC: 1 + 0.00393 (T - 20) (IEC 60028)."""
    copper = conductor("copper")
    return copper.resistivity_at(celsius) / copper.resistivity


def wire(awg: int, build: Build = "single") -> Wire:
    """Enamelled copper wire by size (40 to 46) and build ("single" or "heavy").

    Raises
    ------
    InputError
        If the size or the build is not in the table.
    """
    wires = _conductor_table()[1]
    try:
        return wires[awg, build]
    except KeyError:
        raise InputError(
            f"wire AWG {awg} {build!r} is not in the catalogue; sizes are whole numbers from 40 to 46, "
            'builds "single" and "heavy". A diameter in mm is not a gauge number.'
        ) from None


def enamel() -> Enamel:
    """Wire enamel, for the estimate of the winding's capacitance."""
    return _conductor_table()[2]


def constants_hash() -> str:
    """Fingerprint of the constants in use, "sha256:" and 16 hexadecimal digits: results carry it."""
    pooled = pooled_constants.in_use()
    if pooled is None:
        return published_hash()
    return f"sha256:{hashlib.sha256(f'{published_hash()} {pooled.digest}'.encode()).hexdigest()[:16]}"


@cache
def published_hash() -> str:
    """Fingerprint of the data files, whichever constants are in use."""
    digest = hashlib.sha256()
    for name in sorted(DATA_FILES):
        digest.update(name.encode() + b"\0" + _bytes(name) + b"\0")
    return f"sha256:{digest.hexdigest()[:16]}"
