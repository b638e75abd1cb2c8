"""The words of the bench, one readable table: what each usually means and which computed quantity stands for it.

Basis of the whole table: common practice, no source. No listening test of these words against computed
quantities is known; ``stands_for`` says why our quantity was taken. ``aims`` are signed weights of
`quantities.QUANTITIES`: +1 "should go up", -1 "should go down"; only their ratios within a word matter.
At a bench "lows" means the wound strings and their attack, so `wound`, `low_level` and the attack stand
beside the band itself.
"""

from dataclasses import dataclass
from typing import Literal

from polepiece.sound import band_words

BASIS = "common practice, no source"

Kind = Literal["tone", "level", "strings", "pair", "feel", "fault"]
View = Literal["", "split", "volume down"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Word:
    """One complaint word."""

    name: str
    synonyms: tuple[str, ...] = ()
    means: str  # what a bench usually finds behind it
    aims: dict[str, float]  # empty: not computed
    stands_for: str  # why these quantities
    first: tuple[str, ...] = ()  # first free moves that are computed, as changes
    first_words: str  # first free move in words
    kind: Kind = "tone"
    causes: tuple[str, ...] = ()  # cheap causes to rule out, keys of gate.causes_of
    view: View = ""  # the setting in which the complaint is heard


_DRIVE = "low_level is what drives an amplifier's input: level and low band together"
_STRINGS = ("strings", "setup")
_TOP = ("strings", "cable", "pots", "settings", "amp")

WORDS: tuple[Word, ...] = (
    # ---------------------------------------------------------------- low end
    Word(
        name="muddy",
        synonyms=("mud", "muffled lows", "smeared", "undefined"),
        means="lows and low mids up, highs and attack down, the wound strings smear",
        aims={
            "wound": -1.0,
            "lows": -1.0,
            "highs": 0.75,
            "presence": 0.75,
            "mids": -0.5,
            "low_level": -0.4,
            "attack_lows": 0.3,
        },
        stands_for=f"wound strings against plain ones and the balance of low to high bands; {_DRIVE}",
        first=("lower_bass=0.5mm", "screws=up 0.5 turn"),
        first_words="bass side down 0.5-1 mm, screws up half a turn",
        causes=("strings", "settings", "cable", "pots", "amp"),
    ),
    Word(
        name="boomy",
        synonyms=("booming", "bass heavy", "too much bass", "one note booms"),
        means="lows up on the wound strings, one note blooms",
        aims={"wound": -1.5, "lows": -1.0, "low_level": -0.7, "pull": -0.3},
        stands_for=f"wound strings against plain ones; {_DRIVE}; pull, because it ties a string to the pole",
        first=("lower_bass=0.5mm", "screw6=down 0.5 turn", "screw5=down 0.5 turn"),
        first_words="bass side down, screws of the two thickest strings down",
        causes=("amp", "setup"),
    ),
    Word(
        name="loose",
        synonyms=("flubby", "flabby", "floppy", "loose lows"),
        means="slow attack of the wound strings under gain",
        aims={"wound": -1.2, "low_level": -0.7, "lows": -0.7, "attack_lows": 0.7, "pull": -0.3},
        stands_for=f"attack of the low band as computed from string and circuit; {_DRIVE}. Feel: not computed",
        first=("lower_bass=0.5mm",),
        first_words="bass side down; less bass before the gain; heavier strings",
        causes=("amp", "strings", "setup"),
    ),
    Word(
        name="woolly",
        synonyms=("no clarity in chords", "no clarity", "chords blur", "wooly", "indistinct"),
        means="mids and lows smear, weak attack",
        aims={
            "lows": -0.7,
            "mids": -0.7,
            "highs": 1.0,
            "presence": 0.5,
            "low_level": -0.5,
            "attack_mids": 0.5,
            "h2": -0.3,
        },
        stands_for="bands against the level; the second harmonic, because it mixes the notes of a chord",
        first=("body_down_screws_up=0.5mm", "lower=0.5mm"),
        first_words="body down, screws up",
        causes=("strings", "amp", "cable"),
    ),
    Word(
        name="thin",
        synonyms=("weedy", "no bottom", "no body", "no lows", "no bass"),
        means="lows and mids down; or a phase or split fault",
        aims={"lows": 1.0, "mids": 1.0, "wound": 1.0, "low_level": 0.4},
        stands_for="low bands against the level and wound strings against plain ones",
        first=("raise_bass=0.3mm", "screws=down 0.5 turn"),
        first_words="fault check, then bass side up, screws down",
        causes=("split", "strings", "amp"),
    ),
    # ---------------------------------------------------------------- top end
    Word(
        name="piercing",
        synonyms=("shrill", "ice-pick", "ice pick", "cutting", "too bright", "strident", "ear piercing"),
        means="2-5 kHz up on the plain strings",
        aims={"presence": -1.5, "highs": -1.0, "wound": 1.0, "high_level": -0.7, "peak": -0.3},
        stands_for="bands of 1.1-5.6 kHz, plain strings against wound ones, and the height of the resonance",
        first=("lower_treble=0.3mm", "tone=8"),
        first_words="treble side down 0.3-0.5 mm; tone to 8; longer cable",
        causes=("amp", "strings", "cable"),
    ),
    Word(
        name="harsh",
        synonyms=("brittle", "glassy", "hard", "spiky", "edgy"),
        means="highs up, hard attack, little body",
        aims={"presence": -1.0, "highs": -0.7, "peak": -0.7, "lows": 0.5, "attack_presence": -0.5},
        stands_for="top bands, height of the resonance, and the attack of the top band",
        first=("lower=0.3mm", "volume=9"),
        first_words="lower both sides; a fresh pick; volume at 9",
        causes=("pick", "strings", "amp"),
    ),
    Word(
        name="fizzy",
        synonyms=("fizz", "buzzy top", "sizzly"),
        means="top end up under drive only",
        aims={"presence": -1.5, "peak": -1.0, "high_level": -0.5},
        stands_for="presence and resonance: what is above 3 kHz before the drive; the drive is not computed",
        first=("tone=8",),
        first_words="amplifier presence and gain; tone to 8",
        causes=("amp", "settings"),
    ),
    Word(
        name="dull",
        synonyms=("dark", "no bite", "no sparkle", "dead", "muffled", "no top", "no highs", "lifeless"),
        means="highs and attack down",
        aims={"presence": 1.5, "highs": 1.0, "attack_presence": 0.5, "peak": 0.5, "resonance": 0.3, "high_level": 0.3},
        stands_for="top bands, resonance, and the attack of the top band",
        first=("raise_treble=0.3mm",),
        first_words="strings, shorter cable, are the pots really what they say? treble side up",
        causes=(*_TOP, "charge"),
    ),
    # ---------------------------------------------------------------- middle
    Word(
        name="nasal",
        synonyms=("honky", "boxy", "honk", "quacky"),
        means="300-1000 Hz up; nasal with both on is phase",
        aims={"mids": -1.5, "lows": 0.5, "highs": 0.5},
        stands_for=f"the band of {band_words('mids')} against its neighbours",
        first=("lower=0.5mm",),
        first_words="phase check; lower; blend the volumes",
        causes=("phase", "amp"),
    ),
    Word(
        name="scooped",
        synonyms=("lost in the mix", "no mids", "hollow mids"),
        means="mids down",
        aims={"mids": 1.5, "level": 0.7, "presence": -0.3},
        stands_for=f"the band of {band_words('mids')}, and level, because the ear follows the louder part of a mix",
        first=("raise=0.3mm",),
        first_words="amplifier mids; raise; less gain",
        causes=("amp",),
    ),
    # ---------------------------------------------------------------- level
    Word(
        name="weak",
        synonyms=("quiet", "low output", "no output", "no power", "gutless"),
        means="level down",
        aims={"level": 1.0},
        stands_for="level at the amplifier at the same gap",
        first=("raise=0.5mm", "raise=0.3mm"),
        first_words="DC check, raise both sides",
        kind="level",
        causes=("meter", "settings", "strings", "charge"),
    ),
    Word(
        name="too hot",
        synonyms=("hot", "compressed", "no dynamics", "squashed", "too loud", "overdrives", "breaks up too early"),
        means="level up, attack squashed",
        aims={"level": -1.0, "h2": -0.3, "pull": -0.2},
        stands_for="level at the amplifier; the second harmonic for the pickup's own squash. Touch: not computed",
        first=("lower=0.5mm", "lower=1mm"),
        first_words="lower 0.5-1 mm",
        kind="level",
        causes=("amp",),
    ),
    # ---------------------------------------------------------------- strings and pull
    Word(
        name="uneven strings",
        synonyms=("uneven", "unbalanced strings", "string balance", "strings uneven", "uneven string balance"),
        means="balance from string to string; often a plain G over a tall pole",
        aims={"unevenness": -1.0},
        stands_for="distance of the strings' levels from a straight line across them",
        first=("screw3=down 0.25 turn", "lower_bass=0.3mm", "lower_treble=0.3mm"),
        first_words="that screw a quarter turn at a time; tilt",
        kind="strings",
        causes=_STRINGS,
    ),
    Word(
        name="G jumps out",
        synonyms=("g too loud", "loud g", "third string too loud", "g string jumps out", "g sticks out"),
        means="the plain third string is louder than its neighbours",
        aims={"string3": -1.0, "unevenness": -0.3},
        stands_for="level of string 3 against the mean of all",
        first=("screw3=down 0.25 turn", "screw3=down 0.5 turn"),
        first_words="its screw down a quarter turn at a time",
        kind="strings",
        causes=_STRINGS,
    ),
    Word(
        name="B weak",
        synonyms=("b too quiet", "weak b", "quiet b", "second string weak", "b string weak"),
        means="the second string is quieter than its neighbours",
        aims={"string2": 1.0, "unevenness": -0.3},
        stands_for="level of string 2 against the mean of all",
        first=("screw2=up 0.25 turn", "screw2=up 0.5 turn"),
        first_words="its screw up a quarter turn at a time",
        kind="strings",
        causes=_STRINGS,
    ),
    Word(
        name="warbling",
        synonyms=("out of tune up the neck", "warble", "wolf notes", "double notes", "will not intonate"),
        means="the magnets pull the strings; rods too close",
        aims={"shift": -1.0, "pull": -0.7},
        stands_for="computed detuning and pull; beats between the two planes follow them",
        first=("lower_bass=0.5mm", "lower_bass=1mm", "lower=0.5mm"),
        first_words="bass side down to 3.5 mm or more, then intonation",
        kind="strings",
        causes=("setup", "strings"),
    ),
    Word(
        name="no sustain",
        synonyms=("short sustain", "notes die", "sustain", "dies away"),
        means="fret buzz, nut, or pull",
        aims={"pull": -1.0, "shift": -0.5},
        stands_for="pull alone: published decay is set by string and neck, a pickup matters only when very close",
        first=("lower=0.5mm",),
        first_words="action and relief first, then lower",
        kind="strings",
        causes=("setup", "strings"),
    ),
    Word(
        name="E slides off on bends",
        synonyms=("string slides off", "drops out on bends", "volume drops on bends", "bends drop out"),
        means="pole spread does not match the strings, or the pickup sits off centre",
        aims={},
        stands_for="not computed: sideways motion over the poles is not in the model",
        first_words="centre ring and pickup; measure the pole spread against the strings",
        kind="feel",
        causes=("spread",),
    ),
    # ---------------------------------------------------------------- pairs and settings
    Word(
        name="neck and bridge do not match",
        synonyms=(
            "do not match",
            "unbalanced pickups",
            "neck louder than bridge",
            "bridge weaker than neck",
            "pickups do not match",
            "neck and bridge unbalanced",
            "neck too loud against bridge",
        ),
        means="level and highs of the two pickups lie apart",
        aims={"apart": -1.0},
        stands_for="level of each pickup plus how much the strings move over it after a stroke 130 mm from the bridge",
        first=("lower=0.5mm", "lower=0.3mm"),
        first_words="neck down, bridge up; never bridge alone",
        kind="pair",
        causes=("meter",),
    ),
    Word(
        name="split too thin or quiet",
        synonyms=("split too thin", "split too quiet", "thin split", "weak split", "split weak", "split thin"),
        means="half the turns",
        aims={"level": 1.0, "lows": 1.0, "mids": 0.7, "presence": -0.5},
        stands_for="level and bands with one coil on",
        first=("raise=0.3mm", "screws=up 0.5 turn"),
        first_words="raise the live coil's side; the other coil; a partial split",
        view="split",
    ),
    Word(
        name="dark when volume is down",
        synonyms=("dark when turned down", "loses highs when turned down", "dull when volume is down"),
        means="pot and cable take the top",
        aims={"presence": 1.0, "highs": 1.0, "resonance": 0.3},
        stands_for="top bands with the volume at 5",
        first=(),
        first_words="shorter cable; then treble bleed, or the tone control after the volume",
        causes=("cable", "pots"),
        view="volume down",
    ),
    # ---------------------------------------------------------------- feel
    Word(
        name="sterile",
        synonyms=("stiff", "spongy", "lifeless feel", "no feel", "cold"),
        means="feel",
        aims={},
        stands_for="not computed: feel has no quantity here",
        first=("lower=0.5mm", "raise=0.3mm"),
        first_words="height both ways; blind listening",
        kind="feel",
        causes=("strings", "setup", "amp"),
    ),
    # ---------------------------------------------------------------- faults
    Word(
        name="hollow with both on",
        synonyms=("out of phase", "hollow both", "hollow", "nasal with both on", "thin with both on", "phase"),
        means="the pickups are out of phase",
        aims={},
        stands_for="a fault: the gate answers it",
        first_words="tap test; then flip or leads",
        kind="fault",
    ),
    Word(
        name="hum",
        synonyms=("hums", "humming", "noisy", "noise"),
        means="ground, split, or one coil dead",
        aims={},
        stands_for="a fault: the gate answers it",
        first_words="find it; never a magnet",
        kind="fault",
    ),
    Word(
        name="buzz",
        synonyms=("buzzes", "buzzing", "buzzing noise", "ground buzz"),
        means="ground or shield",
        aims={},
        stands_for="a fault: the gate answers it",
        first_words="find it; never a magnet",
        kind="fault",
    ),
    Word(
        name="crackle",
        synonyms=("crackles", "crackling", "scratchy pot", "scratchy"),
        means="pot, jack, or a joint",
        aims={},
        stands_for="a fault: the gate answers it",
        first_words="find it; never a magnet",
        kind="fault",
    ),
    Word(
        name="cuts out",
        synonyms=("cutting out", "drops out", "dead pickup", "no sound", "intermittent"),
        means="switch, jack, joint, or an open coil",
        aims={},
        stands_for="a fault: the gate answers it",
        first_words="find it; never a magnet",
        kind="fault",
    ),
    Word(
        name="squeals",
        synonyms=("squeal", "microphonic", "howls", "whistles", "squealing"),
        means="loose cover, bar or spring; not waxed",
        aims={},
        stands_for="a fault: the gate answers it",
        first_words="press the parts one after the other while it squeals",
        kind="fault",
    ),
)
