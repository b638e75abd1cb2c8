"""Words of grammar: not, too, enough, than, very, when; and common words that are heard and carry nothing here.

A kind of mark to the phrases that make it. What is not in these tables, in the tables of complaint words or faults, or
a name, is reported as not used. `COMMON` is only there so that "think" is not taken for a slip of "thin".
"""


def _listed(text: str) -> tuple[str, ...]:
    return tuple(one.strip() for one in text.replace("\n", " ").split(",") if one.strip())


STRENGTHS: dict[int, tuple[str, ...]] = {
    1: _listed("""a bit, bit, slightly, slight, a little, little bit, a little bit, just a bit, just a little, somewhat,
        a touch, touch, a tad, tad, a shade, mildly, mild, kind of, kinda, sort of, sorta, a hair, marginally, some"""),
    2: _listed("quite, rather, pretty, fairly, clear, clearly, medium, moderately, definitely"),
    3: _listed("""very, really, extremely, terribly, horribly, awfully, super, badly, bad, seriously, totally,
        completely, far, way, much, so, incredibly, insanely, strong, strongly, unbearably, unbearable, terrible, horrible,
        awful, massively, hugely, ridiculously, painfully, at all, by far, a lot, lots, severely, hopelessly, dreadfully,
        extreme, extremly, insane, absolutely, utterly, absurdly, big, huge, massive, heavily, far far, as hell, like hell,
        like mad, like crazy, incredible, intolerably, always"""),
}  # fmt: skip
SIZE = frozenset({"big", "huge", "massive", "strong", "heavy", "a lot", "lots", "bad"})  # of a noun: too much of it

