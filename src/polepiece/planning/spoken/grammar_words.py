"""Words of grammar: not, too, enough, than, very, when; and common words that are heard and carry nothing here.

A kind of mark to the phrases that make it. What is not in these tables,
        in the tables of complaint words or faults, or
a name, is reported as not used. `COMMON` is only there so that "think" is not taken for a slip of "thin".
"""

from polepiece.planning.complaint_word import listed

UNPLEASANT = listed(
    """unbearably, painfully, horribly, terribly, awfully, intolerably, insanely, ridiculously, hopelessly,
    dreadfully, unpleasantly, annoyingly"""
)
"""Of a word that may well be good: too much of it."""
STRENGTHS: dict[int, tuple[str, ...]] = {
    1: listed(
        """a tiny bit, tiny bit, a wee bit, a smidge, a smidgen, a notch, a fraction, a trifle, ever so slightly,
        a bit, bit, slightly, slight, a little, little bit, a little bit, just a bit, just a little, somewhat,
        a touch, touch, a tad, tad, a shade, mildly, mild, kind of, kinda, sort of, sorta, a hair, marginally,
        some"""
    ),
    2: listed(
        """quite, rather, pretty, fairly, clear, clearly, medium, moderately, definitely"""
    ),
    3: (*UNPLEASANT, *listed(
        """could not be more, could not be any, very, really, extremely, super, badly, bad, seriously, totally,
        completely, far, way, much, so, incredibly, strong, strongly, unbearable, terrible, horrible, awful,
        massively, hugely, at all, by far, a lot, lots, severely, extreme, extremly, insane, absolutely, utterly,
        absurdly, big, huge, massive, heavily, far far, as hell, like hell, like mad, like crazy, incredible,
        always"""
    )),
}  # fmt: skip
SIZE = frozenset({"big", "huge", "massive", "strong", "heavy", "a lot", "lots", "bad"})  # of a noun: too much of it

VERBAL = frozenset({"over", "under", "drop", "lack", "surplus", "less", "more", "to"})
"""Kinds of mark whose phrases may begin with a verb, which then stands for all of its forms."""
VERBS: dict[str, tuple[str, ...]] = {  # a verb to its irregular past forms; regular where there are none
    **dict.fromkeys(
        listed(
            """add, attenuate, back, blast, boost, calm, change, cover, cry, cure, dial, dip, disappear, dominate,
            drop, drown, dwarf, enhance, exaggerate, fade, flick, flip, improve, increase, jump, kick, lack, lag,
            leap, lessen, lift, lower, miss, mask, outshine, overpower, overshadow, overwhelm, poke, pop,
            raise, recede, reduce, remove, restore, roar, roll, scream, select, shave, shout, soften, starve,
            swallow, swamp, switch, tame, tone, trim, turn, vanish, yell, drain, rob"""
        ),
        (),
    ),
    "bring": ("brought",), "bury": (), "cut": ("cut",), "eat": ("ate", "eaten"), "fall": ("fell", "fallen"),
    "get": ("got",), "go": ("went", "gone"), "hide": ("hid", "hidden"), "lose": ("lost",), "outgun": ("outgunned",),
    "overtake": ("overtook", "overtaken"),
    "sink": ("sank", "sunk"), "stand": ("stood",), "steal": ("stole", "stolen"), "stick": ("stuck",),
    "take": ("took", "taken"), "blow": ("blew", "blown"), "ring": ("rang", "rung"), "shine": ("shone",),
    "suck": (), "kill": (), "hurt": ("hurt",),
}  # fmt: skip

SHORT_OF = listed(
    "nowhere near as, not nearly as, not anywhere near as, not half as, half as, nearly as, anywhere near as"
)
"""Beside a word of sound: not as much of it, also where nothing is denied: "half as loud as"."""

