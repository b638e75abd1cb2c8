"""Words for level and attack: see `complaint_words`."""

from polepiece.planning.complaint_word import Word, listed

_BREAKS = ("break up", "breaks up", "distort", "distorts", "overdrive", "overdrives", "clips", "saturates")

LEVEL_WORDS: tuple[Word, ...] = (
    Word(
        name="weak",
        synonyms=listed(
            "whisper, asthmatic, timid, half asleep, dinky, pathetic, sapless, flaccid, toothless, meek, lame, feebly, "
            "very low, wimpish, impotent, tame, lacks balls, not enough oomph, hardly any output, "
            "barely any output, lacklustre output, thin output, poor output, quiet, gutless, feeble, not strong "
            "enough, faint, puny, wimpy, anaemic, anemic, underpowered, low level, low volume, can hardly hear, "
            "hardly audible, barely audible, inaudible, powerless, not heard enough"
        ),
        too=("soft",),
        not_enough=listed(
            "dirty, gritty, gainy, driven, forceful, mighty, potent, vigorous, loud, hot, powerful, strong"
        ),
        little=listed(
            "dirt, grit, crunch, breakup, break up, overdrive, saturation, headbanging power, wattage, "
            "signal strength, juice, vigour, vigor, potency, firepower, kick, horsepower, steam, thrust, "
            "output, volume, level, power, drive, gain, strength, force, energy, balls, grunt, oomph, muscle, "
            "guts, clout"
        ),
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
        synonyms=(
            *listed(
                "saturated, oversaturated, unruly, overcooked, over the top loud, blaring, deafening, "
                "thunderously loud, "
                "slammed, limited, pinned, dirty, eats the front end, slams the amp, pushes the amp too hard, "
                "hits the amp too hard, "
                "drives the amp too hard, overloads "
                "the amp, overwound, too much drive, pumping, flattens out, brickwalled, no touch, clips the input, "
                "clipping, not clean, not clean enough, can not get a clean, can not get clean, loud, too strong, "
                "hot, compressed, squashed, overdrives, compress, squash, overpowering, overwhelming, distorts, "
                "overloads, overdriven sounding, clips"
            ),
            *(f"{way} too {soon}" for way in _BREAKS for soon in ("early", "soon", "easily", "quickly", "fast")),
        ),
        too=listed("loud, hot, powerful, strong"),
        much=listed("push, output, volume, level, power, gain, drive, compression"),
        not_enough=("quiet", "soft", "dynamic"),
        little=listed("dynamics, dynamic range, headroom, touch sensitivity"),
        means="level up, attack squashed",
        aims={"level": -1.0, "h2": -0.3, "pull": -0.2},
        stands_for="level at the amplifier; the second harmonic for the pickup's own squash. Touch: not computed",
        first=("lower=0.5mm", "lower=1mm"),
        first_words="lower 0.5-1 mm",
        kind="level",
        causes=("amp",),
    ),
    # ---------------------------------------------------------------- attack
    Word(
        name="slow attack",
        synonyms=listed(
            "squishy, squished, spongy, lags behind my picking, a tick late, "
            "not responding, does not respond, lazy, laggy, mushy attack, slack response, rounded attack, "
            "blunt attack, late, lags, sluggish, "
            "soft attack, slow, spongy attack, slow response, limp, notes bloom too late"
        ),
        not_enough=listed(
            "aggressive, explosive, instant, lively under the fingers, dynamic attack, spanky, poppy, punchy, "
            "snappy, responsive, fast, immediate, percussive, quick"
        ),
        little=listed(
            "spank, bounce, directness, pluck, transients, crack, attack, aggression, aggressiveness, punch, "
            "snap, pick attack, immediacy, response, slam, pop"
        ),
        means="the note comes in late against what follows it",
        aims={"attack_lows": 1.0, "attack_mids": 1.0, "attack_presence": 0.7, "pull": -0.3},
        stands_for="attack against sustain of the bands as computed from string and circuit. Feel: not computed",
        first=("raise=0.3mm", "lower=0.3mm"),
        first_words="height both ways; a fresh pick; less compression behind it",
        causes=("strings", "pick", "amp"),
    ),
)
