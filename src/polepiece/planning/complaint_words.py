"""The words of the bench, one readable table: what each usually means and which computed quantity stands for it.

Basis of the whole table: common practice, no source. No listening test of these words against computed
quantities is known; ``stands_for`` says why our quantity was taken. ``aims`` are signed weights of
`quantities.QUANTITIES`: +1 "should go up", -1 "should go down"; only their ratios within a word matter.
At a bench "lows" means the wound strings and their attack, so `wound`, `low_level` and the attack stand
beside the band itself.
"""

from polepiece.planning.complaint_word import Word, listed
from polepiece.planning.faults import FAULT_WORDS
from polepiece.planning.level_words import LEVEL_WORDS
from polepiece.planning.string_words import STRING_WORDS
from polepiece.sound import band_words

_DRIVE = "low_level is what drives an amplifier's input: level and low band together"
_TOP = ("strings", "cable", "pots", "settings", "amp")
_LOWS = "down low, low down, down there, bass, lows, low end, bottom, bottom end, "
_HIGHS = "up top, up high, up there, treble, highs, high end, top, top end, "

WORDS: tuple[Word, ...] = (
    # ---------------------------------------------------------------- low end
    Word(
        name="muddy",
        synonyms=listed(
            "dirty lows, gooey, gluey, gloopy, gunky, slushy, swamped lows, turbid, treacly, porridgy, "
            "thick and dark, clotted, bogged down, cluttered, clean up the, clean the, clear up the mud, "
            "swampy, smudgy, smear, soup, foggy, smeary, soggy, "
            "clogged, mud, "
            "muffled lows, smeared, undefined, cloudy, "
            "murky, congested, sludgy, soupy"
        ),
        too=("warm", "thick"),
        much=listed("mud, low mids, lower mids, low mid, lower mid, warmth"),
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
        synonyms=listed(
            "bulbous, like a drum, swollen, overblown, elephantine, cavernous, resonant lows, droning, drone, "
            "booms out, overwhelming bass, pillowy, fat bottomed, subby, rotund, blooming, puffy, lumpy, dubby, "
            "woof, thuddy, thud, thumpy, thunderous, rumble, heavy bottom, bloom, bass monster, booming, "
            "bass heavy, too "
            "much bass, one note booms, boom, too big, bassy, tubby, woofy, bloated, rumbly, bottom heavy, bass "
            "is overpowering"
        ),
        too=listed("fat, full, deep, round"),
        much=listed(
            _LOWS + "sub, sub bass, subs, oomph in the lows, rumble, boom, low frequency, fatness, "
            "bass response, thump, low frequencies"
        ),
        not_enough=("thin", "lean", "slim"),
        means="lows up on the wound strings, one note blooms",
        aims={"wound": -1.5, "lows": -1.0, "low_level": -0.7, "pull": -0.3},
        stands_for=f"wound strings against plain ones; {_DRIVE}; pull, because it ties a string to the pole",
        first=("lower_bass=0.5mm", "screw6=down 0.5 turn", "screw5=down 0.5 turn"),
        first_words="bass side down, screws of the two thickest strings down",
        causes=("amp", "setup"),
    ),
    Word(
        name="loose",
        synonyms=listed(
            "wobbly, wobbly lows, spineless, unsteady, ungainly, jellylike, jelly, flobby, blubbery, flatulent, "
            "sluggish lows, lazy lows, soggy lows, bouncy lows, tighten, firm up, baggy, rubbery, "
            "wobbly bass, spongy lows, slack, flubby, flabby, floppy, "
            "fart, fart out, sag, flop, flaps, flap, flappy, flaps around, loose lows, farts out, "
            "flubs out, flub, farty, farting out, loose bass, loose low end, sloppy, saggy"
        ),
        not_enough=(
            "taut",
            "punchy lows",
            "solid lows",
            "steady",
            "tight sounding",
            "disciplined",
            "tight",
            "firm",
            "controlled",
        ),
        little=("tightness",),
        means="slow attack of the wound strings under gain",
        aims={"wound": -1.2, "low_level": -0.7, "lows": -0.7, "attack_lows": 0.7, "pull": -0.3},
        stands_for=f"attack of the low band as computed from string and circuit; {_DRIVE}. Feel: not computed",
        first=("lower_bass=0.5mm",),
        first_words="bass side down; less bass before the gain; heavier strings",
        causes=("amp", "strings", "setup"),
    ),
    Word(
        name="woolly",
        synonyms=listed(
            "bleary, fuzzy around the edges, out of focus, soft focus, lost in itself, notes melt together, "
            "melt together, notes bleed together, bleed together, garbled, nebulous, shapeless, "
            "undifferentiated, amorphous, slurred, smudged, mumbling, mumbled, mumbly, no detail, opaque, "
            "vague, unfocused, diffuse, hazy, messy, jumbled, incoherent, ill focused, run together, runs "
            "together, blend together, smear together, muddled, unintelligible, no clarity in chords, no "
            "clarity, chords blur, wooly, indistinct, blurry, not clear, turns to mush, turn to mush, not clear "
            "enough, blurred, blur, mushy, mush, unclear, indistinct chords, ill defined"
        ),
        not_enough=listed(
            "legible, intelligible, crystalline, crystal clear, separated, readable, "
            "clear, defined, articulate, focused, focussed, detailed, distinct, precise"
        ),
        little=listed(
            "intelligibility, contour, contours, resolution, note clarity, sharpness of notes, legibility, "
            "distinction, differentiation, outline, shape, clarity, definition, articulation, separation, "
            "note separation, string separation, focus, detail, "
            "precision"
        ),
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
        synonyms=listed(
            "plastic lows, emaciated, starved, pallid, watery, washed out, skeletal, stringy, slight, "
            "feather light, without a body, bodiless, gaunt, wafer thin, pencil thin, paper thin, anorexic, "
            "sickly, plink, sounds small, sound small, too small, small sounding, tiny, fatten, thicken, beef up, "
            "beef the, fill out, wiry, papery, weightless, empty, scrawny, flimsy, "
            "hollowed out, insubstantial, bony, toppy and "
            "thin, weedy, tinny, not big enough, plinky, skinny, weak lows, lightweight, bass light, reedy"
        ),
        not_enough=listed(
            "rich, solid, plump, stout, hefty, substantial, bulky, wide, large, full, fat, thick, big, "
            "beefy, meaty, deep, bassy, chunky"
        ),
        little=listed(
            _LOWS + "chunk, chunkiness, bulk, girth, substance, mass, foundation, body in the lows, richness, sub, "
            "body, weight, meat, fullness, depth, beef, thump, heft, low frequencies, low mids"
        ),
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
        synonyms=listed(
            "needle, treble monster, spike, spikes, blinding, glare, shouty, whiny, whining, squealy top, "
            "stabbing, stab, stabby, acute, needling, "
            "lacerating, penetrating, skull splitting, sizzling top, tizzy, chirpy, ear fatiguing, lemon sharp, "
            "blistering, ice picky, cuts like a knife, icepick, ice picks, darken, tame the top, "
            "take the edge off, stinging, jarring, "
            "glaring, searing, shrieky, squeak, ear bleeding, takes my head off, "
            "takes your head off, toppy, squeaky, eye watering, razor sharp, bright, trebly, shrill, ice-pick, "
            "ice pick, cutting, strident, ear piercing, screechy, scream, screaming, biting, hurts my ears, ear "
            "splitting, painful, shriek, pierce, sharp, hurts the ears, twangy"
        ),
        too=("bright", "trebly", "present"),
        much=listed(_HIGHS + "presence, bite, brightness, twang, jangle, high frequencies, upper mids"),
        not_enough=("dark", "dull"),
        means="2-5 kHz up on the plain strings",
        aims={"presence": -1.5, "highs": -1.0, "wound": 1.0, "high_level": -0.7, "peak": -0.3},
        stands_for="bands of 1.1-5.6 kHz, plain strings against wound ones, and the height of the resonance",
        first=("lower_treble=0.3mm", "tone=8"),
        first_words="treble side down 0.3-0.5 mm; tone to 8; longer cable",
        causes=("amp", "strings", "cable"),
    ),
    Word(
        name="harsh",
        synonyms=listed(
            "clicky, string noise, finger noise, pick noise, metal sound, metal sounding, raw, tense, "
            "unpleasant top, jagged, spitty, splashy, barbed, serrated, hissy top, bitter, scraping, cruel, "
            "aggro, vicious, crunchy top, clattery, tinselly, trashy, clacky, clack, clang, clank, rasp, "
            "sweeten, smooth out the top, smoothen, warm up, warm the, "
            "aggressive, raspy, rasping, gritty, "
            "sandy, steely, icy, brash, sibilant, coarse, nasty, clangy, "
            "zingy, prickly, acidic, ratty, unforgiving, ugly top, crispy, brittle, glassy, hard, spiky, edgy, "
            "metallic, peaky, abrasive, grating, scratchy top, hard edged, clanky, rough, tinkly"
        ),
        much=listed("attack, pick attack, edge, snap, harshness"),
        not_enough=listed(
            "jazzy, silky, creamy, buttery, velvety, gentle, velvet, soft edged, tamed, warm, smooth, mellow, "
            "sweet, round, rounded"
        ),
        little=listed("creaminess, silk, velvet, butter, warmth, smoothness, sweetness, roundness"),
        means="highs up, hard attack, little body",
        aims={"presence": -1.0, "highs": -0.7, "peak": -0.7, "lows": 0.5, "attack_presence": -0.5},
        stands_for="top bands, height of the resonance, and the attack of the top band",
        first=("lower=0.3mm", "volume=9"),
        first_words="lower both sides; a fresh pick; volume at 9",
        causes=("pick", "strings", "amp"),
    ),
    Word(
        name="fizzy",
        synonyms=listed(
            "fizz, sizzle, bees in a jar, bee in a jar, bee in a can, bees in a can, like bees, like a wasp, "
            "wasps, hairy, "
            "buzzy top, sizzly, fuzzy, buzzy, sizzling"
        ),
        much=("fizz", "fuzz", "sizzle"),
        means="top end up under drive only",
        aims={"presence": -1.5, "peak": -1.0, "high_level": -0.5},
        stands_for="presence and resonance: what is above 3 kHz before the drive; the drive is not computed",
        first=("tone=8",),
        first_words="amplifier presence and gain; tone to 8",
        causes=("amp", "settings"),
    ),
    Word(
        name="dull",
        synonyms=listed(
            "tone is dead, sound is dead, sounds dead, feels dead, feeling dead, sombre, somber, dusky, gloomy, "
            "tired, sluggish top, foggy top, stifled, dampened, damped, "
            "deadened, dead on top, shut in, boxed in highs, cottony, blanketed, curtained, suffocated, "
            "covered up, ashen, grey, gray, matte, matt, lethargic, dormant, lifeless on top, no highs, "
            "unlively, smothered, brighten, liven, wake up, wake the, open it up, perk up, perk the, treble goes, "
            "top goes, highs go, all the treble goes, "
            "all the top goes, all the highs go, treble disappears, top disappears, highs disappear, dim, "
            "sleepy, wet blanket, under water, underwater, lack of treble, rounded off, too mellow, "
            "closed off, cloaked, blunt, muffle, dark, muffled, lifeless, veiled, muted, stuffy, flat, "
            "blanket over, under a blanket, like a blanket, sound dead, dead sounding, a bit dead, "
            "choked tone, closed in, wrapped in wool, drab, subdued, lack lustre, lacklustre, lackluster"
        ),
        too=("mellow", "smooth"),
        not_enough=listed(
            "twangy, jangly, glassy, shimmering, sparkling, shiny, luminous, transparent, cutting, edgy, "
            "biting, zingy, radiant, fresh, bright, lively, crisp, trebly, present, airy, sparkly, chimey, "
            "brilliant, open"
        ),
        little=listed(
            _HIGHS + "freshness, glitter, glow, luminosity, transparency, snappiness on top, upper harmonics, "
            "overtones, sheen, gloss, glass, crystal, ring on top, vitality, sparkle, bite, presence, air, "
            "chime, shimmer, brightness, brilliance, zing, edge, twang, jangle, "
            "high frequencies, life, crispness, harmonics, shine, airiness"
        ),
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
        synonyms=listed(
            "telephonic, kazoo like, adenoidal, trumpety, squawky, squawk, hollering, honks, cuppy, "
            "cupped hands, cupped, tubular, bottled up, congested nose, duck like, quacks, whiny mids, bark, "
            "barking, peaky mids, mid spike, middly, megaphone, tin can, like a tin can, through a tin can, "
            "pinched, cardboard, cardboardy, hooty, "
            "hoot, wah like, parked wah, mid humped, vocal, "
            "honky, boxy, honk, quacky, barky, throaty, quack, middy, mid heavy, like a telephone, like a "
            "phone, cocked wah"
        ),
        much=listed(
            "low mid hump, mid hump, honk, midrange hump, nose, middles, mids, midrange, mid range, middle frequencies"
        ),
        means="300-1000 Hz up; nasal with both on is phase",
        aims={"mids": -1.5, "lows": 0.5, "highs": 0.5},
        stands_for=f"the band of {band_words('mids')} against its neighbours",
        first=("lower=0.5mm",),
        first_words="phase check; lower; blend the volumes",
        causes=("phase", "amp"),
    ),
    Word(
        name="scooped",
        synonyms=listed(
            "gutted, hollowed mids, mids sucked out, v shaped, smiley eq, smile curve, does not carry, "
            "does not project, drowned by the band, swallowed by the band, swallowed by the mix, "
            "can not be heard in the band, invisible in the mix, recessed, does not come through, "
            "does not sit in the mix, sinks in the mix, hides in the mix, no "
            "presence in the mix, hidden in the mix, vanishes in the mix, lost in the mix, "
            "disappear in the mix, get lost in the mix, vanish in the mix, hollow mids, hollow, "
            "buried, gets buried, lost in a mix, disappears in the mix, buried in the mix, does not cut, does "
            "not cut through, will not cut through, can not cut through, not cutting through, does not stand "
            "out, lost in a band, lost in the band"
        ),
        little=listed(
            "honk, growl, growly mids, snarl, bark, midrange presence, throat, midrange punch, authority, "
            "projection, presence in the mix, middles, mids, midrange, mid range, upper mids, cut, "
            "middle frequencies"
        ),
        means="mids down",
        aims={"mids": 1.5, "level": 0.7, "presence": -0.3},
        stands_for=f"the band of {band_words('mids')}, and level, because the ear follows the louder part of a mix",
        first=("raise=0.3mm",),
        first_words="amplifier mids; raise; less gain",
        causes=("amp",),
    ),
    *LEVEL_WORDS,
    *STRING_WORDS,
    *FAULT_WORDS,
)
