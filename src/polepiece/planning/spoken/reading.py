"""A sentence read: the complaints in it, what was understood, what was not used, and slips that were mended."""

from dataclasses import dataclass, replace

from polepiece.guitar import Guitar
from polepiece.planning.complaint_word import View, Word
from polepiece.planning.spoken import dynamic_words as made
from polepiece.planning.spoken.directions import MODIFIERS, Said, is_denied, late, liked, said_in, told_elsewhere
from polepiece.planning.spoken.dynamic_words import BY_NAME
from polepiece.planning.spoken.items import Item, once, words_of
from polepiece.planning.spoken.marks import Mark, marks_of
from polepiece.planning.spoken.places import sides, tuned
from polepiece.planning.spoken.segments import Segment, Subject, covers, segments_of
from polepiece.planning.spoken.targets import SEVERAL_ON, Target, other_pickups, targets_of
from polepiece.planning.spoken.tokens import Token, joined, tokenise
from polepiece.planning.spoken.vocabulary import mended, vocabulary

LOW_WORDS = ("boomy", "loose", "muddy", "woolly")  # of two strings of a letter the thick one is meant
HAPPENS_ON = ("warbling", "no sustain")  # of strings, without setting them against others
LOUD_NOISE = ("piercing", "harsh", "too hot", "fizzy", "nasal", "boomy")  # "a shrill squeal" complains of the squeal
LOST = frozenset({"gets lost", "get lost", "is lost", "is buried", "buried", "gets buried", "hides", "hidden"})
PHASED = ("thin", "nasal", "scooped", "weak")  # with both on: what two pickups out of phase sound like
PHASE_WORD, THIN_DOWN, SUDDEN = "hollow with both on", "thin when turned down", "it changed suddenly"
HEARD = {
    "gain": "heard with gain: the drive itself is not computed; the low end that reaches the amplifier stands for it",
    "loud": "heard loud: the level of the room is not computed",
    "clean": "heard clean: as everything here is computed",
    "pulled": "heard with a knob pulled: name that position of the switches to have it judged there",
    "tone down": "heard with the tone turned down: judged with the tone as the file has it",
}
SILENT = frozenset(
    {"filler", "stop", "strength", "join", "or", "turn", "when", "than", "as", "wish", "fine", "before", "to", "whole"}
    | {"aside", "past", "others", "too", "enough", "more", "not", "less", "lack", "surplus", "several", "above"}
)  # marks that need not be accounted for


@dataclass(frozen=True, slots=True, kw_only=True)
class Reading:
    """What a sentence was understood as.

    ``understood`` and ``not_used`` are for people; together they account for every word that carries something.
    """

    text: str
    items: tuple[Item, ...] = ()
    understood: tuple[str, ...] = ()
    not_used: tuple[str, ...] = ()
    slips: tuple[tuple[str, str], ...] = ()  # as typed, as read
    strange: bool = False  # a word of it is in no table


def read(text: str, guitar: Guitar | None = None) -> Reading:
    """Read one sentence, or several.

    Parameters
    ----------
    text : str
        Such as "neck muddy and bridge a bit too bright", "low E booms", "bridge: weaker than the neck!".
    guitar : Guitar, optional
        Its pickups, their names and its tuning.

    Raises
    ------
    InputError
        When a pickup is named that the guitar does not have.
    """
    names = frozenset() if guitar is None else frozenset(w.word for one in guitar.pickups for w in tokenise(one.name))
    typed = tokenise(text)
    known = tuple(mended(one, names) for one in typed)
    beside = tuple(one.word for one in known if one.word not in names and _adverb(one))
    tokens = tuple(one for one in known if one.word not in beside)
    reading = _Reader(text, tokens, marks_of(tokens, guitar), guitar).reading()
    return replace(reading, not_used=(*reading.not_used, *beside))


def _adverb(token: Token) -> bool:
    """Tell whether a word looks like an adverb that is not known here: "drops noticeably", "simply not loud"."""
    return token.word.endswith("ly") and len(token.word) > 5 and token.word not in vocabulary().words


