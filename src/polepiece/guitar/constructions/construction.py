"""What the tool asks of a construction: one record, checked when it is made. How to add one: CONTRIBUTING.md.

Every field answers a question that some page, sheet, plan or solver asks; nothing outside this folder asks for a
construction by its name.
"""

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from typing import Literal, assert_never

from polepiece.coil import Wiring
from polepiece.geometry import Assembly, MagnetRod
from polepiece.guitar.assumption import Default
from polepiece.guitar.constructions.fit_words import EVERY, FitWords
from polepiece.guitar.constructions.pole import KINDS, Row
from polepiece.guitar.constructions.shapes import Stretch
from polepiece.guitar.parts import Magnet, Poles, Position

BAR_KEYS = (
    "magnet.length", "magnet.width", "magnet.thickness", "magnet.magnetised_through", "magnet.bar_to_pole_gap",
)  # fmt: skip
KEEPER_KEYS, PLATE_KEYS = ("poles.keeper_",), ("poles.plate_",)
OUTER_KEYS = ("magnet.outer_",)
COUNTED = ("no", "one", "two", "three", "four")
SHEET_SIZES = {"thickness", "length", "width", "z"}
SAFE_GAP = 1.5e-3  # m; steel poles, fretted at the last fret; common practice, no source


@dataclass(frozen=True, slots=True, kw_only=True)
class BenchStep:
    """One step of a work sheet."""

    key: str
    text: str
    uncovered: str = ""  # said instead where the pickup has no cover


@dataclass(frozen=True, slots=True, kw_only=True)
class BarWork:
    """How bars are reached, marked, swapped and closed in."""

    steps_to_the_bar: tuple[BenchStep, ...]
    bar_faces: str  # what a bar magnetised through its width shows its marked edge to: "screws"
    bars_together: str = ""  # how several bars stand to one another: "like poles to the screws"
    checks: tuple[BenchStep, ...] = ()  # what else is checked while the way round is marked
    new_bar_in: str  # {to} is what it is afterwards
    snug: str  # how it is closed
    fit_words: FitWords


