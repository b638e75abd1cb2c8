"""What a word of sound says with what stands round it: too much of it, too little, or nothing wrong."""

from dataclasses import dataclass, field
from itertools import pairwise

from polepiece.planning.complaint_word import Word
from polepiece.planning.spoken.dangers import DANGERS, is_told
from polepiece.planning.spoken.grammar_words import SHORT_OF, SIZE, UNPLEASANT
from polepiece.planning.spoken.marks import Mark
from polepiece.planning.spoken.segments import Segment, denies
from polepiece.planning.spoken.vocabulary import Entry, vocabulary

_TELLS = frozenset({"is", "are", "was", "sounds", "sound", "gets", "get", "becomes", "seems", "got", "much"})
_HAS = frozenset({"has", "have", "had", "there", "got", "since", "after", "now", "lately", "became", "gives"})
_SOFT = frozenset({"dull", "loose", "muddy", "woolly", "weak", "sterile", "slow attack"})
_GONE = frozenset({"missing", "gone", "absent"})
_SMALL, _BIG = (
    frozenset({"soft", "softer", "short"}),
    frozenset({"sharp", "hard", "present", "forward"}),
)  # of a noun: too little, too much of it
MODIFIERS = ("not", "lack", "surplus", "less", "more", "too", "enough", "wish", "as", "strength")


@dataclass(slots=True)
class Said:
    """One word of sound in a segment, with the marks that say which way."""

    mark: Mark
    around: list[Mark] = field(default_factory=list)
    word: Word | None = None
    denied: bool = False
    noun: Mark | None = None  # "bass" of "the bass is weak"

    def has(self, *kinds: str) -> bool:
        """Whether one of the marks round it is of these kinds."""
        too = "too" in kinds and any(one.value in UNPLEASANT for one in self.around)  # "not unbearably bright"
        return too or any(one.kind in kinds for one in self.around)

    @property
    def comparative(self) -> bool:
        """Whether it is "louder", not "loud"."""
        return self.mark.value in vocabulary().comparatives

    @property
    def strength(self) -> int | None:
        """1 to 3; None where nothing is said of it."""
        if self.has("not") and not self.has("less"):
            found = [
                one.number
                for one in self.around
                if one.kind == "strength" and one.value in ("at all", "a bit", "slightly")
            ]
        else:
            found = [one.number for one in self.around if one.kind == "strength" and one.value not in SIZE]
        return None if not found else 1 if 1 in found else max(found)

    @property
    def marks(self) -> list[Mark]:
        """Every mark of it, in order."""
        own = [self.mark, *self.around, *([self.noun] if self.noun else [])]
        return sorted(own, key=lambda one: one.start)


def said_in(segment: Segment, before: list[Said]) -> list[Said]:
    """Return the words of sound of a segment, resolved; ``before`` are those of the segment it is joined to."""
    out: list[Said] = []
    waiting: list[Mark] = []
    for mark in segment.marks:
        if mark.kind in MODIFIERS:
            waiting.append(mark)
        elif mark.kind in ("quality", "fault"):
            out.append(Said(mark=mark, around=waiting))
            waiting = []
    if out:
        out[-1].around = [*out[-1].around, *waiting]
        _hand_back(out)
        wishes = [one for one in segment.marks if one.kind == "wish"]
        for one in out[1:]:
            one.around += [wish for wish in wishes if wish not in one.around and wish.start < one.mark.start]
        _located(out)
        if segment.join in ("or", "and", "comma"):
            _shared(out[0], before, segment)
    for one in out:
        if one.mark.entry is not None:
            one.word, one.denied = resolved(one.mark.entry, one, segment)
    for one in out[1:]:
        if _set_against(one, segment):
            one.word, one.denied = None, True
    return _paired(out)


def _set_against(said: Said, segment: Segment) -> bool:
    """Tell whether a word is what it is less than another: "more hollow than thin"."""
    return any(one.kind == "than" and one.end == said.mark.start for one in segment.marks)


