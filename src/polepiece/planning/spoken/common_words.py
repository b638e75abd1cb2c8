"""Common English words that lie one letter from a word of the tables, and are no slips of it: "sock" is not "shock".

Written by `scripts/write_common_words.py` from the 8,000 most frequent words of the English list of pyspellchecker
0.9.1 (MIT): those that a slip of one letter parts from a word that is known here.
"""

from polepiece.planning.complaint_word import listed

ENGLISH = frozenset(
    listed(
        """
        accidents, act, acted, acting, alter, appear, ashes, ask, ass, attached, awake, bag, bags, baked,
        baking, ban, banished, banking, barrier, bars, based, bases, bash, basis, bats, batteries, bearing,
        bears, beast, beasts, bed, beds, beeping, beeps, beers, begged, begging, behaved, beings, bells,
        besides, bet, bets, betting, bills, bits, blacked, blacks, blaming, bled, blind, blinded, blond, boats,
        bonds, bones, boot, booth, boots, bosses, bothers, bottle, bottles, bow, boxes, boxing, boy, brand,
        brass, breeding, bride, bridges, broke, broom, brush, bucks, bugging, bullied, bully, bum, butt,
        butterfly, buy, buying, calling, candles, cared, cares, caring, carried, carrier, carve, cats, caves,
        cease, cells, chances, channels, chanting, charge, charges, charging, charity, chase, chirping,
        circuits, clan, clarify, cleaned, cleaner, cleaning, clicking, cling, clip, closes, coke, com, combine,
        compare, complete, computers, concept, concern, connections, consent, contacts, contents, contest,
        contract, convert, cooking, cord, cotton, course, crashing, cream, crimes, crush, cue, curse, cursed,
        customers, cutest, dad, dagger, dared, daring, darling, deals, deceased, deeds, define, detained,
        discipline, dive, diving, dizzy, dolls, don, done, dose, doubled, drawn, drift, dripping, drivers,
        drove, ducks, dumped, dying, earlier, earliest, east, effects, eve, events, facts, faculty, failing,
        fairy, farmer, farther, fault, feast, feathers, fed, feds, fee, feelings, fees, filled, filling, fills,
        filming, finer, fired, firing, fitting, flare, flights, float, flock, flower, flowing, flows, flu, food,
        forest, formed, former, forming, forms, forty, foster, frat, freed, freshen, fried, fries, frying,
        fully, funky, fur, gay, generals, genetic, gently, gin, ginger, glue, god, grain, grant, granted, grave,
        greed, greet, grow, growing, grows, gut, hallowed, handing, handles, hans, happen, harness, harvest,
        hated, hates, hating, haunt, haunted, haunting, hay, hearts, heating, heavier, herd, highly, hired,
        hiring, hitting, holed, holes, holy, honest, hooking, hosting, hug, hunting, iced, issued, jingle, join,
        jolly, juicy, jungle, kid, killings, kinds, lad, lads, lam, lap, laser, lasted, lasting, latin, lay,
        layer, laying, leading, learn, learned, learning, learns, least, leaving, led, lens, lesson, lessons,
        licking, lie, lied, lies, lighting, liked, lip, lit, lives, load, loaded, loading, locked, locking,
        locks, logged, look, loser, losers, losses, lowly, lump, madly, madness, making, males, manly, maps,
        march, mashed, matched, mate, mates, mating, matters, mattress, meal, meaning, meant, measured, meeting,
        meets, melting, mental, mess, messed, messes, messing, meteor, minds, mixed, moaning, moments, mourning,
        movie, movies, needing, needless, neighbor, net, niece, noon, noted, nuclear, ones, organized,
        organizing, ounce, pace, packet, packing, packs, pains, pal, palace, pale, pals, patch, patent, pay,
        paying, peak, pepper, per, petty, phoned, phony, phrase, picked, pillow, pills, pin, pinch, pink,
        placing, players, pleases, pockets, poop, powder, praying, prefers, prevent, prevented, preventing,
        produced, producer, produces, product, pronounce, property, protect, protection, protects, pump, pumped,
        punish, punk, puppy, qualify, quarters, quitting, quote, rag, rage, raided, raining, rally, ran,
        rangers, ransom, rap, readings, ready, relations, relatives, reset, responded, reverse, revolution, rig,
        rights, rises, rising, roads, roaming, robbery, rubbed, rubbing, rug, ruins, sack, sadness, sake, sam,
        sand, sat, save, saved, saves, saving, scare, scaring, scratch, scratched, sea, seal, seals, see, seen,
        sees, sells, separate, settling, shady, shared, sharing, shark, sharks, shipped, shirts, shoe, shoes,
        shoot, shooting, shoots, shorter, shot, shots, shove, shoved, showing, shuts, sick, sickness, sides,
        sights, sign, signals, signing, signs, silly, sin, sins, sites, sitting, skill, skipped, slapped,
        sleeping, slide, sliding, slip, slit, sneaking, sniffing, snuck, soaking, sobbing, sober, sock, socks,
        soldier, sole, sometime, son, songs, sons, sorts, spanish, spies, spit, spitting, splash, spoke, spoon,
        sports, stable, stack, staff, stall, stare, stared, staring, starring, started, starting, stays, steak,
        steel, stem, stepped, steps, stinking, stock, stocks, stranger, strangest, strangle, stray, stream,
        struck, strung, stuffed, stuffing, style, sued, suggest, suing, sun, supper, swam, sweater, sweating,
        sweeping, swimming, swing, swinging, tackle, tales, tan, tanks, tasty, tax, teasing, telling, tells,
        tender, tens, thee, thorough, threat, threats, threw, thunder, thus, thy, ticking, tie, tied, ties,
        timing, tipped, tire, tires, toe, toes, token, ton, tougher, toughest, towns, transformed, trapped,
        traps, trash, trick, tricked, tried, troubled, troubles, trust, trusted, trusting, trusts, tubes, tuned,
        types, unlikely, vice, wager, waiter, waking, wander, war, warned, warning, wars, waves, waving, ways,
        wearing, weed, weekly, weigh, weighed, weighing, weighs, whale, wheat, wherever, wildest, winning,
        wired, wished, wit, witch, wonders, woods, wore, worms
        """
    )
)