@dataclass(frozen=True, slots=True, kw_only=True)
class MagnetsStay:
    """Why magnets can be neither swapped nor turned, where it is asked."""

    reason: str
    no_flip: str
    in_the_drawer: str
    on_the_page_of_grades: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Construction:
    """One way in which a pickup is built."""

    # ------------------------------------------------ its names
    slug: str  # in guitar files
    words: str  # after "a", where a person reads it
    also: tuple[str, ...] = ()  # words of the trade that a guitar file may say instead
    placed: str  # where its parts are, for who writes a guitar file
    beside_finite_elements: bool = False  # its field, inductance and string are held to a solution: docs/accuracy.md
    # ------------------------------------------------ what it is made of
    rows: tuple[Row, ...]  # each with its coil, in the order of the coils
    bars: int  # 0: the poles are the magnets
    has_keeper: bool = False  # the screws can have one
    has_plate: bool = False  # a steel plate lies under its rods
    shapes: Callable[[Magnet, Poles], Assembly]
    bar_stretches: Callable[[Magnet, Poles], tuple[Stretch, ...]] = (
        lambda _magnet, _poles: ()
    )  # no air, as the file says
    wirings: tuple[Wiring, ...] = ("series",)
    # ------------------------------------------------ what is assumed of it, where not the lines of the parameters
    defaults: Mapping[str, Default]
    defaults_by_position: Mapping[Position, Mapping[str, Default]] = field(default_factory=dict)
    base_plate: Mapping[str, float]  # sizes of one of which only the metal is given, mm
    cover: Mapping[str, float]
    takes_metal_cover: bool = False  # such pickups are made with a cover of metal, or take one (common practice)
    # ------------------------------------------------ at the bench
    safe_gap_treble: float = SAFE_GAP  # m
    safe_gap_bass: float = SAFE_GAP
    lowest_usual_resistance: float  # ohm, whole; common practice, no source
    height_turn: str = "about 0.8"  # mm that a turn of a height screw moves the body
    polarity: str  # what a compass tells: "N or S at the screws"
    compass_over: str  # where it is held: "screws"
    bar_work: BarWork | None = None
    magnets_stay: MagnetsStay | None = None
    trade_speaks_of_it: bool = False  # the table of what the trade says of grades is about such a pickup

    def __post_init__(self) -> None:
        """Refuse a record that contradicts itself."""
        if wrong := _contradictions(self):
            raise ValueError(f"construction {self.slug!r}: {'; '.join(wrong)}")

    # ------------------------------------------------ bars
    @property
    def several_bars(self) -> str:
        """What has to be bought where it takes more than one bar: "two bars"; empty for one bar or none."""
        return f"{COUNTED[self.bars]} bars" if self.bars > 1 else ""

    @property
    def several_bars_lie(self) -> str:
        """How they have to lie: "both bars with like poles to the screws"; empty for one bar or none."""
        if self.bars < 2 or self.bar_work is None:
            return ""
        return f"{'both' if self.bars == 2 else 'all'} bars with {self.bar_work.bars_together}"

    def pole_shown(self, magnet: Magnet, poles: Poles) -> Literal["N", "S"]:
        """Return the pole of a bar's upper face; of one through its width that of its edge to the poles gaps go to.

        A bar in the very middle under its poles is looked at from the bridge.
        """
        drawn = self.shapes(magnet, poles).magnets[0]
        if isinstance(drawn, MagnetRod) or drawn.easy == 2:
            return "N" if drawn.sign > 0.0 else "S"
        to_the_left = self.measured_row.x(poles) < 0.5 * (drawn.x_min + drawn.x_max)
        return "N" if (drawn.sign > 0.0) != to_the_left else "S"

    # ------------------------------------------------ poles
    @property
    def has_screws(self) -> bool:
        """Some of its poles are screws that can be turned."""
        return any(row.pole.turns for row in self.rows)

    @property
    def magnet_is_the_pole(self) -> bool:
        """Its poles are rod magnets; it has no bar and no steel."""
        return any(row.pole.is_magnet for row in self.rows)

    @property
    def measured_row(self) -> Row:
        """The row to whose tops gaps are measured: the screws where there are any; of two rows of them that at -x."""
        return min((row for row in self.rows if row.pole.turns), key=lambda row: row.side, default=self.rows[0])

    @property
    def screws_on_one_side(self) -> bool:
        """Its screws stand nearer to one side: it can be turned round in its ring, and is looked at from there."""
        return any(row.pole.turns for row in self.rows) and bool(self.measured_row.side)

    @property
    def can_face(self) -> bool:
        """Which way round it sits in its ring is heard: its screws stand on one side, or its halves do."""
        return self.screws_on_one_side or any(row.half for row in self.rows)

    @property
    def what_faces(self) -> str:
        """What of it looks to the neck or to the bridge: "screws", "first screws" of two rows, or a half."""
        if not self.can_face:
            return ""
        if self.screws_on_one_side:
            return "screws" if len([row for row in self.rows if row.pole.turns]) == 1 else "first screws"
        return "half under the thick strings"

    @property
    def faces(self) -> str:
        """What faces one way, with its verb: "screws face"; empty where nothing does."""
        what = self.what_faces
        return f"{what} face{'' if what.endswith('screws') else 's'}" if what else ""

    def row_offsets(self, poles: Poles) -> tuple[float, ...]:
        """Return the x of each row in the pickup's own axes, m."""
        return tuple(row.x(poles) for row in self.rows)

    def coil_places(self, poles: Poles) -> tuple[tuple[float, float], ...]:
        """Return x and y of the middle of each coil in the pickup's own axes, m."""
        return tuple((row.x(poles), row.y(poles)) for row in self.rows)

    def pole_tops(self, poles: Poles) -> tuple[float, ...]:
        """Return the z of the pole top from which each string's gap is measured, as drawn, m, string 1 first."""
        return self.measured_row.pole.tops(poles)

    def highest_pole(self, poles: Poles) -> float:
        """Return the z of the highest pole as drawn (screws not turned), m."""
        return max(max(row.pole.tops(poles)) for row in self.rows)

    def raised(self, poles: Poles) -> tuple[float, ...]:
        """Return how far each pole under a string stands above its drawn height, m, string 1 first."""
        return poles.screw_raise if self.has_screws else (0.0,) * poles.count

    # ------------------------------------------------ coils
    @property
    def coils(self) -> tuple[str, ...]:
        """What its coils are called, in the order of the guitar file."""
        return tuple(row.coil for row in self.rows)

    def coil_left_by(self, wiring: Wiring) -> str:
        """Return the coil that a split leaves on: "screw coil"; empty where all of them stay on."""
        if len(self.coils) < 2 or not wiring.startswith("split"):
            return ""
        return self.coils[0 if wiring == "split-slugs" else 1]

    @property
    def can_split(self) -> bool:
        """One of its coils can be switched off."""
        return any(one.startswith("split") for one in self.wirings)

    # ------------------------------------------------ the guitar file
    @property
    def lacks(self) -> tuple[str, ...]:
        """Attributes of a pickup that begin so are no part of it."""
        there = {key for row in self.rows for key in row.pole.keys}
        out = tuple(key for kind in KINDS for key in kind.keys if key not in there)
        out += () if self.has_keeper else KEEPER_KEYS
        out += () if self.has_plate else PLATE_KEYS
        out += () if self.bars else BAR_KEYS
        out += () if self.bars > 2 else OUTER_KEYS
        return out if any(row.side for row in self.rows) else (*out, "poles.row_offset")

    def sheet_sizes(self, name: Literal["base_plate", "cover"]) -> Mapping[str, float]:
        """Return the sizes of a base plate or cover of which only the metal is given, mm."""
        match name:
            case "base_plate":
                return self.base_plate
            case "cover":
                return self.cover
            case _:
                assert_never(name)

    def defaults_at(self, position: Position) -> dict[str, Default]:
        """Return what is assumed of one at the neck, in the middle or at the bridge."""
        return {**self.defaults, **self.defaults_by_position.get(position, {})}


