"""Choose the constants of every magnet grade by rule and fit the shape of its curve; write magnets.toml.

The tables of published constants and of demagnetisation points are not part of this repository (the licence
of the points is not an open-source one); only constants and fitted shape parameters are. Run with

    python scripts/fit_magnet_curves.py MAGNETS.csv DEMAG_CURVES.csv src/polepiece/materials/data/magnets.toml

MAGNETS.csv: one row a source and grade, columns id, grade, process, Br_T, HcB_kA_per_m, BHmax_kJ_per_m3,
mu_recoil_min, mu_recoil_max, alpha_Br_pct_per_K, resistivity_microohm_cm, density_g_per_cm3, address, status.
DEMAG_CURVES.csv: columns id, H_kA_per_m, B_T. The table of fit errors goes to standard output.
"""

import csv
import statistics
import sys
from collections import defaultdict
from dataclasses import asdict
from pathlib import Path

import numpy as np
import tomli_w
from scipy.interpolate import PchipInterpolator
from scipy.optimize import minimize

from polepiece.errors import InputError
from polepiece.materials import Hyperbola, KneeCurve, KneeShape

HEADER = """\
# Permanent magnet grades, SI. Written by scripts/fit_magnet_curves.py: change the rule, not a number.
#
# THE RULE, fixed before any result was compared with what the trade says of a grade:
#  1. For each grade and each quantity the value is the median of the `read` rows of that grade and its
#     process (cast for alnico, sintered for ferrite). A published range counts as its midpoint.
#  2. `memory` rows are used only where nothing was read.
#  3. The spread is the range over all rows (read and memory); with a single row +-5 %.
#  4. Recoil permeability: median of the read rows, including named variants of the grade (8H counts for 8,
#     8A for Ceramic 8: few are read); else the midpoint of the remembered range. Spread: range over all.
#  5. Shape of the curve: least squares over the read points of that curve of the grade (same process)
#     whose constants lie nearest to the chosen ones; it is then softened until it has the chosen (BH)max.
#  6. What no table gives is an assumption and says so.
# status: read = seen in the document named; memory = known, not seen; assumption = ours.
# Units: T, A/m, J/m3, ohm m, 1/K, kg/m3; permeabilities relative. Rows: what each source says.

"""
PROCESS = {"alnico": "cast", "ferrite": "sintered"}
# slug, name, family, oriented, grade names of the rows, of their variants (recoil only), ids of the curves
GRADES = [
    ("alnico-2", "Alnico 2", "alnico", False, ["Alnico 2", "(Alnico 2 high)"], [],
     ["fe_cast_alnico_2_lng12"]),
    ("alnico-3", "Alnico 3", "alnico", False, ["Alnico 3"], [], ["fe_cast_alnico_3_lng10"]),
    ("alnico-4", "Alnico 4", "alnico", False, ["Alnico 4", "labelled AlNiCo4 by this supplier"], [], []),
    (
        "alnico-5", "Alnico 5", "alnico", True, ["Alnico 5"], ["Alnico 5DG"],
        ["fe_alnico_5", "fe_cast_alnico_5_lng37", "fe_cast_alnico_5_lng40", "fe_cast_alnico_5_lng44"],
    ),
    ("alnico-5-7", "Alnico 5-7", "alnico", True, ["Alnico 5-7"], [], ["fe_cast_alnico_5_7_lng56"]),
    ("alnico-6", "Alnico 6", "alnico", True, ["Alnico 6"], [], ["fe_alnico_6", "fe_cast_alnico_6_lngt28"]),
    (
        "alnico-8", "Alnico 8", "alnico", True, ["Alnico 8"], ["Alnico 8H", "Alnico 8HC"],
        ["fe_alnico_8", "fe_cast_alnico_8_lngt32", "fe_cast_alnico_8_lngt38", "fe_cast_alnico_8_lngt44"],
    ),
    ("alnico-9", "Alnico 9", "alnico", True, ["Alnico 9"], [], ["fe_cast_alnico_9_lngt72"]),
    ("ceramic-5", "Ceramic 5", "ferrite", True, ["Ceramic 5"], [], ["fe_ceramic_5"]),
    ("ceramic-8", "Ceramic 8", "ferrite", True, ["Ceramic 8"], ["Ceramic 8A"], ["fe_ceramic_8"]),
]  # fmt: skip
ISOTROPIC_CURVES = ["fe_cast_alnico_2_lng12", "fe_cast_alnico_3_lng10"]
QUANTITIES = {
    "remanence": ("Br_T", 1.0),
    "coercivity": ("HcB_kA_per_m", 1e3),
    "energy_product": ("BHmax_kJ_per_m3", 1e3),
    "temperature_coefficient": ("alpha_Br_pct_per_K", 1e-2),
    "resistivity": ("resistivity_microohm_cm", 1e-8),
    "density": ("density_g_per_cm3", 1e3),
}
ADDRESS = {
    "github cenit/FEMM": "public finite-element material library (github cenit/FEMM bin/matlib.dat @7d9e8ed90772)",
    "file index": "grade table in a public source file; address not recorded",
    "document located": "MMPA Standard 0100-00, not seen",
    "sample pages": "IEC 60404-8-1, not seen",
}
OLD_TABLES = "older handbook tables (CRC Handbook; Bozorth, Ferromagnetism), not seen"