def late(last: Said, segment: Segment) -> None:
    """Let a segment without a word of sound say the way of the one before: "balance between neck and bridge is off"."""
    more = [one for one in segment.marks if one.kind in ("lack", "surplus", "less", "more")]
    if more and last.word is None and not last.denied and last.mark.entry is not None:
        last.around += more
        last.word, last.denied = resolved(last.mark.entry, last, segment)


def _hand_back(out: list[Said]) -> None:
    """Give "enough", "missing" and "heavy" to the word before them."""
    for one, following in pairwise(out):
        late = [
            m
            for m in following.around
            if m.kind == "enough"
            or (m.value in ("heavy", "missing", "lost", "gone", "please") and m.start == one.mark.end)
        ]
        one.around += late
        following.around = [m for m in following.around if m not in late]


def _located(out: list[Said]) -> None:
    """Let a wish that names its place wish once: "smoother highs please", "softer on top" want no more highs."""
    for one, noun in pairwise(out):
        entry, place = one.mark.entry, noun.mark.entry
        if entry is None or entry.noun or place is None or not place.noun:
            continue
        wished = one.comparative or one.has("wish")
        if wished and noun.mark.start - one.mark.end <= 2 and {mark.kind for mark in noun.around} <= {"wish"}:
            one.around += [mark for mark in noun.around if mark not in one.around]
            noun.around = []


def _shared(first: Said, before: list[Said], segment: Segment) -> None:
    """Carry "no", "more", "too much" over "or" and "and": "no bass or mids", "more bass and treble"."""
    if not before or before[-1].mark.entry is None or first.mark.entry is None:
        return
    last = before[-1]
    ways = ("not", "lack", "surplus", "less", "more", "wish")
    if last.denied and segment.join != "or":  # "it is not the highs, it is the lows"
        return
    either = segment.join == "or" or any(one.value == "neither" for one in last.around)
    nouns = last.mark.entry is not None and last.mark.entry.noun and first.mark.entry.noun
    alone = any(one.value in ("just", "all") for one in segment.marks)  # "no lows, just treble"
    neither = any(one.value == "neither" for one in last.around)  # "neither too bright nor too dark"
    if (either or nouns) and not alone and not first.has(*ways, *(() if neither else ("too",))):
        first.around = [*first.around, *(one for one in last.around if one.kind in ways)]


def resolved(entry: Entry, said: Said, segment: Segment) -> tuple[Word | None, bool]:
    """Return the complaint that a word of sound makes with what is round it, and whether it is denied instead."""
    if _unclear(entry, said, segment):
        return None, False
    negative = sum(one.kind == "not" or one.value in SHORT_OF for one in said.around) % 2 == 1
    than = segment.has("than") or segment.has("as")
    wished = said.has("wish") or any(one.value == "neither" for one in said.around)
    stays = said.comparative or said.has("less", "more")  # "I need no more bass", "do not make it brighter"
    if negative and wished and stays and not said.has("too", "surplus", "enough", "as", "lack"):
        return None, True
    if entry.noun and not (entry.too or entry.not_enough):
        word = _of_noun(entry, said, negative, than, segment)
    elif entry.said is not None and entry.too is None:
        word = _of_complaint(entry, said, negative, than)
    else:
        word = _of_neutral(entry, said, negative, than, segment)
    directed = said.has("not", "enough", "lack", "less", "surplus", "more", "wish") or not entry.noun
    return word, word is None and directed


def _unclear(entry: Entry, said: Said, segment: Segment) -> bool:
    """Tell whether more is wished of what is known only as a complaint: "more aggressive" names no remedy."""
    if (
        entry.want is not None
        or entry.excess is not None
        or segment.has("than", "not", "less", "too", "lack", "enough")
    ):
        return False
    return said.has("wish", "more") and (said.comparative or said.has("more"))


