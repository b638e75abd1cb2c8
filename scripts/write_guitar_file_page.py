"""Write docs/reference/guitar-file.md from the lines of the parameters and the defaults; `--check` only compares."""

import sys
from pathlib import Path
from textwrap import wrap

from polepiece.guitar import defaults
from polepiece.guitar.assumption import Default
from polepiece.guitar.constructions import CONSTRUCTIONS, Construction
from polepiece.guitar.constructions.not_covered import REFUSED_CONSTRUCTIONS
from polepiece.guitar.file import layout, trade_words
from polepiece.guitar.file.units import show
from polepiece.guitar.parameter import Parameter

PAGE = Path(__file__).parents[1] / "docs" / "reference" / "guitar-file.md"

MEASURED = """\
## `[[measured]]`

Written by `polepiece measure impedance` and `polepiece measure gauss` with `--guitar` and `--out`. From here the draws
of every prediction take resistance, inductance, capacitance and the strength of the field: the interval of the
measurement stands in place of the assumed spread. `computed` is what the model said when it was measured; the ratio of
the two holds when another bar sits in the pickup. An entry for `magnet.measured_gauss` ends with the bar it was read
on."""

STRINGS = """\
## `[[strings]]`

Instead of a set, string 1 first, up to 12. A gauge is enough: `gauge = 10`, `0.010`, `".010"`, `"24w"`, `"20p"`.

- **Wound or plain**: as `wound`, `core_diameter`, `wrap` or the letter behind the gauge say; otherwise plain up to
  .020 in, wound above (common practice; thirds of .018 to .024 are sold both ways, so the guess is listed).
- **Mass**: one maker's chart of unit weights for plain steel and nickel-plated round-wound strings, .085 and thicker
  of its bass strings; straight lines between gauges; the share of the wrap goes with its density. Spread 3 %, bass
  strings 6 %.
- **Core**: a table from strings on the bench (assumption), spread 20 %, above .056 in 40 %: nine of ten cores that the
  published weights imply lie within. It moves with the draws of every interval until `core_diameter` is measured.
- **Pitch**: `tuning`, one note for each string. Left out, six, seven, eight, nine and twelve strings of a guitar and
  four, five and six of a bass (thinnest above .0245 in) have their usual tuning, listed as assumed. A note at which the
  string would break is refused.
- **Place**: one over each pole; two poles a string: between them; two strings a pole: courses 2 mm apart; otherwise
  evenly from the first pole to the last. Heights follow from the two gaps and `fingerboard_radius`.

Strings with a `permeability` of their own are test strings: solid unless said otherwise."""

SWITCH = """\
`template` names volumes, tones and switch in the words of the trade; `"two volumes, two tones, three-way"` is read as
well. With several volumes or tones the first belongs to the neck pickup and so on to the bridge (common practice).
Values in `[controls]` hold for all of them; the lists below say it of one. Without a template any pickups may be on
together, side by side, one volume and one tone behind them.

| template | positions |
|---|---|
| no switch named, one volume | any pickups: a pickup, several joined by `+`, `both`, `all` |
| no switch named, several volumes | all on |
| `...-three-way` | two pickups: the neck's, both, the bridge's; three: one each |
| `...-four-way` | two pickups: the neck's, both, the bridge's, both in series |
| `...-five-way` | three pickups: the neck's, neck and middle, the middle's, middle and bridge, the bridge's |
| `...-rotary` | each pickup, each pair, all |
| `as-listed` | those of `[[controls.positions]]` |

`[[controls.positions]]` takes the place of the template's positions. A knob in `push_pull` adds a variant of every
position in which its pickup is on, and several knobs pulled at once one of every position in which all their pickups
are. `phase` exchanges a pickup's leads and makes a position where another pickup is on beside it. Two knobs of one
pickup: `phase` does its own whatever the other does; of two that join the coils the usual switches decide (with
`parallel` the link on which a split hangs is open, so the pair stays parallel; both splits short the pickup: no
position), and `check` asks, because an ohmmeter at the jack tells. Where it is otherwise, say it as one more entry:
`"bridge: split-screws + parallel = split-screws"`, or `= silent`. Names: `bridge (split-screws + parallel)`."""

OWN = """\
### `[[controls.volumes]]`

Volumes of one pickup, or of the one behind the switch. Two volumes whose wipers are joined turn one another down; the
other way round (`wired = "independent"`) they do so far less."""