def number(text):
    try:
        return float(text)
    except ValueError:
        return None


def significant(value, digits=5):
    return float(f"{value:.{digits}g}")


class Curve:
    """One published curve: depth h in A/m and B in T, with its own three constants."""

    def __init__(self, points):
        points = sorted(points)
        depth = np.array([max(h, 0.0) for h, _ in points])
        level = np.array([b for _, b in points])
        fresh = np.concatenate([[True], np.diff(depth) > 0.0])
        self.depth, self.level = depth[fresh], level[fresh]
        self.remanence, self.coercivity = self.level[0], self.depth[-1]
        fine = np.linspace(0.0, self.coercivity, 20001)
        self.energy_product = float((fine * PchipInterpolator(self.depth, self.level)(fine)).max())

    @property
    def triple(self):
        return dict(
            remanence=float(self.remanence),
            coercivity=float(self.coercivity),
            energy_product=self.energy_product,
        )

    def error(self, law):
        return law.flux_density(-self.depth) - self.level


def fit(curves):
    """Shape with the least mean square error over ``curves``, or None where no curve exists.

    The shoulder is that of the first curve; (BH)max then decides how soft the others are.
    """

    def shape_of(parameters):
        return KneeShape(
            shoulder_permeability=float(parameters[0]),
            sharpness=float(parameters[1]),
            knee=float(np.exp(parameters[2])),
        )

    def cost(parameters):
        if parameters[1] < 2.0:  # a shoulder that is straight at Br: dM/dH has no kink there
            return 1.0
        try:
            errors = [curve.error(KneeCurve(**curve.triple, shape=shape_of(parameters))) for curve in curves]
        except InputError:
            return 1.0
        return float(np.mean([np.mean(error**2) for error in errors]))

    best = None
    for start in [(3.0, 10.0, 0.0), (5.0, 2.5, -1.0), (2.0, 5.0, 0.0), (1.07, 2.5, -3.5), (1.07, 18.0, 0.0),
                  (2.0, 16.0, 0.7), (1.02, 16.0, 1.5)]:  # fmt: skip
        found = minimize(cost, start, method="Nelder-Mead", options=dict(xatol=1e-4, fatol=1e-10, maxiter=300))
        if best is None or found.fun < best.fun:
            best = found
    if best.fun >= 1.0:
        return None
    return KneeCurve(**curves[0].triple, shape=shape_of(best.x)).own


def nearest(curves, triple):
    """The id of the curve whose three constants differ least (sum of squared logarithms) from ``triple``."""
    return min(curves, key=lambda i: sum(np.log(curves[i].triple[k] / triple[k]) ** 2 for k in curves[i].triple))


def law_and_error(curve, shape):
    law = KneeCurve(**curve.triple, shape=shape)
    return law, curve.error(law)


def source_note(row):
    for start, text in ADDRESS.items():
        if row["address"].startswith(start):
            return text
    return row["address"] or ("IEC 60404-8-1, not seen" if row["id"].startswith("iec") else OLD_TABLES)


def describe(row):
    entry = {"id": row["id"], "status": row["status"], "source": source_note(row)}
    for quantity, (column, factor) in QUANTITIES.items():
        value = number(row[column])
        if value is not None and value < 1e9:  # ferrite: an insulator, left out
            entry[quantity] = significant(value * factor)
    low, high = number(row["mu_recoil_min"]), number(row["mu_recoil_max"])
    if low is not None and high is not None:
        entry["recoil_permeability"] = [low, high]
        if "memory" in row["mu_recoil_source"]:
            entry["recoil_status"] = "memory"
    return entry


def choose(rows, quantity):
    """Median by the rule, spread, status."""
    known = [row for row in rows if quantity in row]
    read = [row[quantity] for row in known if row["status"] == "read"]
    every = [row[quantity] for row in known]
    if not every:
        return None
    value = statistics.median(read or every)
    spread = [min(every), max(every)] if len(every) > 1 else [value * 0.95, value * 1.05]
    return significant(value), [significant(side) for side in spread], "read" if read else "memory"


