"""Common English words that lie one letter from a word of the tables, and are no slips of it: "sock" is not "shock".

Written by `scripts/write_common_words.py` from the 8,000 most frequent words of the English list of pyspellchecker
0.9.1 (MIT): those that a slip of one letter parts from a word that is known here.
"""

from polepiece.planning.complaint_word import listed

ENGLISH = frozenset(
    listed(
        """
        accidents, alter, appear, ask, ass, attached, awake, bags, baked, baking, ban, bang, banished, banking,
        barrier, bars, based, bases, bash, basis, bearing, bed, beds, beeping, beeps, beers, begged, begging,
        begin, beings, bells, besides, bet, bets, betting, bills, bin, bits, bitter, blacked, blacks, bled,
        blind, blinded, blond, bonds, bones, boot, booth, boots, bosses, bothers, bow, boxes, boxing, boy,
        brand, brass, breeding, bride, bridges, broke, broom, brush, bucks, bugger, bugging, bum, burns, butt,
        buy, buying, calling, camel, cared, cares, caring, cases, cause, caused, caves, cells, chances,
        channels, chanting, charged, charges, charging, charity, chunk, circuits, clan, clarify, cleaned,
        cleaner, cleaning, click, clicking, cling, clip, closer, closes, closet, coke, com, combine, comet,
        compare, complain, computers, concept, concern, connections, consent, contacts, contents, contest,
        contract, convert, cooking, cord, course, covert, cracking, crimes, crush, cue, curse, cursed, curve,
        customers, cutest, cycle, dad, dagger, dared, daring, darling, deals, deceased, deeds, define, detained,
        dive, diving, dizzy, dolls, don, dose, doubled, drawn, dried, dripping, drivers, drove, ducks, earlier,
        earliest, east, effects, eve, event, events, every, faced, faces, facts, faculty, failing, fairy,
        farmer, farther, fault, feast, fed, feds, fee, feeling, fees, fella, fights, filled, filling, fills,
        filming, finds, finer, fired, firing, fitting, flights, float, flock, flu, food, forest, formed, former,
        forming, forms, forty, foster, frat, freed, fully, fur, generals, genetic, ghosts, gin, glass, glasses,
        god, goods, grabs, grain, grant, granted, grave, greet, grounds, gut, hairs, hallowed, handing, hans,
        harness, harvest, hay, heads, heart, hearts, heating, heavier, helps, herd, highly, hitting, holds,
        holed, holy, honest, hooking, hosting, hug, hunting, iced, issued, jingle, join, jungle, keeps, kid,
        killings, kinds, knocks, lad, lads, lam, lap, laser, lasted, lasting, lasts, latin, lay, layer, laying,
        leading, leaking, learn, learned, learning, learns, least, leave, leaving, led, lens, lesson, lessons,
        licking, lie, lied, lies, lighting, liked, lip, lips, lit, lived, liver, lives, load, loaded, loading,
        locked, locking, locks, logged, look, loosen, loser, losers, losses, loved, lover, loves, lowly, lying,
        madly, madness, maker, making, males, manly, maps, march, mashed, mass, matched, mates, mating, may,
        meal, meaning, meant, measure, measured, meeting, meets, melting, mental, mess, messed, messes, messing,
        meter, midst, minds, mixed, moaning, model, moments, mourning, moves, movie, neighbor, net, nicer,
        niece, nights, noon, nose, noses, noted, nuclear, ones, organized, organizing, ounce, owners, pace,
        packing, packs, pairs, pal, palace, paper, pay, paying, peak, pepper, per, petty, phoned, phony, phrase,
        picked, pig, pills, pin, pinch, pink, placed, places, placing, players, pleases, poker, poop, powder,
        praying, prefers, prevent, prevented, preventing, produced, producer, produces, product, pronounce,
        property, punish, punk, pushed, qualify, quitting, quote, rag, rage, raided, raining, rally, ran,
        rangers, rap, read, readings, ready, relations, relatives, reset, responded, rests, reverse, rig,
        rights, rises, rising, roads, roaming, robbery, rubbed, rubber, rubbing, rug, ruins, sack, sadness, sam,
        sand, sat, save, saved, saves, saving, scare, scaring, sea, seal, seals, seats, see, seen, sees, sells,
        settling, shades, shady, shaking, shaped, shared, sharing, shiny, shipped, shirts, shoe, shoes, shoot,
        shooting, shoots, shorter, shot, shots, shove, shoved, showing, shown, shut, shuts, sick, sides, sign,
        signals, sin, singing, sins, sites, sitting, skipped, slapped, sleeping, slide, slip, slit, smelly,
        smoked, smokes, sniffing, snuck, sock, socks, soldier, sole, sometime, son, sons, sorts, speaks, spike,
        spit, spitting, spoon, sports, spot, stack, staff, staged, stages, stall, stare, stared, staring,
        starring, stars, start, started, starting, stays, steak, steel, stepped, steps, sticky, sting, stink,
        stinking, stinks, stock, stocks, stoned, stones, stranger, strangest, strangle, stray, struck, strung,
        stuffed, stuffing, style, sued, suffer, suggest, suing, sun, supper, swam, sweater, sweating, sweeping,
        swimming, swing, swinging, tales, talks, tan, tanks, taped, tasted, tastes, tasty, tax, telling, tells,
        thee, theirs, theme, thine, thorough, threw, throat, thunder, thus, thy, tick, ticking, tie, times,
        timing, tipped, toe, toes, token, ton, touched, tougher, toughest, towns, transformed, trapped, tricked,
        troubled, troubles, tubes, tuned, valued, values, vice, voices, waiter, wakes, waking, war, warned,
        warning, wars, waves, ways, wearing, weed, weekly, weigh, weighed, weighing, weighs, whale, whats,
        wheat, wherever, whistle, winning, wired, wit, witch, woods, wore, worms, wounds, yours
        """
    )
)