ELEMENTS = """\
### `[[controls.elements]]`

A netlist of standard parts, where no template fits. It is then the whole circuit up to the jack, and templates,
volumes, tones and added parts are not used; cable and input are. Nodes are names; `ground` and `jack` are always there.
`[[controls.positions]]` names the positions; which pickups are on follows from the contacts."""

TRADE = """\
## Words of the trade

Read in place of the file's own words, in any case, with blanks or hyphens; the same in options of the command line
and on the page. A word that stands in two rows may mean two things: it is refused with both. A capacitor in a text
without a unit is in µF, as marked, where the unit of the key cannot be meant (`tone_cap = ".022"`); a fraction for a
length is of an inch (`gap_bass = "5/64"`); `"A250k"` and `"250kB"` are 250 kohm; `"43 AWG"` is a gauge; `"tens"` and
`"10s"` are the set whose first string is a 10. Common practice, no source."""

INTRODUCTION = """\
# The guitar file

*Written by `scripts/write_guitar_file_page.py` from the tables that read the file. Ranges and defaults are
common practice without a source; they check input and fill silence, and are no constants of the physics.*

A guitar file is TOML (`*.guitar.toml`, UTF-8, at most 1 MiB) in bench units. The unit is in the key
(`tone_cap_nf`); a length without one is in mm. String 1 is the thin one. A **gap** runs from the underside of
a string, pressed at the last fret, to the top of its pole: a larger number is further away. A whole file:

```toml
[[pickups]]
name = "neck"
position = "neck"
construction = "humbucker"
magnet.grade = "alnico-2"
```

- Leave out what is not known, or write `"unknown"`. What is filled in is listed as *assumed*, with its 90 %
  spread and the measurement that would settle it. A resistance makes the turns; without a gauge, those of
  every usual gauge that fits the window are in the interval. Windings that have no room are refused.
- Of two gaps of which one is given, the other is assumed as far from it as the two usually are. Twice as many poles as
  strings stand half as far apart; coils round half of a row are as long as that half.
- Numbers may be texts: `"7,8"` (decimal comma), `"1,000.5"`, `"250k"`, `"5/64 in"`; `"1,000"` reads both ways and is
  refused. A key without its unit is accepted only when the value carries one.
- All faults are reported at once, each with the path of its key, what is allowed and the likely slip.
- A file written by the program that carries `[[assumed]]` is believed about what was assumed; take an
  entry out when its value is measured.

## Where parts are

x runs along the strings towards the bridge, y across them (string 1 at +y), z up to the strings. z = 0 is the
underside of the bar magnet, or of the rods. Sizes are drawn with the screws at -x; `screws_face = "bridge"`
turns the pickup round.

{placed}

`bar_to_pole_gap` is air a side *beyond* the drawn sizes. It is assumed as 0.1 mm (0.02-0.2); with own magnet
constants the drawing is used as it is and the gap is 0 unless given. A raised screw (`screw_raise`) comes
nearer to its string by as much; gaps stand for the body, with screws as drawn.

Not covered, and refused by name: {refused}; blades through a steel sheet. Bars of neodymium or
samarium-cobalt have no grade: their own constants are written instead (`grade = "neodymium"` says which).
"""


def placed() -> str:
    """Where the parts of each construction are, and by which words it is read."""
    rows = []
    for one in CONSTRUCTIONS:
        words = f" (or {', '.join(f'`{word}`' for word in one.also)})" if one.also else ""
        unchecked = "" if one.beside_finite_elements else " Not held against a finite-element solution yet."
        rows += wrap(
            f"- **{one.slug}**{words}: {one.placed}.{unchecked}", 110, subsequent_indent="  ", break_on_hyphens=False
        )
    return "\n".join(rows)


def other_names(key: Parameter) -> str:
    """Other accepted spellings of a key."""
    others = [name for name in key.names() if name != key.name and not name.endswith("_mm")]
    return ", ".join(f"`{name}`" for name in others)


def allowed(key: Parameter) -> str:
    """Range or words."""
    if key.choices and key.kind != "charge":
        return ", ".join(key.choices)
    if key.low is None or key.high is None:
        words = {"gauge": "7 to 150, or 0.007 to 0.150 inch", "flag": "true, false", "texts": "list of texts"}
        return {**words, "text": "text"}.get(key.kind, "number")
    unit = f" {key.unit.word}" if key.unit.word else ""
    words = f"{', '.join(key.choices)}, or " if key.choices else ""
    text = f"{words}{show(key.low)} to {show(key.high)}{unit}"
    text += ", list" if key.kind in ("numbers", "readings") else ""
    return text + (f", or {key.none}" if key.none else "")