def choose_recoil(rows):
    known = [row for row in rows if "recoil_permeability" in row]
    read = [sum(r["recoil_permeability"]) / 2 for r in known if r.get("recoil_status", r["status"]) == "read"]
    low = min((row["recoil_permeability"][0] for row in known), default=None)
    high = max((row["recoil_permeability"][1] for row in known), default=None)
    if low is None:
        return None
    value = statistics.median(read) if read else (low + high) / 2
    return significant(value), [low, high], "read" if read else "memory"


def choose_shape(entry, curve_ids, curves):
    """Shape by rule 5, and its errors on the curve it was fitted to and on the grade's other curves."""
    triple = {key: entry[key] for key in ("remanence", "coercivity", "energy_product")}
    fitted = [nearest({i: curves[i] for i in curve_ids}, triple)] if curve_ids else ISOTROPIC_CURVES
    shape = fit([curves[i] for i in fitted])
    shape = KneeShape(**{key: significant(value, 4) for key, value in asdict(shape).items()})
    KneeCurve(**triple, shape=shape)  # refuses constants that do not fit together
    fits = []
    for curve_id in curve_ids or ISOTROPIC_CURVES:
        _, error = law_and_error(curves[curve_id], shape)
        rms = np.sqrt(np.mean(error**2))
        fits.append(dict(curve=curve_id, fitted=curve_id in fitted,
                         max_error=significant(abs(error).max(), 3),
                         rms_error=significant(rms, 3)))  # fmt: skip
    status = "read" if curve_ids else "assumption"
    return {**asdict(shape), "status": status}, fits


def grade_entry(grade, table, curves):
    slug, name, family, oriented, names, variants, curve_ids = grade
    process = PROCESS[family]
    rows = [describe(r) for r in table if r["grade"] in names and r["process"] == process]
    near = [r for r in table if r["grade"] in names + variants and r["process"] in (process, "")]
    entry = {"slug": slug, "name": name, "family": family, "oriented": oriented}
    notes = []
    status, spread = {}, {}
    for quantity in ("remanence", "coercivity", "energy_product", "resistivity"):
        chosen = choose(rows, quantity)
        if chosen:
            entry[quantity], spread[quantity], status[quantity] = chosen
    for quantity in ("temperature_coefficient", "density"):
        chosen = choose(rows, quantity)
        if chosen:
            entry[quantity], _, status[quantity] = chosen
    recoil = choose_recoil([describe(r) for r in near])
    rows += [describe(r) for r in near if r["grade"] in variants and number(r["mu_recoil_min"]) is not None]
    for row in rows:
        if row["id"] in {r["id"] for r in near if r["grade"] in variants}:
            for quantity in QUANTITIES:
                row.pop(quantity, None)
            row["source"] += "; variant of the grade, recoil permeability only"
    apply_special_cases(entry, spread, status, notes)
    if recoil and "recoil_permeability" not in entry:
        entry["recoil_permeability"], spread["recoil_permeability"], status["recoil_permeability"] = recoil
    entry["shape"], entry["fit"] = choose_shape(entry, curve_ids, curves)
    if not curve_ids:
        notes.append("No curve was read: its shape is that of the isotropic grades 2 and 3 (assumption).")
    entry["spread"], entry["status"] = spread, status
    entry["note"] = " ".join(notes)
    entry["row"] = rows
    return entry


def apply_special_cases(entry, spread, status, notes):
    """What the rule leaves open, grade by grade; every line here ends up as a note in the file."""
    slug = entry["slug"]
    if slug == "alnico-4":
        notes.append(
            "Two sources contradict each other: a supplier sells an isotropic 0.90 T alloy under this "
            "name (read: the value by the rule), older tables give 0.56 T and 57 kA/m (memory). The spread "
            "covers both; draws inside it are not one alloy. A gauss reading or own constants settle it."
        )
        entry["recoil_permeability"], spread["recoil_permeability"] = 6.0, [5.0, 7.0]
        status["recoil_permeability"] = "assumption"
        notes.append("Recoil permeability: no row; the range of the other isotropic alnicos.")
    if slug == "alnico-6":
        entry["recoil_permeability"], spread["recoil_permeability"] = 5.0, [3.0, 5.5]
        status["recoil_permeability"] = "memory"
        notes.append(
            "Recoil permeability: no cast row; sintered range 4.5 to 5.5 (memory), lower side widened to "
            "the slope of the read curve at Br, 3.0."
        )
    if slug == "alnico-8":
        notes.append(
            "The names cover alloys from 31 to 44 kJ/m3. Recoil permeability is contradictory: 3.6 (read) "
            "against 2.5 for 8H (read) and 1.5 to 2.5 (memory)."
        )
    if entry["family"] == "alnico" and "resistivity" not in entry:
        entry["resistivity"], spread["resistivity"] = 57.5e-8, [45e-8, 70e-8]
        status["resistivity"] = "read"
        notes.append("Resistivity: range printed for all alnicos, 45 to 70 microohm cm (read); midpoint.")
    if entry["family"] == "ferrite":
        spread.pop("resistivity", None)
        notes.append("Does not conduct at audio frequencies: 1e4 ohm m (memory).")
    if entry["family"] == "alnico" and "temperature_coefficient" not in entry:
        entry["temperature_coefficient"], status["temperature_coefficient"] = -2e-4, "assumption"
        notes.append("Temperature coefficient: that of the other alnicos.")
    if "density" not in entry:
        entry["density"], status["density"] = 7000.0, "assumption"