def _wished_first(said: Said, segment: Segment) -> bool:
    """Tell whether a wish stands before "than": "I want more treble than", not "more treble than I need"."""
    than = next(
        (one.start for one in segment.marks if one.kind == "than"), len(segment.marks) and segment.marks[-1].end
    )
    return any(one.kind == "wish" and one.start < than for one in said.around)


def _is_told(segment: Segment, before: Mark | None) -> bool:
    """Tell whether more or less is told, not wished: "has less treble", "less treble since the new cable"."""
    if segment.has("wish") or any(one.value in ("can", "could", "how") for one in segment.marks):
        return False
    if any(one.value.startswith("since:") for one in segment.subject.settings):
        return True
    return before is not None and any(one.value in _HAS and one.start < before.start for one in segment.marks)


def _of_noun(entry: Entry, said: Said, negative: bool, than: bool, segment: Segment) -> Word | None:
    surplus = said.has("less", "surplus", "too") and not (said.has("lack") and said.has("too"))  # "too low"
    way = next((one for one in said.around if one.kind in ("less", "more")), None)
    than = than or (way is not None and _is_told(segment, way))
    if than and said.has("less"):  # "less bass than the neck", "it has less bass": told, not wished
        return entry.want
    if surplus:
        if negative:
            return (entry.excess or entry.said) if said.has("wish") else None
        return entry.excess or entry.said
    if than and said.has("more") and not _wished_first(said, segment):
        return entry.excess
    if _not_lacking(said) or _not_that(said, segment):
        return None
    if negative or said.has("lack", "more", "wish"):
        return entry.want if entry.want is not None else (None if negative else entry.said)
    if said.has("enough"):
        return None
    if any(one.value in SIZE for one in said.around):
        return entry.excess or entry.said
    return entry.said


def _not_that(said: Said, segment: Segment) -> bool:
    """Tell whether it is only said not to be the matter: "the problem is not the highs"."""
    first = next((one for one in segment.marks if one.kind not in ("filler", "join")), None)
    fillers = {one.end: one.value for one in segment.marks if one.kind == "filler"}
    starts = {one.start: one.value for one in segment.marks if one.kind == "filler"}
    return any(
        one.kind == "not"
        and (fillers.get(one.start) in ("is", "are", "was") or (one is first and segment.join == "turn"))
        and starts.get(one.end) in (("the",) if one is first else ("the", "its"))
        and said.mark.start == one.end + 1 and not said.has("lack", "less", "more", "wish", "enough")
        for one in said.around
    )  # fmt: skip


def _not_lacking(said: Said) -> bool:
    """Tell whether a lack is itself denied: "does not lack bass", "the lows do not disappear"."""
    lacks = [one for one in said.around if one.kind == "lack"]
    return any(denies(no, one) for one in lacks for no in said.around)


def _missed(said: Said) -> bool:
    """Tell whether what is spoken of is itself what is missing: "no quack", "quack is missing"."""
    lacks = [one for one in said.around if one.kind == "lack"]
    return any(0 <= said.mark.start - one.end <= 1 or one.value in _GONE for one in lacks)


def _of_complaint(entry: Entry, said: Said, negative: bool, than: bool) -> Word | None:
    if entry.want is None and _missed(said):
        return None
    if negative and said.has("enough"):
        return entry.want
    if said.has("lack") and entry.little is not None and entry.little is entry.not_enough:
        return entry.want  # "not enough aggressiveness"
    if negative:
        return entry.said if said.has("wish") and not said.has("as") else None
    if said.has("enough"):
        return None
    if said.has("wish") and not said.has("less", "too") and not than and entry.want is not None:
        return entry.want
    return entry.said


