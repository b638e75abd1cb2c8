"""What belongs to the gate: faults as they are said, what to check, by whom, with what caution. None is voiced.

Common practice, no source. `said` are patterns of words in the plain form of `spoken.tokens`: lower case, no
hyphens, "does not" for "doesn't". A fault is found in the whole phrase before any word of sound is looked for.
"""

from polepiece.planning.complaint_word import Word
from polepiece.planning.fault import ANYBODY, ELECTRICIAN, FEW, HUM, KNOB, ROLLED, SOLDERER, Fault
from polepiece.planning.touch_faults import TOUCH_FAULTS

PHASE = "pickups out of phase"

FAULTS: tuple[Fault, ...] = (
    *TOUCH_FAULTS,
    Fault(
        key="thin hum",
        name="thin and humming: half of the pickup is off",
        said=(
            r"thin (?:and )?(?:\w+ ){0,2}?(?:hum|hums|humming|noisy)\b",
            r"(?:hum|hums|humming|noisy) (?:and )?(?:\w+ ){0,2}?thin\b",
        ),
        words=("thin and humming",),
        means="one coil of a humbucker is dead or switched off",
        check="ohmmeter across each coil alone; split switch; coil to base plate must be open",
        cure="mend the dead coil, the joint, or the switch that is stuck on split",
    ),
    Fault(
        key="sudden",
        name="it changed suddenly",
        said=(
            r"sudden(?:ly)?",
            r"all of a sudden|overnight|out of nowhere",
            r"from one (?:day|gig|moment)\b",
            r"(?:was|were|been) (?:all |just |still )?(?:fine|ok|okay|good|great|perfect"
            r"|right) (?:\w+ ){0,2}?(?:(?:until|till"
            r"|up to|before)(?! i\b| we\b| he\b| she\b)|yesterday|last (?:week|night|gig|month"
            r"|time))(?: (?:last )?(?:week|night|gig|month|yesterday))?",
            r"all at once",
            r"(?:since|after) (?:it|i|the guitar|my guitar) (?:\w+ ){0,2}?(?:fell|dropped|got wet|was knocked)\b",
            r"(?:since|after) (?:the|a|its|that|my) (?:fall|drop|crash|accident|knock|bump|flight|flood|lightning)\b"
            r"(?: yesterday| last \w+)?",
            r"since (?:yesterday|last night|the last gig|this morning)",
            r"(?:was |got |been |i |it )(?:dropped|knocked over)(?: it)?\b",
            r"(?:fell over|fell off|fell down|had a fall)",
        ),
        words=("it changed suddenly",),
        means="something broke, came loose or was turned",
        check="ohmmeter across each coil; switch, pots, joints; is a bar cracked, loose or turned?",
        cure="find what changed; nothing that changes suddenly is a matter of voicing",
    ),
    Fault(
        key="open",
        name="a coil is open or half is missing",
        said=(
            r"open (?:coil|circuit|winding)",
            r"(?:coils?|winding) (?:is |are )?(?:open|dead|broken|shorted|burnt|gone)",
            r"half (?:the |its |of the )?(?:reading|resistance|output|volume)\b",
            r"dead (?:coils?|pickups?|guitar|neck|bridge|middle)\b",
            r"(?:not any |no |without (?:any )?)(?:sound|signal|output)(?: at all)?\b(?! balance)",
            r"not (?:\w+ )?(?:(?:give|make|produce|get|have|put out) (?:any |a )?|any |a )(?:sound|signal)\b",
            r"(?:does|do) not sound(?: at all| any ?more)?$",
            r"(?:not|no longer|never) (?:work|works|working)(?: at all| any more| anymore)?",
            r"stopped working",
            r"not (?:come|comes|coming|turn|turns|switch) on",
            r"(?:nothing|not a thing) happens",
            r"(?:has |have |just )?died\b(?! down| out| away)",
            r"(?:gave|given) up|conked out|packed (?:up|in)|kaput|(?:is )?broken\b(?! up)|burnt out|burned out",
            r"(?:only )?(?:one|half) (?:of the )?(?:coils? )?(?:works|is working|is on)(?: only)?",
            r"(?:only )?(?:one|half) (?:of the |of its )?coils? (?:of |on |in )(?:\w+ ){1,3}?"
            r"(?:works?|is working|is on)(?: only)?",
            r"works on (?:only )?one coil|only half of (?:it|the pickup|this) works",
            r"(?<!tone )(?<!sound )(?<!sounds )(?<!tone is )(?<!sound is )(?<!feeling )(?:completely |totally "
            r"|is |stone |gone |went |totally |goes )?dead\b(?! sounding| quiet| dull| weak"
            r"| flat| loud| on(?! the| my| neck| bridge| middle| position| both| all| its)| easy| strings?\b|"
            r" spots?\b| notes?\b)",
            r"broken (?:coil|wire|lead|pickup|connection)",
            r"shorted",
            r"nothing comes out|nothing out\b(?! of the ordinary)",
            r"(?:measures?|reads?|shows?|meters?) (?:\w+ )?(?:nothing|open|zero|infinite|no reading|half)"
            r"(?: (?:the |its |of )*(?:resistance|reading|value))?\b(?! too)",
            r"silent",
            r"mute",
            r"no longer sounds?\b(?! \w)",
            r"nothing from",
            r"(?:lost|loses) (?:the |all )?(?:signal|sound)",
            r"(?:reads?|measures?|shows?) (?:0 ohms?|open|half|infinite|zero|no resistance)(?: the resistance)?",
            r"one (?:coil|half|row) (?:\w+ ){0,2}?(?:dead|off|out|missing|silent)\b",
        ),
        words=("dead pickup", "no sound", "no output", "no signal", "one coil dead"),
        means="a coil, a joint, the switch or the jack is open",
        check="ohmmeter across each coil, leads off the pots; tap each row with a screwdriver",
        cure="repair or rewind the coil",
    ),
    Fault(
        key="radio",
        name="it picks up the radio",
        said=(r"(?<!am )(?<!old )(?<!transistor )(?<!pocket )radio(?: stations?)?", r"taxi calls?"),
        words=("picks up the radio",),
        means="a joint rectifies, or the shield is open",
        check="cold joints, shield and ground of cavity and cable; another cable; another room",
        cure="make the joints and the shield good",
        by=SOLDERER,
    ),
    Fault(
        key="frets",
        name="strings buzz on the frets",
        said=(
            r"fret ?(?:buzz|rattle|noise)",
            r"(?:buzz|buzzes|buzzing|rattle|rattles|rattling) (?:\w+ ){0,3}?(?:frets?|fretboard)\b",
            r"frets? (?:\w+ )?(?:buzz|buzzing|rattle|rattling)",
            r"(?:buzz|buzzes) unplugged|(?:grounds?|grounding|frets|fretting) out",
            r"choke(?:s|d)? (?:\w+ )?bends",
        ),
        words=("fret buzz",),
        means="action, relief, nut or a high fret",
        check="does it buzz unplugged? relief, action at the last fret, nut slots, a high fret",
        cure="set the neck and the action up; no pickup answers it",
        by="anybody with feeler gauges; frets by a luthier",
        first_words="set-up first; no pickup answers it",
    ),
    Fault(
        key="hum",
        name="hum or buzz",
        said=(
            rf"(?<!string )(?<!finger )(?<!fingers )(?<!pick )(?<!handling )(?:50|60)? ?(?:hz|hertz"
            rf"|cycles?)? ?(?:mains |single coil |earth |ground )?{HUM}\b",
            r"(?:hiss|hisses|hissy|hissing)",
            r"ground ?loop",
            r"not grounded",
            r"interference",
            rf"{HUM} (?:\w+ ){{0,4}}?(?:near|beside|close to|next to|from|under) (?:the |a |my |any )?"
            r"(?:dimmers?|neon|lights?|computer|monitor|transformer|phone|fluorescent|led lights?|strip lights?)",
        ),
        words=("hum", "buzz", "hums", "humming", "noisy", "noise", "buzzes", "buzzing", "ground buzz", "hiss"),
        means="ground, shield, split, or one coil dead",
        check="ground of strings and cavity, shield, which selector settings hum, another cable and room",
        cure="find the ground or shield; never a magnet",
    ),
    Fault(
        key="crackle",
        name="crackle",
        said=(
            r"(?:crackle|crackles|crackling|crackly|static|pops and clicks)",
            rf"scratchy(?: volume| tone)?(?: {KNOB})?(?! top| sound| tone\b)",
            rf"{KNOB} (?:\w+ )?scratch(?:y|es)",
            rf"scratch(?:y|ing|es) {FEW}{KNOB}(?: (?:is |are |being )*turned)?",
            rf"(?:noise|noises|sounds?) {FEW}(?:turn|turning|move|moving) {FEW}{KNOB}",
            rf"{KNOB} (?:is |are )?noisy|noisy (?:volume |tone )?{KNOB}",
            r"(?:loud |nasty |big )*(?:pops?|clicks?|bangs?|thumps?) (?:\w+ )?(?:when|while|as|if"
            r"|whenever) (?:\w+ ){0,3}?"
            r"(?:switch|switching|flip|change|changing|turn|turning|select|move|plug|touch)(?: \w+)?\b",
            r"(?:pops|clicks) when",
            r"(?:switch|selector|toggle|jack|knob|pot) (?:\w+ ){0,3}?(?:pops?|clicks?|thumps?|bangs?)\b",
        ),
        words=("crackle", "crackles", "crackling", "scratchy pot", "scratchy"),
        means="pot, jack, or a joint",
        check="turn and tap pots, jack and switch; move the cable; look for dry joints",
        cure="clean or replace the part that crackles",
        by="anybody can turn and tap; cleaning and joints a bench",
    ),
    Fault(
        key="cuts out",
        name="cuts out",
        said=(
            r"(?:cut|cuts|cutting)(?: in and)? out\b(?! bass| treble| of)",
            r"(?:drops|dropping|drop) out\b",
            r"intermittent(?:ly)?|comes and goes",
            r"(?:bad|loose|poor) (?:contact|connection|jack|solder joint|joint|wire)",
            r"on and off\b(?! switch)",
            r"(?:loses?|lost|losing|no) (?:the |all |my )?(?:signal|sound) (?:if|when|whenever"
            r"|while) (?:\w+ ){0,2}?(?:wiggl"
            r"|mov|touch|bend|shak|push|press)(?:e|es|ing|s)?(?: (?:the |my )*(?:jack|cable|lead|plug|switch|knob))?",
            r"(?:signal|sound|volume|output|it) (?:just )?(?:drops|goes|disappears|vanishes|dies|stops|quits"
            r"|leaves)(?: away| out"
            r"| off)? (?:now and (?:again|then)|sometimes|from time to time|occasionally|at times|every so often"
            r"|at random|randomly|once in a while)",
            r"dropp(?:ed|ing) out",
            r"drop(?:s|ped|ping) out (?:completely|altogether|entirely|now and then|sometimes)",
            r"(?:switch|selector|toggle|jack|plug|knob) (?:only )?works? (?:only )?(?:if|when) (?:\w+ ){0,4}?"
            r"(?:push|press|wiggle|hold|pull|lean)",
            r"(?:jack|socket|lead|wire|connection|plug) (?:is |works |comes |came |gets |got |feels )?(?:loose"
            r"|bad|broken)",
            r"works (?:only )?(?:sometimes|now and then)",
            r"(?:only works?|works? only) (?:if|when|while) (?:\w+ ){0,4}?"
            r"(?:push|press|wiggle|hold|pull|lean|move|tap|hit)(?:e?s|ing|ed)?\b(?: (?:the |it |on "
            r"|my )*(?:switch|selector|toggle|jack|plug|lead|cable|knob|it))?",
        ),
        words=("cuts out", "cutting out", "drops out", "dropped out", "dropping out", "intermittent"),
        means="switch, jack, joint, or an open coil",
        check="switch, jack, joints; ohmmeter across the coil while the lead is moved",
        cure="mend the contact",
    ),
    Fault(
        key="squeal",
        name="squeal",
        said=(
            r"(?:screams?|sings?|whistles?|howls?|wails?) (?:\w+ )?(?:by itself|on its own|all by itself)|sings along",
            r"screech(?:es|ing)? (?:\w+ ){0,2}?(?:with|at|under|when|on) (?:\w+ ){0,3}?"
            r"(?:gain|distortion|volume|drive)",
            r"(?:microphonic )?(?:squeal|squeals|squealing|squealy)",
            r"microphonics?",
            r"(?:picks? up|picking up|hears?|amplif(?:y|ies)) (?:my |the |your |our |a "
            r"|me )*(?:own )?(?:voices?|talking"
            r"|speech|singing|fingernails?|breathing|speak)\b",
            r"(?:hear|hears|amplif(?:y|ies)) (?:every |any |the |my |me |it |when |i )*(?:taps?|tapping|knocks?"
            r"|knocking)"
            r"(?: (?:on |the |my |it )*(?:cover|pickup|body|ring|case))?\b",
            r"(?:tap|taps|tapping|knock|knocks|knocking|touching) (?:on |against |the |my |it )*(?:cover|pickup"
            r"|body|ring"
            r"|scratchplate|case) (?:\w+ ){0,5}?(?:audible|loud|heard|amplified|through)\b",
            r"(?:tap|tapp|knock|talk|speak|shout|sing)(?:s|ing)? (?:\w+ ){0,5}?"
            r"(?:comes? (?:out )?through|is heard|are heard|can be heard|is amplified)(?: (?:the |my "
            r"|in )*amp(?:lifier)?)?",
            r"(?:voice|talking|tapping|speech) (?:\w+ ){0,3}?(?:through|in|over) (?:the |my )?(?:pickups?|amp"
            r"|amplifier)",
            r"(?:noises?|sounds?|thump|thumps|click|clicks|thud|thuds) when (?:i |you |we |it is )*(?:tap|knock"
            r"|touch|tapped"
            r"|knocked)(?: (?:on |the |my |against |it )*(?:body|cover|pickup|case|guitar|wood|top))\b",
            r"howl(?:s|ing)?|whistl(?:es?|ing)",
            r"feed(?:s)? ?back(?: too easily| too much)?|feeding back",
            r"feedback",
        ),
        words=("squeals", "squeal", "microphonic", "howls", "whistles", "squealing", "feeds back"),
        means="loose cover, bar or spring; not waxed",
        check="press cover, bar, springs and ring one after the other while it squeals at gain",
        cure="fix what moves; wax (thermostat, double boiler) with the owner's consent",
        caution="ears: turn the amplifier down before you lean over it; wax burns",
        first_words="press the parts one after the other while it squeals",
    ),
    Fault(
        key="phase",
        name=PHASE,
        said=(
            r"hollow (?:with )?both(?: on)?",
            r"^phase$",
            r"^(?:it |sounds? |is |a bit |very |so |the guitar )*hollow$",
            r"out of phase",
            r"(?:wrong|reversed|opposite) (?:phase|polarity)",
            r"phase (?:problem|issue|trouble)",
            r"phasey",
            r"(?:cancel(?:s|ling)?|fight(?:s|ing)?) each other",
            r"(?:both(?: on)?|they|two|pickups) (?:(?:is|like|seem|to|sound) ){0,3}?cancel(?:s|ling)?(?: out)?\b",
        ),
        words=(
            "hollow with both on",
            "out of phase",
            "hollow both",
            "nasal with both on",
            "thin with both on",
            "phase",
        ),
        means="the pickups are out of phase",
        check="tap test: pull a screwdriver off each pickup with a meter on it; both must swing the same way",
        cure="four conductors: exchange the leads, shield stays on ground; braided lead or grounded cover: turn "
        "the bar end for end (flip); rods: exchange the leads where cover and plate are not on them, or recharge "
        'the other way. A reverse-wound middle pickup is wound = "reverse" beside magnet.flipped in the file',
        first_words="tap test; then flip or leads",
    ),
    Fault(
        key="bar",
        name="the bar is cracked, loose or turned",
        said=(
            r"(?:bar|magnet|bar magnet) (?:is )?(?:cracked|loose|reversed|turned|broken|fell out|came off|slipped)",
            r"(?:cracked|broken|loose) (?:bar|magnet|bar magnet)",
        ),
        words=("cracked bar",),
        means="a bar that is broken or has moved",
        check="look from below; compass along the pole rows",
        cure="put the bar right before anything is compared",
        caution="a bar that is taken out loses charge; mark which way round it sat",
    ),
    Fault(
        key="loose",
        name="something is loose and rattles",
        said=(
            r"(?:pickup|cover|ring|screw|screws|it) (?:is |are |feels |feel |seems )?(?:loose"
            r"|wobbly)(?: and rattles?)?\b(?! low| bass"
            r"| sounding)",
            r"loose (?:pickup|cover|ring|screws?|spring|wire)",
            r"(?:rattle|rattles|rattling|wobbles about)",
        ),
        words=("loose cover", "rattles"),
        means="cover, ring, spring or screw is not tight",
        check="press cover, ring and springs; turn each screw a little; is the wax still there?",
        cure="tighten it; a spring or tubing under the screws",
        by=ANYBODY,
    ),
    Fault(
        key="switch",
        name="split switch",
        said=(
            r"(?:split|switch|selector|toggle) (?:is )?(?:stuck|broken|dead|faulty|loose)",
            r"stuck (?:split|switch|on split|in split|in single coil)",
            r"(?:switch|selector|toggle) (?:does nothing|has no effect|not do anything|does not do anything)",
        ),
        words=("stuck switch",),
        means="the switch or its wiring",
        check="ohmmeter at the jack with the switch in both positions",
        cure="mend the switch",
    ),
    Fault(
        key="pots",
        name="a control does nothing, or all at once",
        said=(
            rf"(?:volume|tone) ?(?:{KNOB})? (?:does nothing|has no effect|does not do (?:anything|much)|does not"
            rf" work|not working|is broken)",
            rf"{KNOB} (?:does nothing|do nothing|has no effect|have no effect|does not do anything|only works?"
            rf" (?:at|on) \w+)",
            r"control does nothing",
            rf"(?:tone |volume )?{KNOB} (?:is |are |seems? )?(?:dead|broken|inoperative|without effect)\b",
            rf"(?:tone |volume )?{KNOB} (?:does|do|did) (?:\w+ly )?(?:nothing|squat|zilch|zip|sod all|jack"
            rf"|naff all|bugger all|not a thing"
            rf"|not anything|little)\b",
            rf"{KNOB} (?:works?|acts?|behaves?|is) {FEW}on ?/? ?off(?: switch)?",
            rf"{KNOB} {FEW}(?:all at once|only (?:the )?last (?:bit|turn))",
            r"all or nothing",
            rf"(?:volume|tone|{KNOB}) (?:{KNOB} )?(?:makes?|has|have|shows?) (?:no|not any|hardly any"
            rf"|little) (?:difference|effect"
            r"|change)",
            rf"no difference (?:between|from) (?:\w+ ){{0,2}}?(?:volume|tone|{KNOB}|\d+)(?: (?:at|on|of|to|and"
            rf"|between|\d+))*",
            rf"(?:volume|tone) (?:{KNOB} )?(?:only )?(?:works?|drops?|cuts?|changes?"
            rf"|kills?) (?:\w+ ){{0,2}}?(?:at|below|under|over|in|the"
            rf"|on) (?:the )?(?:\d+|last|end|very)(?: (?:bit|turn|quarter|end))?",
        ),
        words=("control does nothing",),
        means="a pot, a capacitor or a joint is open, or the wrong taper",
        check="ohmmeter from wiper to each outer lug while it is turned; capacitor and its joints",
        cure="replace or re-solder it",
    ),
    Fault(
        key="thin turned down",
        name="thin when the volume is turned down",
        said=(
            r"(?:thin|thins|thinner|tinny|shrill|bright|brighter|bass drops|loses (?:bass|lows|body|bottom))"
            r" (?:out )?"
            rf"(?:\w+ ){{0,2}}?(?:when|if|as|once|with) {FEW}(?:{ROLLED} {FEW}(?:off|down|back|volume)\b(?:"
            rf" (?:the )?volume(?: (?:down|off|back))?)?"
            r"|volume {0,1}(?:is )?(?:down|low|turned down|rolled off|rolled back|backed off))",
            rf"(?:{ROLLED}) {FEW}(?:volume )?(?:off|down|back) {FEW}(?:thin|thins|tinny)(?: out)?\b",
        ),
        words=("thin when turned down",),
        means="a treble bleed that is too large, or has no resistor; or the volume is wired backwards",
        check="treble bleed: is there one, its capacitor and resistor; which lug the pickup is on; value of the pot",
        cure="a smaller capacitor, a resistor beside or before it, or the lugs the usual way round",
        by=SOLDERER,
        caution="a lever of the plan (bleed=...) when the wiring is sound",
    ),
    Fault(
        key="smoke",
        name="smell or heat",
        said=(
            r"smoke\b|smokes|smoking\b(?! (?:tone|hot|sound|guitar|lead))",
            r"(?:sparks? (?:at|from|in|when|fly)|sparks? flying|sparking)",
            r"burn(?:ing|t) smell",
            r"smell of burning|(?:smells?|stinks?|reeks?|whiff|odou?r|fumes) (?:of|like) (?:\w+ ){0,2}?(?:burn\w*"
            r"|burnt|hot|plastic|fish|smoke"
            r"|rubber|electric\w*|fire)(?: plastic| rubber| dust)?\b",
            r"(?:whiff|odou?r|fumes)\b|flames?\b",
            r"(?:there is |a |the |funny |strange |bad |odd )+smell\b(?! (?:of|like)\b)",
            r"battery (?:\w+ ){0,2}?(?:leak(?:s|ed|ing)?|swollen|hot)|leak(?:ing|y|ed) battery",
            r"smells? (?:\w+ )?(?:burnt|burned|hot|scorched|singed)\b",
            r"hot to (?:the )?touch|too hot to (?:touch|hold)",
        ),
        words=("smell of burning",),
        means="not a passive guitar: battery, amplifier or supply",
        check="unplug everything; battery and amplifier",
        cure="a repair shop for amplifiers",
        by=ELECTRICIAN,
        caution="unplug at the wall first",
    ),
)


def _word(fault: Fault) -> Word:
    """Return the word under which a fault is offered."""
    return Word(
        name=fault.words[0], synonyms=fault.words[1:], means=fault.means, aims={},
        stands_for="a fault: the gate answers it", first_words=fault.first_words, kind="fault",
    )  # fmt: skip


FAULT_WORDS: tuple[Word, ...] = tuple(_word(one) for one in FAULTS)
FAULT_OF: dict[str, Fault] = {one.words[0]: one for one in FAULTS}  # by the name of its word
FAULT_NAMED: dict[str, Fault] = {one.name: one for one in FAULTS}
