"""From what is spoken of to pickups and positions of this guitar."""

from dataclasses import dataclass

from polepiece.errors import InputError
from polepiece.guitar import Guitar
from polepiece.planning.spoken.marks import Mark
from polepiece.planning.spoken.places import FIVE_WAY, THREE_WAY
from polepiece.planning.spoken.segments import Subject

SEVERAL_ON = ("both on", "both label", "all on", "between")  # settings in which several pickups are on
_LABELS = {
    frozenset({"neck", "bridge"}): "both", frozenset({"neck", "middle"}): "neck+middle",
    frozenset({"middle", "bridge"}): "middle+bridge", frozenset({"neck", "middle", "bridge"}): "all",
}  # fmt: skip


@dataclass(frozen=True, slots=True, kw_only=True)
class Target:
    """One pickup, and the position of the switch in which it is heard; both None: the guitar."""

    pickup: str | None = None
    position: str | None = None

    @property
    def words(self) -> str:
        """It in words."""
        where = self.pickup or "guitar"
        return where if self.position is None else f"{where} in position {self.position}"


def targets_of(subject: Subject, guitar: Guitar | None) -> list[Target]:
    """Return the targets of a subject; the guitar where it names none.

    Raises
    ------
    InputError
        When a pickup is named that the guitar does not have.
    """
    out: list[Target] = []
    pickups = list(dict.fromkeys(name for mark in subject.pickups for name in _names(mark, guitar)))
    for mark in subject.settings:
        if mark.kind == "position":
            out += [one for number in mark.value for one in _numbered(int(number), guitar)]
        elif mark.value.startswith("plus:"):
            out += _together(tuple(_place(one, guitar) for one in mark.value[5:].split(",")), guitar)
        elif mark.value in SEVERAL_ON:
            out += _on(mark.value, pickups, guitar)
    if not out:
        out = [Target(pickup=one) for one in pickups]
    return list(dict.fromkeys(out)) or [Target()]


def _names(mark: Mark, guitar: Guitar | None) -> tuple[str, ...]:
    if mark.kind == "several" and mark.value not in ("all", "all:") and guitar is not None:
        return tuple(mark.value.split(","))
    if mark.kind == "several":
        return ("neck", "bridge") if guitar is None else tuple(one.name for one in guitar.pickups)
    if guitar is None:
        return (mark.value,)
    return (guitar.pickup(mark.value).name,)


def _numbered(number: int, guitar: Guitar | None) -> list[Target]:
    """Return the targets of a position counted from the bridge (five places, with two pickups three)."""
    count = 3 if guitar is None else len(guitar.pickups)
    table = FIVE_WAY if count > 2 else THREE_WAY
    if count < 2 or number not in table:
        return []
    return _together(table[number], guitar)


def _together(places: tuple[str, ...], guitar: Guitar | None) -> list[Target]:
    try:
        names = places if guitar is None else tuple(guitar.pickup(one).name for one in places)
    except InputError:
        return []
    if len(names) == 1:
        return [Target(pickup=names[0])]
    label = _LABELS.get(frozenset(places))
    return [Target(pickup=one, position=label) for one in names]


def _on(value: str, pickups: list[str], guitar: Guitar | None) -> list[Target]:
    count = 2 if guitar is None else len(guitar.pickups)
    if value == "between":
        return (
            [one for number in (2, 4) for one in _numbered(number, guitar)]
            if count > 2
            else _together(("neck", "bridge"), guitar)
        )
    if count < 2:
        return []
    if value == "all on" and count > 2:
        return _together(("neck", "middle", "bridge"), guitar)
    places = [_place(one, guitar) for one in pickups]
    if len(places) > 1:
        return _together(tuple(places), guitar)
    found = _together(("neck", "bridge"), guitar)
    if len(pickups) == 1 and value != "both label":  # "the neck dominates with both on"
        return [one for one in found if one.pickup == pickups[0]] or found
    if not found and guitar is not None and count == 2:  # two pickups that stand elsewhere
        found = [Target(pickup=one.name, position="both") for one in guitar.pickups]
    return found


def _place(name: str, guitar: Guitar | None) -> str:
    if guitar is None:
        return name
    return guitar.pickup(name).position or name


def other_pickups(subject: Subject | None, objects: list[Mark], guitar: Guitar | None) -> list[tuple[str, str]]:
    """Return pairs (pickup spoken of, pickup it is set against); [] where one of them cannot be told.

    Raises
    ------
    InputError
        When a pickup is named that the guitar does not have.
    """
    all_ = ["neck", "bridge"] if guitar is None else [one.name for one in guitar.pickups]
    here = [] if subject is None else list(dict.fromkeys(n for m in subject.pickups for n in _names(m, guitar)))
    named = [n for m in objects if m.kind == "pickup" for n in _names(m, guitar)]
    if not here and len(all_) == 2:
        here = [one for one in all_ if one not in named][:1] if len(named) == 1 else []
    there = named or [one for one in all_ if one not in here]
    return [(one, other) for one in here for other in there if one != other]