GRAMMAR: dict[str, tuple[str, ...]] = {
    "not": listed(
        """not once, nobody, no one, at no time, in no way, by no means, hardly ever, zero, nothing, not, no,
        never, without, neither, none, no longer, not any, not really, not that,
        not so, not very,
        not particularly, not exactly, not quite, far from, anything but"""
    ),
    "lack": (*(f"{verb} {what}" for verb in ("eats", "kills", "steals", "sucks", "drains", "hides")
               for what in ("the", "my", "all the", "all my", "out the", "away the")), *listed(
        """out of the window, go out of the window, rolled off, is rolled off, are rolled off, too less, too low,
        to low, to less, to little,
        lacks nothing but, all it lacks is, only lacks, needs nothing but, kills, eats up the, robs, robs me of,
        starving for, shy of, deficient, could not hear, nowhere near enough, not nearly enough, inadequate,
        void of, robbed of, sucked out, nonexistent, non existent, drops, vanishes, misses out on, hardly there,
        barely there, scarce, is off, is wrong, not right, is terrible, can not hear, hard to hear, can barely hear,
        can hardly hear, do not hear, not hear, not audible, hear no, hear little, too faint, not as much,
        suffers from a lack of, starved for, wants for, thin in, poor in, need of, in need of, not enough,
        too little, lack, lacks, lacked, lacking, lacking in, lack of, missing, short of, short on, low on,
        light on, insufficient, hardly any, barely any, little, not much, not a lot of, lose, loses, losing, lost,
        absence of, devoid of, deficient in, poor, miss, misses, low, hardly, barely, where is the, where are the,
        gone, not got, could do with more, weak in, not many, absent, disappears, not so much, too few, thin on,
        few"""
    )),
    "surplus": listed(
        """hate the, hate, dislike the, can not stand the, a bit much, a little much, rather much, out of hand,
        to much, to many, is all, are all, nothing but, excess of, boosted, exaggerates, overbearing, dominating,
        unbearable amount of, sticking out, pronounced, pokes out, jumps out, more than enough, heaps, loads, tons,
        hurt, hurts, my ears, the ears, all over the place, out of control, unpleasant, annoying, dominates,
        too prominent, too strong, overwhelming, excessively, way up, in your face, huge amounts of, too much,
        excess, excessive, so much, a lot of, lots of, loads of, tons of, heaps of, heavy, high, exaggerated,
        overdone, over the top, too many, overly much, far much, plenty of, full of"""
    ),
    "less": listed(
        """take some, take a bit of, take a little, dial back, dial out, dial down, roll off some, remove some,
        soften, smooth out, attenuate, shave off, shave some, turn down the, trim, cure the, get rid of the,
        do away with, bring down the, less, reduce, reduces, tame, cut down, cut back, get rid of, remove, kill,
        take out, tone down, take down, not as much, cut the, cut some, lessen, calm, calm down, back off the,
        fewer, lower the, bring down, take away"""
    ),
    "more": listed(
        """raise the, raise, lift, turn up, turn up the, bring up, bring up the, a bit more of, enhance, restore,
        emphasise, emphasize, strengthen, more, add, increase, boost, extra, bring out, bring back, better,
        improve"""
    ),
    "too": listed(
        """too, overly, excessively, to much of, enough to bother, enough to hurt, enough to annoy,
        enough to be annoying, enough to be painful, enough to be a problem, enough to disturb"""
    ),
    "enough": listed(
        """no difference in, hardly any difference in, little difference in, not much difference in, enough,
        sufficient, sufficiently"""
    ),
    "wish": listed(
        """if only, need, needs, needed, want, wants, wanted, should be, could be, would like, should sound, could use,
        could do with, can do with, prefer, wish, make it, make, please, looking for, would be nice, should have,
        should, ought to be, must be, give me, give it, would love, hoping for, aim for, like it, like more,
        asks for, craves, crying out for, would prefer"""
    ),
    "as": ("as", *SHORT_OF, "quite as"),
    "fine": listed(
        """could not be happier with, can not complain about, no reason to complain about, never had a problem with,
        never had any problem with, never had any problems with, never had problems with, had no problem with,
        had a problem with, used to love, used to like, may drop, may go down, may suffer, does not matter,
        do not matter, is not important, do not care about, do not mind, not mind, do not mind the,
        can live with the, does not bother me, do not bother me,
        does not disturb,
        happy with, pleased with, content with, no complaint about, no complaints about, no complaints,
        no complaint, no problem with, no problems with, no trouble with, no issue with, no issues with,
        nothing wrong with, nothing against, not bothered by, can live with, is not the problem, is not the issue,
        are not the problem, not a problem, not an issue, is all right, are all right, is all good, fine, ok, okay,
        good, great, nice, perfect, lovely, happy, all right, alright, as it should, love, excellent, works well,
        like the"""
    ),
    "than": listed(
        """than, compared to, compared with, in comparison to, in comparison with, against, versus, vs, relative to,
        next to, in relation to, beside, more than, less than"""
    ),
    "over": listed(
        """twice the output of, twice the volume of, twice the level of, twice as loud as, double the output of,
        three times the output of, pops out, db up, db above, db over, db higher, decibels above, swallows,
        swallow, swallows up,
        overshadows, outshines, is dominant, takes over, too prominent, out of proportion, way out in front,
        overpowers, overpower, drowns, drowns out, drown out, drowning out, dominates, dominate, swamps, overwhelms,
        outguns, buries, overpowering, dominating, dwarfs, blows away, jumps out, sticks out, stands out, stick out,
        stand out, sticking out, jumps out at me, jumping out, leaps out, pokes out, jump out, is in front,
        outstanding, prominent, cries out, screams out, shouts, shouts out, yells, blasts out, roars, kicks out,
        rings out, shines out, is up front, steals the show, masks, covers up, overtakes"""
    ),
    "under": listed(
        """can not compete with, not compete with, can not compete, no match for, not a match for, pales beside,
        half the output of, half the volume of, half the level of,
        pales next to, pales against, can not hold a candle to, db down, db below, db under, db lower,
        decibels down, decibels below, not keep up, not keep up with,
        can not keep up with, too far back, in the background, falls off, dips, fades, is buried, buried, drops out,
        disappears, gets lost, get lost, is lost, falls away, vanishes, drowned, drowned out, drowned by,
        nowhere near, nowhere close to, not anywhere near, drowned out by, swamped by, recedes, falls behind,
        can not keep up, fades away, buried by, gets buried,
        hides, drops off, hidden, gets drowned, get drowned, sinks, goes missing, is masked, masked by,
        covered up by, swallowed by, is swallowed, is inaudible, goes under, is hardly there, is barely there,
        takes a back seat, is behind, lost behind, not come through, not ring out, lags behind, overpowered by"""
    ),
    "drop": listed(
        """lose half my volume, lose half the volume, lose volume, lose level, lose output, lose a lot of volume,
        volume drop, drop in volume, loses volume, loss of volume, volume drops, drops in volume, level drop,
        drop in level, level falls, level sinks, output falls, output sinks, volume falls, volume sinks,
        output drop, loses level, drop in output, volume loss"""
    ),
    "to": listed(
        """switch to, switching to, i switch to, go to, going to, change to, changing to, flip to, switch over to,
        changing over to, flick to, select, going over to, switched to"""
    ),
    "join": listed(
        """and, plus, also, as well as, then, with a"""
    ),
    "or": ("or", "nor"),
    "turn": listed(
        """but, while, whereas, though, although, yet, however, otherwise, except, only, whilst, instead"""
    ),
    "above": ("especially", "particularly", "mostly", "mainly", "above all", "most of all", "worst"),
    "when": listed(
        """when, whenever, if, because, until, unless, as soon as, once, after, since, under, with, as if, for"""
    ),
    "whole": ("guitar", "whole guitar", "pickups", "instrument"),
    "others": listed(
        """the others, others, the rest, rest, other strings, the other strings, other pickups, other pickup,
        the other pickup, other one, all others, neighbours, neighbors, its neighbours, its neighbors, other two"""
    ),
    "before": listed(
        """before, it was, it used to be, they were, usual, last week, expected"""
    ),
    "": listed(
        """when strumming hard, when playing hard, when i play hard, when i strum hard, when i hit it hard,
        play hard, playing hard, strum hard, strumming hard, pick hard, picking hard, hit hard, hit it hard,
        dig in hard, well, properly, going on, a few, as i would like, as i want, as i need, as i would want,
        as it should be, as they should be, jazz box, archtop, arch top, hollow body, hollowbody, semi hollow,
        semi acoustic, palm mutes, palm muting, palm muted, palm mute, mutes, output jack, jack, low e tuning,
        too often, lately, slowly, these days, nowadays, gradually, zone, sounded, looks, sits, seem to be, a set,
        pair, my guitar, me that, bought, since, new, put,
        added, own, instruments, more of a, lot, this one, sits at, sort it, please help, help, fix, sorted,
        dealing, worse, gets worse, it, is, are, was, were, the, my, a, an, i, you, he, she, they, we, this, that,
        these, those, of, in, on, at, to, from, by, has, have, had, do, does, did, be, been, being, get, gets,
        getting, got, sound, sounds, sounding, tone, pickup, humbucker, string, strings, note, notes, chord, chords,
        there, here, its, their, her, his, me, us, them, your, seems, seem, feel, feels, appears, comes, come,
        coming, out, up, just, still, even, like, will, would, can, could, really, bit of, any, all, one, what,
        which, as well, end, side, position, setting, frequencies, range, mode, find, kind, sort, think, say, says,
        customer, player, owner, he says, complains, complaint, problem, issue, about, becomes, become, became,
        went, goes, go, turns, let, now, then, than that, into, through, again, somehow, overall, general,
        generally, in general, slightly too, am, who, how, very, up the neck, down the neck, along the neck,
        higher up the neck, bar, time, response of, compared, while playing, when i play, when playing,
        when i play it, when i strum, when strumming, pickups do, when, ever, something, thing, things, quality,
        character of, sound of, tone of, sort of thing, everything, for me, to me, for my taste, coil, single coil,
        single coils, humbuckers, makes, leaves, thanks, thank, hello, hi, today, level of, amount of, in the,
        on the, o, clock, set, bite of"""
    ),
}  # fmt: skip
COMMON = frozenset(
    listed(
        """burpy, burp, woody, woodiness, lowest, highest, pole, poles, inner, outer, outermost, thinnest,
        thickest, fattest,
        skinniest, heaviest, lightest, tap, taps, tapping, talking, knocking, swap, swaps, swapped, rewire, rewired,
        replaced, changed, moved, fitted, installed, stuff, action, actor, after, again, amp, amplifier, amps,
        another, back, ball, band, bank, bark, barn, base, bass, bat, bath, beach, bear, bee, bees, beer, bell,
        belt, bend, best, better, bit, bite, black, blank, blow, blue, blues, body, bond, book, both, box, bother,
        bought, bright, brother, brought, brown, build, built, burn, but, butter, cable, cables, call, came, can,
        cap, car, card, care, case, cash, cast, cat, cell, cheap, chrome, clock, cloud, code, cold, color, colour,
        come, cost, could, country, cover, covers, cup, dark, dart, dash, day, days, dead, deal, dear, deep, deer,
        dish, distance, doctor, each, eight, eighth, factor, fan, farm, fast, faster, father, feather, fellow, felt,
        field, fight, file, fill, film, find, fine, finger, firm, fish, five, follow, foot, form, four, frame, free,
        from, full, funk, gain, game, gave, ghost, gift, give, gold, great, green, had, hall, ham, hand, happens,
        happy, hard, harm, hat, have, head, heap, hear, heard, height, held, hello, help, here, hers, him, his,
        hiss, hit, hold, hollow, home, host, hour, hours, house, how, hum, hut, ice, jack, jazz, just, keep, kind,
        king, kiss, kite, knob, knobs, knock, last, later, latter, law, lead, leads, leather, left, less, letter,
        life, lift, light, like, line, list, live, loss, lost, loud, love, low, magnet, magnets, main, make, man,
        map, mark, master, math, matter, meat, meet, mellow, men, met, metal, might, mile, mind, minute, minutes,
        miss, mist, monkey, month, months, more, most, mother, motion, mouse, mouth, much, must, name, nation, near,
        neat, neck, need, new, next, nice, nickel, night, nine, north, notion, often, old, once, open, option,
        other, pack, pain, pan, park, part, past, path, pen, pick, picks, pickup, piece, pieces, pile, place, plain,
        plan, plane, plank, plans, plate, play, player, playing, plays, plug, pop, port, pos, post, pot, pots,
        price, pull, purple, push, put, question, quiet, quit, quite, rain, rash, raw, reach, red, rest, rhythm,
        ride, riff, riffs, right, ring, rings, rise, rock, room, rough, same, screech, screeches, screeching, screw,
        screws, section, sector, sell, set, seven, shallow, sheep, shift, shirt, shop, short, should, show, side,
        sight, silver, sing, sings, sit, site, size, sleep, slow, smell, smells, smile, socket, soften, sold, solo,
        solos, some, song, south, sport, spring, springs, stage, star, station, store, straight, strap, strum,
        studio, such, suit, suits, swallow, swear, sweat, sweet, switch, switches, take, talk, tall, tank, tap,
        tape, teach, tell, ten, test, text, thank, thanks, that, them, then, there, these, thick, thin, thing,
        things, think, thinking, thinks, this, though, thought, three, through, thumb, tight, tile, time, tone,
        tough, treat, tree, tune, turn, twice, type, up, us, use, used, van, vector, volume, walk, wall, wash,
        water, wax, wear, weather, week, weeks, weight, well, whether, while, white, wide, will, wind, window,
        winds, wing, wire, wires, wise, wish, with, wood, wool, word, work, world, worth, would, year, years,
        yellow, zero"""
    )
)