def finish_rows():
    """Entries that no table gives."""
    unoriented = {
        "slug": "alnico-5-unoriented",
        "name": "Alnico 5, unoriented",
        "family": "alnico",
        "oriented": False,
        "remanence": 0.80,
        "coercivity": 47e3,
        "energy_product": 16e3,
        "recoil_permeability": 5.1,
        "resistivity": 47e-8,
        "temperature_coefficient": -2e-4,
        "density": 7300.0,
        "spread": {
            "remanence": [0.70, 0.90],
            "coercivity": [44e3, 50e3],
            "energy_product": [14e3, 18e3],
            "recoil_permeability": [3.7, 6.5],
            "resistivity": [44.65e-8, 49.35e-8],
        },
        "status": dict.fromkeys(
            ["remanence", "coercivity", "energy_product", "recoil_permeability", "resistivity",
             "temperature_coefficient", "density"], "assumption",
        ),
        "note": (
            "No published constants exist for Alnico 5 cooled without a field. Midpoints of an assumed "
            "bracket: whatever is computed for it follows from the assumption. Physical data of Alnico 5; "
            "shape of the isotropic grades 2 and 3."
        ),
        "row": [
            {"id": "bracket-unoriented", "status": "assumption", "source": "own bracket, nothing published"}
        ],
    }  # fmt: skip
    finish = {
        "slug": "rough-cast",
        "name": "rough cast (as cast, not ground)",
        "gap_a_side": [0.05e-3, 0.2e-3],
        "section_loss": [0.01, 0.05],
        "status": "assumption",
        "note": "Same alloy and curve as the polished bar; only its contact and its section differ.",
        "alias": {"alnico-5-rough-cast": "alnico-5"},
    }
    return unoriented, finish


def main(magnets_path, curves_path, out_path):
    with open(magnets_path, newline="") as stream:
        table = [row for row in csv.DictReader(stream) if row["status"] in ("read", "memory")]
    points = defaultdict(list)
    with open(curves_path, newline="") as stream:
        for row in csv.DictReader(stream):
            points[row["id"]].append((-1e3 * float(row["H_kA_per_m"]), float(row["B_T"])))
    curves = {key: Curve(value) for key, value in points.items()}

    print("| curve | fullness | shoulder / mu0 | p | d | max error / T | rms / T | hyperbola max | rms |")
    print("|---|---|---|---|---|---|---|---|---|")
    for key, curve in curves.items():
        fullness = curve.energy_product / (curve.remanence * curve.coercivity)
        hyperbolic = curve.error(Hyperbola(**curve.triple))
        plain = f"{abs(hyperbolic).max():.4f} | {np.sqrt(np.mean(hyperbolic**2)):.4f}"
        shape = fit([curve])
        if shape is None:
            print(f"| {key} | {fullness:.3f} | none: (BH)max above Br^2/(4 mu0) | | | | | {plain} |")
            continue
        _, error = law_and_error(curve, shape)
        own = f"{abs(error).max():.4f} | {np.sqrt(np.mean(error**2)):.4f}"
        print(f"| {key} | {fullness:.3f} | {shape.shoulder_permeability:.3f} | {shape.sharpness:.2f} "
              f"| {shape.knee:.4g} "
              f"| {own} | {plain} |")  # fmt: skip

    entries = [grade_entry(grade, table, curves) for grade in GRADES]
    unoriented, finish = finish_rows()
    unoriented["shape"], unoriented["fit"] = choose_shape(unoriented, [], curves)
    entries.append(unoriented)
    Path(out_path).write_text(HEADER + tomli_w.dumps({"grade": entries, "finish": [finish]}))
    print("\n| grade | curve | shoulder / mu0 | p | d | max error / T | rms / T |\n" + "|---" * 7 + "|")
    for entry in entries:
        for one in entry["fit"]:
            shape = entry["shape"]
            print(f"| {entry['slug']} | {one['curve']}{' (fitted)' if one['fitted'] else ''} | "
                  f"{shape['shoulder_permeability']:.3f} | {shape['sharpness']:.2f} | {shape['knee']:.4g} | "
                  f"{one['max_error']:.4f} | "
                  f"{one['rms_error']:.4f} |")  # fmt: skip


if __name__ == "__main__":
    if len(sys.argv) != 4:
        sys.exit(__doc__)
    main(*sys.argv[1:])