def key_table(keys: layout.Keys) -> str:
    """One table of keys."""
    rows = [f"| `{key.name}` | {allowed(key)} | {key.meaning} | {other_names(key)} |" for key in keys]
    return "\n".join(["| key | allowed | meaning | also |", "|---|---|---|---|", *rows])


def default_table() -> str:
    """What is assumed, by construction."""
    names = [one.words for one in CONSTRUCTIONS]
    tables = [_assumed_of(one) for one in CONSTRUCTIONS]
    rows = []
    for attr in dict.fromkeys(attr for table in tables for attr in table):
        if len({table.get(attr) for table in tables}) > 1:
            rows.append(f"| {attr} | " + " | ".join(_cell(table.get(attr)) for table in tables) + " |")
    return "\n".join(["| value | " + " | ".join(names) + " |", "|---|" + "---|" * len(names), *rows])


def _assumed_of(construction: Construction) -> dict[str, Default]:
    """What is assumed of one construction at the neck, without what it does not have."""
    found = defaults.pickup_defaults(construction=construction.slug, position="neck", drawn=False)
    return {attr: one for attr, one in found.items() if not attr.startswith(construction.lacks)}


def _cell(default: Default | None) -> str:
    if default is None:
        return ""
    value = default.assumption("this").value
    known = default.low is not None and default.high is not None
    return f"{value} ({default.low:g} to {default.high:g})" if known else value


def trade_table() -> str:
    """Words of the trade by what they are typed for."""
    rows = []
    for field, words in trade_words.SAID.items():
        for meant, said in words.items():
            joints = {one.replace("-", "") for one in said if "-" in one}
            shown = [one for one in said if field != "grade" or "-" in one or one not in joints]
            if shown:
                rows.append(f"| {field} | `{meant}` | {', '.join(one.replace('-', ' ') for one in shown)} |")
    rows += [f"| tuning | `{' '.join(notes)}` | {name.replace('-', ' ')} |" for name, notes in
             trade_words.TUNINGS.items()]  # fmt: skip
    return "\n".join(["| of | read as | said |", "|---|---|---|", *rows])


def page() -> str:
    """The whole page."""
    refused = ", ".join(name.replace("-", " ") for name in REFUSED_CONSTRUCTIONS)
    magnet, poles = layout.PICKUP_TABLES["magnet"][0], layout.PICKUP_TABLES["poles"][0]
    short = "or by part in `slugs`, `screws`, `keeper`, `rods`, where the prefix may be left out"
    sections = [
        ("## Top of the file", layout.GUITAR_KEYS),
        ("## `[[pickups]]`", layout.PICKUP_KEYS),
        ('`base_plate` and `cover`: `"none"`, a metal, or a table:', layout.SHEET_KEYS),
        ("### `[pickups.magnet]`", magnet),
        (f"### `[pickups.poles]`\n\nAll keys on poles here, {short}.", poles),
        ("### `[pickups.coil]` (all coils) or `[[pickups.coils]]` (one by one)", layout.COIL_KEYS),
        ("## `[controls]`", layout.CONTROL_KEYS),
        (f"{SWITCH}\n\n### `[[controls.positions]]`", layout.CONTROL_TABLES["positions"][1]),
        (OWN, layout.CONTROL_TABLES["volumes"][1]),
        ("### `[[controls.tones]]`", layout.CONTROL_TABLES["tones"][1]),
        ("### `[[controls.parts]]`", layout.CONTROL_TABLES["parts"][1]),
        (ELEMENTS, layout.CONTROL_TABLES["elements"][1]),
        (STRINGS, layout.STRING_KEYS),
        ("## `[[complaints]]`", layout.COMPLAINT_KEYS),
        ("## `[[assumed]]`\n\nWritten by the program.", layout.ASSUMED_KEYS),
        (MEASURED, layout.MEASURED_KEYS),
    ]
    parts = [INTRODUCTION.replace("{refused}", refused).replace("{placed}", placed())]
    parts += [f"{title}\n\n{key_table(keys)}\n" for title, keys in sections]
    parts.append(f"{TRADE}\n\n{trade_table()}\n")
    parts.append(f"## What is assumed\n\nValue and 90 % spread; lengths in mm.\n\n{default_table()}\n")
    return "\n".join(parts)


if __name__ == "__main__":
    if "--check" in sys.argv:
        sys.exit(PAGE.read_text(encoding="utf-8") != page())
    PAGE.write_text(page(), encoding="utf-8")
