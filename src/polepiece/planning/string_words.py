"""Words for strings, pairs of pickups, settings and feel: see `complaint_words`."""

from polepiece.planning.complaint_word import Word, listed

_STRINGS = ("strings", "setup")
_DIES = (
    "die",
    "dies",
    "die out",
    "dies out",
    "die away",
    "dies away",
    "decay",
    "decays",
    "fade",
    "fades",
    "fade out",
    "fades away",
)
_SOON = ("quickly", "too quickly", "fast", "too fast", "early", "too early", "soon", "too soon")

STRING_WORDS: tuple[Word, ...] = (
    Word(
        name="uneven strings",
        synonyms=listed(
            "uneven, unbalanced strings, unbalanced, imbalance, out of balance, string balance, strings uneven, "
            "uneven string balance, not even, string volume, strings have different volumes, balance is off, "
            "string to string balance, different string volumes, some strings louder, balance between the "
            "strings"
        ),
        not_enough=("balanced",),
        little=("balance",),
        means="balance from string to string; often a plain G over a tall pole",
        aims={"unevenness": -1.0},
        stands_for="distance of the strings' levels from a straight line across them",
        first=("screw3=down 0.25 turn", "lower_bass=0.3mm", "lower_treble=0.3mm"),
        first_words="that screw a quarter turn at a time; tilt",
        kind="strings",
        causes=_STRINGS,
    ),
    Word(
        name="bass strings loud",
        synonyms=("wound strings loud", "treble strings weak", "plain strings weak"),
        means="the wound strings stand above the plain ones",
        aims={"wound": -1.0},
        stands_for="wound strings against plain ones",
        first=("lower_bass=0.3mm", "raise_treble=0.3mm"),
        first_words="bass side down or treble side up, a little at a time",
        kind="strings",
        causes=_STRINGS,
    ),
    Word(
        name="treble strings loud",
        synonyms=("plain strings loud", "bass strings weak", "wound strings weak"),
        means="the plain strings stand above the wound ones",
        aims={"wound": 1.0},
        stands_for="wound strings against plain ones",
        first=("lower_treble=0.3mm", "raise_bass=0.3mm"),
        first_words="treble side down or bass side up, a little at a time",
        kind="strings",
        causes=_STRINGS,
    ),
    Word(
        name="warbling",
        synonyms=listed(
            "beat, chorusy, pulled by the pickups, pulled by the magnets, being pulled, intonation drifts, "
            "intonation wanders, intonation goes off, intonation is out, pulling my strings, "
            "pulling the strings, pulls the strings, pulls on the strings, pulls my strings, magnet pulls, "
            "beats, beats against, beat against each other, beat against themselves, pulsate, pulsates, "
            "pulsing, undulates, undulating, wavy, flutter, fluttering, trembles, detuned, phasing notes, "
            "howls out of tune, strange harmonics, unpleasant overtones, clashing overtones, wolfy, wolf, "
            "out of pitch, pitch drifts, pitch is off, off pitch, pull too hard, pulls too hard, magnets pull, "
            "magnet pull, string pull, sour, go sour, goes sour, "
            "sounds sour, two notes at once, like two notes, like two notes at once, "
            "seasick, "
            "go sharp, goes sharp, goes flat, go flat, goes out of tune, waver, ghost notes, weird overtones, "
            "strange overtones, dissonant, out "
            "of tune with itself, sounds out of tune, odd overtones, false overtones, out of tune up the neck, "
            "warble, wolf notes, double notes, will not intonate, wobble, chorus like, chorusing, wolf tone, "
            "wolf tones, beating, will not stay in tune, out of tune, intonation is off, false notes, sour "
            "notes, not in tune, can not get it in tune, never in tune, will not play in tune, "
            "will not tune up high"
        ),
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
        synonyms=(
            *listed(
                "do not ring out, does not ring out, do not ring, plonk, plonky, plunky, "
                "sustain is short, short decay, short notes, notes stop short, banjo, plunk, staccato, "
                "short sustain, notes die, sustain, dies away, no ring, does not ring, chokes out, notes choke, "
                "choke, dies off"
            ),
            *(f"{way} {soon}" for way in _DIES for soon in _SOON),
        ),
        little=("sustain", "ring"),
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
        synonyms=listed(
            "drops out when i bend, drop out when i bend, disappears when i bend, fades when i bend, "
            "dies when i bend, "
            "drops out when bent, disappears when bent, drops out when i bend it, cuts out when i bend, "
            "bends die, bends disappear, bends drop, bend dies, dies on bends, die on bends, disappears on "
            "bends, fades on bends, fades when bending, quieter on bends, bends are quiet, string slides off, "
            "drops out on bends, volume drops on bends, bends drop out, string slips off, slips off when "
            "bending, slides off when bending, drops out when bending, volume drop on bends, drops on bends, "
            "slips off on bends, slides off, bends lose volume, loses volume on bends"
        ),
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
        synonyms=listed(
            "differ in volume, differ in level, differ in output, differ in loudness, different output, "
            "different outputs, output mismatch, output difference, difference in output, volume mismatch, "
            "volumes do not match, levels do not match, uneven volume, out of balance with each other, loudness "
            "difference, do not match, unbalanced pickups, pickups do not match, neck and bridge unbalanced, "
            "not match, mismatch, mismatched, volume difference between pickups, different volumes, volume "
            "difference, volume jump, different volume, different levels, pickups are not balanced, volume "
            "imbalance, level difference, jump in volume, jump in level, difference in volume, difference in "
            "level"
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
        synonyms=listed(
            "split too thin, split too quiet, thin split, weak split, split weak, split thin, thin when split, "
            "weak when split, quiet when split, loses too much when split"
        ),
        means="half the turns",
        aims={"level": 1.0, "lows": 1.0, "mids": 0.7, "presence": -0.5},
        stands_for="level and bands with one coil on",
        first=("raise=0.3mm", "screws=up 0.5 turn"),
        first_words="raise the live coil's side; the other coil; a partial split",
        view="split",
    ),
    Word(
        name="dark when volume is down",
        synonyms=listed(
            "dark when turned down, loses highs when turned down, dull when volume is down, loses treble when "
            "turned down"
        ),
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
        synonyms=listed(
            "no mojo, wooden, dry, inexpressive, flavourless, flavorless, anonymous, emotionless, robotic, "
            "synthetic, computerised, bloodless, faceless, unmusical, forgettable, plasticky, uninspired, "
            "hi fi, hifi, too hifi, mechanical, soul less, generic, vanilla, stiff, "
            "no feel, cold, bland, boring, characterless, clinical, lacks character, plastic, "
            "uninspiring, soulless, one dimensional"
        ),
        not_enough=listed("organic, musical, interesting, alive"),
        little=listed("character, soul, mojo, personality"),
        means="feel",
        aims={},
        stands_for="not computed: feel has no quantity here",
        first=("lower=0.5mm", "raise=0.3mm"),
        first_words="height both ways; blind listening",
        kind="feel",
        causes=("strings", "setup", "amp"),
    ),
)