def _contradictions(one: Construction) -> list[str]:
    """Say what in a record cannot be."""
    wrong = []
    if not one.rows:
        return ["it has no row of poles"]
    if (one.bar_work is None) == (one.magnets_stay is None):
        wrong.append("it needs either bar_work or magnets_stay: its magnets are swapped, or they stay")
    if bool(one.bars) == one.magnet_is_the_pole or one.bars not in range(len(COUNTED)):
        wrong.append(f"{one.bars} bars, and its poles are {', '.join(row.pole.name for row in one.rows)}")
    if one.has_keeper and not one.has_screws:
        wrong.append("a keeper sits on screws, and it has none")
    if len(set(one.coils)) != len(one.coils):
        wrong.append(f"its coils need names of their own, not {', '.join(one.coils)}")
    if len(one.rows) == 1 and one.wirings != ("series",):
        wrong.append("one coil is wired in series only")
    if one.bar_work is not None:
        if missing := EVERY - set(one.bar_work.fit_words):
            wrong.append(f"fit_words say nothing of {sorted(missing)}")
        if "{to}" not in one.bar_work.new_bar_in:
            wrong.append("new_bar_in has no place for {to}")
        if (one.bars > 1) != bool(one.bar_work.bars_together):
            wrong.append("bars_together says how several bars stand to one another, and of one bar nothing")
    for name, sizes in (("base_plate", one.base_plate), ("cover", one.cover)):
        if missing_sizes := SHEET_SIZES - set(sizes):
            wrong.append(f"{name} lacks {', '.join(sorted(missing_sizes))}")
    if refused := [attr for attr in one.defaults if attr.startswith(one.lacks)]:
        wrong.append(f"defaults for what it does not have: {', '.join(refused)}")
    return wrong or _drawn_otherwise(one)


def _drawn_otherwise(one: Construction) -> list[str]:
    """Say where its shapes are not those that its other fields promise; drawn with the sizes of bare records."""
    magnet, poles = Magnet(), Poles()
    drawn, count = one.shapes(magnet, poles), len(one.bar_stretches(magnet, poles))
    wrong = [f"bar_stretches gives {count} bars instead of {one.bars}"] if count != one.bars else []
    wanted = one.bars or poles.count
    if len(drawn.magnets) != wanted:
        wrong.append(f"shapes draw {len(drawn.magnets)} magnets instead of {wanted}")
    parts = drawn.steels - ({"keeper"} if one.has_keeper else set()) - ({"plate"} if one.has_plate else set())
    steel = {row.pole.name for row in one.rows if not row.pole.is_magnet}
    return [*wrong, *([f"shapes draw {sorted(parts)} instead of {sorted(steel)}"] if parts != steel else [])]