GRAMMAR: dict[str, tuple[str, ...]] = {
    "not": _listed("not, no, never, without, neither, none, nor, no longer, not any, not really, not that, not so, not very, "
                   "not particularly, not exactly, not quite, far from, anything but"),
    "lack": _listed("""not enough, too little, lack, lacks, lacked, lacking, lacking in, lack of, missing, short of, short on,
        low on, light on, insufficient, hardly any, barely any, little, not much, not a lot of, lose, loses, losing, lost,
        absence of, devoid of, deficient in, poor, miss, misses, low, hardly, barely, where is the, where are the, gone,
        not got, could do with more, weak in, not many, absent, disappears, not so much, too few, thin on"""),
    "surplus": _listed("""too much, excess, excessive, excess of, so much, a lot of, lots of, loads of, tons of, heaps of,
        heavy, high, exaggerated, overdone, over the top, too many, overly much, far much, plenty of, full of"""),
    "less": _listed("""less, reduce, reduces, tame, cut down, cut back, get rid of, remove, kill, take out, tone down,
        take down, not as much, cut the, cut some, lessen, calm, calm down, back off the, fewer, lower the, bring down,
        take away"""),
    "more": _listed("more, add, increase, boost, extra, bring out, bring back, better, improve"),
    "too": _listed("too, overly, excessively, to much of"),
    "enough": _listed("enough, sufficient, sufficiently"),
    "wish": _listed("""need, needs, needed, want, wants, wanted, should be, could be, would like, should sound, could use,
        could do with, can do with, prefer, wish, make it, make, please, looking for, would be nice, should have, should,
        ought to be, must be, give me, give it, would love, hoping for, aim for, like it, like more, asks for, craves, crying out for,
        would prefer"""),
    "as": ("as", "half as", "nearly as", "anywhere near as", "quite as"),
    "fine": _listed("""fine, ok, okay, good, great, nice, perfect, lovely, happy, all right, alright, as it should, love,
        excellent, works well, like the"""),
    "than": _listed("""than, compared to, compared with, in comparison to, in comparison with, against, versus, vs,
        relative to, next to, in relation to, beside, more than, less than"""),
    "over": _listed("""overpowers, overpower, drowns, drowns out, drown out, drowning out, dominates, dominate, swamps,
        overwhelms, outguns, buries, overpowering, dominating, dwarfs, blows away, jumps out, sticks out, stands out,
        stick out, stand out, sticking out, jumps out at me, jumping out, leaps out, pokes out, jump out, barks,
        is in front, outstanding, prominent"""),
    "under": _listed("""drops out, disappears, gets lost, get lost, is lost, falls away, vanishes, drowned, drowned out,
        drowned by, drowned out by, swamped by, recedes, falls behind, can not keep up, fades away, buried by,
        gets buried, hides, drops off, hidden, gets drowned, get drowned, not come through, not ring out, lags behind,
        overpowered by"""),
    "drop": _listed("""volume drop, drop in volume, loses volume, loss of volume, volume drops, drops in volume, level drop,
        drop in level, output drop, loses level, drop in output, volume loss"""),
    "to": _listed("""switch to, switching to, i switch to, go to, going to, change to, changing to, flip to, switch over to,
        changing over to, flick to, select, going over to, switched to"""),
    "join": _listed("and, plus, also, as well as, then, with a"),
    "or": ("or", "nor"),
    "turn": _listed("but, while, whereas, though, although, yet, however, otherwise, except, only, whilst, instead"),
    "when": _listed("when, whenever, if, because, until, unless, as soon as, once, after, since, under, with, as if, for"),
    "whole": ("guitar", "whole guitar", "pickups", "instrument"),
    "others": _listed("""the others, others, the rest, rest, other strings, the other strings, other pickups, other pickup,
        the other pickup, other one, all others, neighbours, neighbors, its neighbours, its neighbors, other two"""),
    "before": _listed("before, it was, it used to be, they were, other guitars, my other guitar, i like, usual, last week, expected"),
    "": _listed("""it, is, are, was, were, the, my, a, an, i, you, he, she, they, we, this, that, these, those, of, in, on, at,
        to, from, by, has, have, had, do, does, did, be, been, being, get, gets, getting, got, sound, sounds, sounding, tone,
        pickup, humbucker, string, strings, note, notes, chord, chords, there, here, its, their, her, his, me, us, them, your,
        seems, seem, feel, feels, appears, comes, come, coming, out, up, just, still, even, like, will, would, can, could,
        really, bit of, any, all, one, what, which, as well, end, side, position, setting, frequencies, range, mode, find,
        kind, sort, think, say, says, customer, player, owner, he says, complains, complaint, problem, issue, about, becomes,
        become, became, went, goes, go, turns, let, now, then, than that, into, through, again, somehow, overall, general, generally,
        in general, slightly too, am, who, how, very, up the neck, down the neck, along the neck, higher up the neck, bar, time, response of,
        compared, while playing, when i play, when playing, when i play it, when i strum, when strumming, pickups do, when, ever,
        own, something, thing, things, quality, character of, sound of, tone of, sort of thing, everything, for me, to me, for my taste, coil,
        single coil, single coils, humbuckers, makes, leaves, thanks, thank, hello, hi, today, level of, amount of, in the, on the, o, clock, set, bite of"""),
}  # fmt: skip
COMMON = frozenset(
    _listed("""think, thing, thick, this, that, then, them, there, these, hand, band, bend, bond, book, home, hold, code, cold, word,
        work, wood, wool, field, fill, full, pull, push, loss, less, blow, slow, show, how, low, law, raw, hear, heard, near, dear, year,
        here, have, hard, card, care, dart, part, past, fast, last, best, rest, test, text, next, neat, need, meet, meat, met, set, sit,
        hit, hat, had, hut, but, bit, bat, cat, car, can, cap, tap, map, pop, pot, pots, put, cup, up, us, use, used, used, year, song,
        sing, sings, ring, king, kind, mind, find, fine, line, like, life, live, love, give, gave, game, same, some, come, came, name,
        make, take, tape, type, time, tone, tune, turn, burn, barn, play, plays, player, playing, place, plate, plane, plain, pain, main,
        rain, gain, again, green, great, treat, tree, three, free, four, five, nine, seven, eight, zero, once, twice, price, nice, ice,
        blues, jazz, rock, metal, funk, country, studio, live, stage, amp, amps, amplifier, cable, cables, room, house, shop, store,
        bought, sold, build, built, built, year, years, month, months, week, weeks, day, days, hour, hours, minute, minutes, new, old,
        strap, wing, star, tele, neck, body, head, foot, finger, thumb, pick, picks, pickup, strum, riff, riffs, solo, solos, lead, leads, rhythm,
        smell, smells, purple, monkey, blue, red, black, white, brown, yellow, colour, color, nickel, chrome, gold, silver, purple,
        clock, knock, black, back, pack, park, dark, bark, mark, talk, walk, wall, ball, call, tall, hall, wire, wires, more, most, must, just,
        much, such, each, reach, beach, teach, bass, base, case, cast, cost, lost, list, mist, miss, kiss, this, hiss, hum, ham, him, his, hers,
        weather, whether, feather, leather, father, other, mother, another, brother, bother, both, bath, path, math, with, wish, fish, dish, dash,
        cash, wash, rash, harm, farm, form, from, firm, film, fill, will, well, wall, sell, cell, tell, ball, bell, belt, felt, left, lift, gift, shift,
        shirt, short, sport, port, post, host, ghost, most, mouse, loud, cloud, could, should, would, world, work, worth, north, south, mouth, month,
        happens, happy, right, night, light, might, fight, tight, sight, straight, weight, height, eight, eighth, bright, brought, thought, though, tough, rough, through,
        quit, quite, quiet, suit, suits, sweet, sweat, swear, wear, bear, beer, deer, dead, deal, deep, keep, sleep, sheep, cheap, heap, help, held, hello, yellow,
        mellow, fellow, follow, hollow, shallow, swallow, window, wind, winds, wide, wise, rise, ride, side, size, site, bite, kite, white, while, mile, smile, file, pile, tile,
        volume, magnet, magnets, screw, screws, height, distance, spring, springs, wax, cover, covers, ring, rings, frame, switch, switches, jack, plug, socket, knob, knobs,
        thin, thing, things, thinks, thinking, thank, thanks, tank, bank, blank, plank, plan, plans, pan, fan, van, man, men, ten, pen, open, often, soften, after, water,
        later, latter, letter, better, butter, matter, master, faster, factor, doctor, actor, sector, vector, section, action, nation, station, motion, notion, option, question"""),
)