class _Reader:
    """Reads the segments one after the other."""

    def __init__(self, text: str, tokens: tuple[Token, ...], marks: list[Mark], guitar: Guitar | None) -> None:
        self.text, self.tokens, self.marks, self.guitar = text, tokens, marks, guitar
        self.items: list[Item] = []
        self.notes: list[str] = []
        self.segments = segments_of(marks)
        self.sudden = {s.sentence for s in self.segments if any(m.value == SUDDEN for m in s.marks)}
        self.fresh: list[int] = []  # items of the segment before, for a strength that comes late

    def reading(self) -> Reading:
        """Return what the whole text says."""
        before: list[Said] = []
        said = []
        for segment in self.segments:
            found = said_in(segment, before)
            if not found and before:
                late(before[-1], segment)
            said.append(found)
            before = found or before
        told_elsewhere(self.segments, said)
        for segment, found in zip(self.segments, said):
            self._segment(segment, found)
        alone = [n for n in self.sudden if not any(one.sudden for one in self.items)]
        if alone:
            target = next((t for s in self.segments for t in targets_of(s.subject, self.guitar)), Target())
            self.items.append(Item(word=BY_NAME[SUDDEN], text="suddenly", target=target))
        items = once(self.items)
        slips = tuple((one.typed, one.word) for one in self.tokens if one.slip)
        understood = [*(f'"{a}" read as "{b}"' for a, b in slips), *map(words_of, items), *dict.fromkeys(self.notes)]
        return Reading(
            text=self.text,
            items=tuple(items),
            understood=tuple(understood),
            slips=slips,
            not_used=self._not_used(),
            strange=any(one.kind == "unknown" for one in self.marks),
        )

    # --- one segment -------------------------------------------------------------------------------
    def _segment(self, segment: Segment, said: list[Said]) -> None:
        targets = targets_of(segment.subject, self.guitar)
        start = len(self.items)
        for mark in segment.marks:
            if mark.kind in ("over", "under", "drop"):
                self._moved(segment, mark, targets)
        for one in said:
            if one.mark.kind == "fault":
                self._fault(segment, one, targets)
            else:
                self._sound(segment, one, targets, said)
        if len(self.items) > start:
            self.fresh = list(range(start, len(self.items)))
        elif segment.marks and not segment.says:
            self._late(segment)
        if segment.bang and self.fresh:
            self._stronger(3)
        self._use(segment)

    def _late(self, segment: Segment) -> None:
        """A strength by itself, ", strong" or ", 1", belongs to what was said before it."""
        for mark in segment.marks:
            if mark.kind == "strength":
                self._stronger(mark.number)
                mark.used = True
            elif mark.kind == "unknown" and mark.value in ("1", "2", "3") and len(segment.marks) == 1:
                self._stronger(int(mark.value))
                mark.used, mark.kind = True, "strength"
            elif mark.kind == "fine":
                self.notes.append(
                    f"{joined(self.tokens[segment.marks[0].start : segment.marks[-1].end])}: nothing to do"
                )

    def _stronger(self, strength: int) -> None:
        for place in self.fresh:
            one = self.items[place]
            self.items[place] = replace(one, strength=strength)

    def _add(
        self,
        words: list[Word],
        said: Said | Mark,
        targets: list[Target],
        segment: Segment,
        *,
        strength: int | None = None,
    ) -> None:
        marks = said.marks if isinstance(said, Said) else [said]
        for one in marks:
            one.used = True
        text = self._text(marks)
        if strength is None:
            found = said.strength if isinstance(said, Said) else segment.strength
            strength = found or 2
        sudden = segment.sentence in self.sudden
        for target in targets:
            for word in words:
                numbers = self._numbers(segment, thick=word.name in LOW_WORDS)
                of_strings = word.kind == "strings" and word.name not in HAPPENS_ON
                side = numbers if of_strings else ""
                beside = "" if of_strings else numbers
                self.items.append(
                    Item(word=word, text=text, target=target, strength=strength, sudden=sudden, strings=beside,
                         side=side)
                )  # fmt: skip

    def _numbers(self, segment: Segment, *, thick: bool = False) -> str:
        """Return the strings that are spoken of; of two of one letter the one beside the others that are named."""
        numbers = [one.value for one in segment.subject.strings]
        twins = {"".join(map(str, both)) for both in tuned(self.guitar).values() if len(both) > 1}
        others = [int(digit) for one in numbers if one not in twins for digit in one]
        out = []
        for one in numbers:
            if one in twins and others:
                one = min(one, key=lambda digit: min(abs(int(digit) - other) for other in others))
            elif one in twins and thick:
                one = one[-1]
            out.append(one)
        return "".join(out)

    def _strings_words(self, segment: Segment, *, loud: bool) -> list[Word]:
        guitar = self.guitar
        kinds = {one.core_diameter < one.diameter for one in guitar.strings} if guitar is not None else {True, False}
        found = sides(guitar) if len(kinds) == 2 else None
        return made.strings_words(self._numbers(segment, thick=loud), loud=loud, sides=found)

    def _of_strings(self, word: Word, segment: Segment) -> list[Word]:
        """Return the words of single strings for a level; [] where the word keeps its own meaning."""
        few = len(self._numbers(segment)) < 3
        if word.name in ("weak", "too hot") or (word.name == "boomy" and few):
            return self._strings_words(segment, loud=word.name != "weak")
        return []

    def _text(self, marks: list[Mark]) -> str:
        kept = [one for one in marks if one.kind != "strength" or one.value in ("at all", "bit")]
        return " ".join(joined(self.tokens[one.start : one.end]) for one in kept)

    def _fault(self, segment: Segment, one: Said, targets: list[Target]) -> None:
        if one.mark.value == SUDDEN:
            one.mark.used = True
            return
        if is_denied(one, segment, joined(self.tokens)):
            self._deny(one)
            return
        if segment.subject.strings and self._text([one.mark]).endswith("dead"):
            self._add(self._strings_words(segment, loud=False), one.mark, targets, segment)
            return
        if one.mark.value == PHASE_WORD:
            targets = [Target()]
        self._add([BY_NAME[one.mark.value]], one.mark, targets, segment, strength=one.strength or 2)

    def _deny(self, one: Said | Mark) -> None:
        marks = one.marks if isinstance(one, Said) else [one]
        for mark in marks:
            mark.used = True
        text = " ".join(joined(self.tokens[m.start : m.end]) for m in marks)
        self.items.append(Item(word=None, text=text))

    def _sound(self, segment: Segment, one: Said, targets: list[Target], said: list[Said]) -> None:
        word = one.word
        if word is not None and word.name in LOUD_NOISE and self._before_a_fault(one, said):
            one.mark.used = True  # "squeaky feedback"
            return
        if liked(segment, one):
            self._deny(one)  # "I don't mind the brightness"
            return
        if word is not None and word.name == "too hot" and any(other.mark.kind == "fault" for other in said):
            one.mark.used = True  # "a loud hum"
            return
        if word is None:
            if one.denied:
                self._deny(one)
            return
        several = len({one.pickup for one in targets}) > 1 or any(one.value == "pickups" for one in segment.marks)
        several = several or bool(self._levels_of(segment, targets))
        if (
            word.name == made.UNEVEN
            and several
            and not segment.subject.strings
            and "string" not in self._text([one.mark])
        ):
            word = BY_NAME[made.PAIR]
        if word.name == made.PAIR:
            objects = [mark for mark in segment.objects if mark.kind == "pickup"] or self._after(segment)
            if "jump" in self._text([one.mark]) and (pairs := other_pickups(None, objects, self.guitar)):
                self._pairs(pairs, False, one, segment)  # "a jump in volume when switching to the neck"
                return
            self._add([word], one, [Target()], segment)
        elif self._compared(segment, one, word, targets):
            return
        elif segment.subject.strings and (words := self._of_strings(word, segment)):
            self._add(words, one, targets, segment)
        else:
            self._set(segment, one, word, targets)

    def _before_a_fault(self, one: Said, said: list[Said]) -> bool:
        return any(other.mark.kind == "fault" and other.mark.start == one.mark.end for other in said)

    def _levels_of(self, segment: Segment, targets: list[Target]) -> bool:
        """Tell whether the segment before named another pickup only: "output of neck and bridge uneven"."""
        place = next(n for n, one in enumerate(self.segments) if one is segment)
        before = self.segments[place - 1] if place else None
        if before is None or segment.join != "and" or any(one.used for one in before.marks if one.kind == "quality"):
            return False
        names = {one.pickup for one in targets_of(before.subject, self.guitar)} - {None}
        return bool(names - {one.pickup for one in targets}) and any(one.kind == "pickup" for one in before.marks)

    def _set(self, segment: Segment, one: Said, word: Word, targets: list[Target]) -> None:
        """Add a word as it is heard in its setting; a setting that points to a fault makes it one."""
        settings = {mark.value for mark in segment.subject.settings}
        for mark in segment.subject.settings:
            mark.used = True
            if mark.value in HEARD:
                self.notes.append(HEARD[mark.value])
            if mark.value.startswith("since:"):
                self.notes.append(f"since the {mark.value[6:]} changed: look there before anything else")
        down = "volume down" in settings
        hollow = any(where.position for where in targets) and "hollow" in self._text([one.mark])
        both = "both on" in settings or any("together" in self._text([mark]) for mark in segment.subject.settings)
        if hollow or (both and word.name in PHASED):
            self._add([BY_NAME[PHASE_WORD]], one, [Target()], segment)
        elif down and word.name in ("thin", "piercing", "boomy" if one.has("less") else "thin"):
            self._add([BY_NAME[THIN_DOWN]], one, targets, segment)
        else:
            view: View = "split" if "split" in settings else "volume down" if down else ""
            self._add([made.in_setting(word, view)], one, targets, segment)

    # --- one against the other -----------------------------------------------------------------------
    def _compared(self, segment: Segment, one: Said, word: Word, targets: list[Target]) -> bool:
        """Add "louder than the bridge" where a level is set against another pickup."""
        way = {"weak": False, "too hot": True}.get(word.name)
        if way is None or segment.subject.strings:
            return False
        entry = one.mark.entry
        if one.comparative and entry is not None and not one.has(*MODIFIERS[:-1]):  # "neck louder": told, not wished
            way = entry.excess is not None and entry.excess.name == "too hot"
        objects = [mark for mark in segment.objects if mark.kind in ("pickup", "several", "others")]
        told = one.comparative and segment.subject_first and not one.has("wish", "not", "more", "less")
        if not objects and not (
            told and self.guitar is not None and len(self.guitar.pickups) == 2 and not segment.has("than")
        ):
            return False
        if not objects and any(one.value in ("after", "since", "now") for one in self.marks):
            return False  # against what it was before
        pairs = other_pickups(segment.subject, objects, self.guitar)
        for mark in objects:
            mark.used = True
        self._pairs(pairs, way, one, segment)
        return bool(pairs)

    def _pairs(self, pairs: list[tuple[str, str]], louder: bool, said: "Said | Mark", segment: Segment) -> None:
        for here, there in pairs:
            top, below = (here, there) if louder else (there, here)
            self._add([made.louder_than(below)], said, [Target(pickup=top)], segment)

    def _moved(self, segment: Segment, mark: Mark, targets: list[Target]) -> None:
        """Add "overpowers", "gets lost", "volume drop when I switch to"; not said of what "does not"."""
        loud = mark.kind == "over"
        negated = segment.denials(mark)
        if negated and mark.kind != "drop":
            if not loud or covers(mark):
                self._deny(mark)
                return
            negated[-1].used, loud = True, False
        if segment.subject.strings:
            self._add(self._strings_words(segment, loud=loud), mark, targets, segment)
            return
        objects = [one for one in segment.objects if one.kind in ("pickup", "others")]
        here = segment.subject
        names = [one.pickup for one in targets if one.pickup is not None]
        if mark.kind == "drop" and len(names) == 2 and not objects:  # "from neck to bridge the volume drops"
            self._pairs([(names[0], names[1])], True, mark, segment)
            return
        if mark.kind == "drop":
            objects = objects or self._after(segment)
            if objects and (pairs := other_pickups(here if here.pickups else None, objects, self.guitar)):
                self._pairs([(there, who) for who, there in pairs] if not here.pickups else pairs, False, mark, segment)
                return
        elif objects and (pairs := other_pickups(here, objects, self.guitar)):
            self._pairs(pairs, loud, mark, segment)
            return
        late = mark.value.startswith("lag") and not loud
        name = "slow attack" if late else "too hot" if loud else "scooped" if mark.value in LOST else "weak"
        self._add([BY_NAME[name]], mark, targets, segment)

    def _after(self, segment: Segment) -> list[Mark]:
        """Return the pickup that "when I switch to the bridge" names in the next segment."""
        place = next(n for n, one in enumerate(self.segments) if one is segment)
        following = self.segments[place + 1 : place + 2]
        return [mark for one in following if one.join == "when" for mark in one.objects if mark.kind == "pickup"]

    # --- what is left --------------------------------------------------------------------------------
    def _use(self, segment: Segment) -> None:
        """Mark what was spoken of as used; a position that this guitar does not have is not."""
        for mark in (*segment.subject.pickups, *segment.subject.strings, *segment.subject.settings, *segment.objects):
            mark.used = mark.used or segment.says
        for mark in segment.subject.settings:
            place = mark.kind == "position" or mark.value in SEVERAL_ON
            alone = Subject(pickups=segment.subject.pickups, settings=[mark])
            if place and all(one.position is None for one in targets_of(alone, self.guitar)):
                mark.used = mark.kind == "position" and any(one.pickup for one in targets_of(alone, self.guitar))

    def _not_used(self) -> tuple[str, ...]:
        left = [one for one in self.marks if not one.used and one.kind not in SILENT]
        out: list[list[Mark]] = []
        for one in left:
            if out and out[-1][-1].end == one.start and one.kind == "unknown" == out[-1][-1].kind:
                out[-1].append(one)
            else:
                out.append([one])
        return tuple(_left_words(self.tokens, run) for run in out)


def _left_words(tokens: tuple[Token, ...], run: list[Mark]) -> str:
    text = joined(tokens[run[0].start : run[-1].end])
    if run[0].kind == "quality":
        return f"{text} (too much or too little is not said)"
    return text