def _of_neutral(entry: Entry, said: Said, negative: bool, than: bool, segment: Segment) -> Word | None:
    if negative and said.has("as"):
        return entry.want
    if said.has("too", "surplus", "less"):
        if negative and not said.has("wish"):
            return None
        if than and said.has("less"):
            return entry.want
        return entry.excess or entry.said
    if negative and than and said.comparative and not said.has("as", "wish"):
        return None  # "the G is not louder than the others"
    if negative:
        return (entry.excess or entry.said) if said.has("wish") and not said.has("enough") else entry.want
    if said.has("lack"):
        return entry.want
    if said.has("enough"):
        return None
    if than and (said.comparative or said.has("more")):
        return entry.excess or entry.said
    if any(one.value == "so" for one in said.around) and not said.has("wish", "more"):  # "it is so strong"
        return entry.said or entry.excess
    if said.has("wish", "more") or (said.comparative and not _told(said, segment)):
        return entry.want
    return entry.said


def _told(said: Said, segment: Segment) -> bool:
    """Tell whether "brighter" is told ("is brighter"), not wished."""
    since = any(one.value.startswith("since:") for one in segment.subject.settings) and not said.has("wish")
    return since or any(one.value in _TELLS and one.start < said.mark.start for one in segment.marks)


def _paired(out: list[Said]) -> list[Said]:
    """Join a noun without a direction to the adjective beside it: "weak bass", "the treble is too loud"."""
    kept: list[Said] = []
    for one in out:
        entry = one.mark.entry
        bare = entry is not None and entry.noun and one.word is None and not one.denied
        if kept and bare and kept[-1].word is not None and kept[-1].mark.entry is not None and kept[-1].noun is None:
            _join(kept[-1], one.mark, entry)
            kept[-1].around += one.around
            continue
        last = kept[-1] if kept else None
        if (
            last is not None
            and last.word is None
            and not last.denied
            and last.mark.entry is not None
            and last.mark.entry.noun
            and (one.word is not None or one.mark.value in _SMALL)
            and not bare
        ):
            _join(one, last.mark, last.mark.entry)
            one.around = [*last.around, *one.around]
            kept[-1] = one
            continue
        kept.append(one)
    return kept


def _join(said: Said, noun: Mark, entry: Entry | None) -> None:
    said.noun = noun
    if entry is None:
        return
    name = said.word.name if said.word is not None else ""
    plain = name not in ("weak", "too hot")  # "softer on top, please" is too much of it
    if name in _SOFT and entry.want is not None and entry.want.name == "slow attack":
        said.word = entry.want  # "blunt transients", "a mushy attack"
    elif name == "weak" or (plain and said.mark.value in _SMALL):
        said.word = entry.want or said.word
    elif name == "too hot" or said.mark.value in _BIG:
        said.word = entry.excess or said.word
    said.denied = said.word is None


def liked(segment: Segment, one: Said) -> bool:
    """Tell whether nothing is wrong with just this: "never had a problem with mud"."""
    ends = ("with", "about", "the", "against", "by")
    fine = [mark for mark in segment.marks if mark.kind == "fine"]
    if any("mind" in mark.value or "bother" in mark.value for mark in fine):  # "I don't mind the brightness"
        return True
    return any(0 <= one.mark.start - mark.end <= 1 for mark in fine if mark.value.split()[-1] in ends)


def is_denied(fault: Said, segment: Segment, text: str) -> bool:
    """Tell whether a fault is said not to be there, or not to matter; ``text`` is the whole that was said."""
    fine = "" if segment.has("not") else next((one.value for one in segment.marks if one.kind == "fine"), "")
    return (fault.has("not") or bool(fine)) and not is_told(fault.mark.value, text, fine)


def told_elsewhere(segments: list[Segment], said: list[list[Said]]) -> None:
    """Deny what is told of something else; alone, "the other guitar is brighter" says what this one lacks."""
    here = any(one.word for part, found in zip(segments, said) for one in found if not part.elsewhere)
    for part, found in zip(segments, said):
        for one in found if part.elsewhere else ():
            entry = one.mark.entry
            told = one.comparative or (part.has("past") and not here)
            one.word = entry.want if told and not here and entry is not None else None
            one.denied = one.word is None
            if one.mark.kind == "fault" and one.mark.value not in DANGERS:  # the amp or the mains may be the same
                one.around.append(Mark(kind="not", start=one.mark.start, end=one.mark.start, value="not"))
