"""Segments: a sentence cut at its conjunctions and stops, each with what it speaks of, and who inherits that."""

import re
from dataclasses import dataclass, field, replace

from polepiece.planning.spoken.marks import Mark
from polepiece.planning.spoken.vocabulary import Entry, vocabulary

CUTS = {"join": "and", "or": "or", "turn": "turn", "when": "when"}
_COVERS = re.compile(
    r"(?:swallow|over|outsh|drown|dominat|swamp|outgun|bur(?:y|ied|ies)|dwarf|bl[eo]w|mask|cover|steal|stol|too "
    r"|is dominant|takes? over|took over|taking over|out of proportion)"
)
_STOPS = {".": "stop", ";": "stop", "!": "stop", "?": "stop", ",": "comma", ":": "label", "+": "and", "/": "comma"}
_NO_WAY = ("low", "high", "is off", "is wrong", "not right", "is terrible")  # do not say of a pickup which way
_PAINS = ("hurt", "hurts", "unpleasant", "annoying")  # of a pickup: it pierces; of its highs: too much of them
PLACES = ("pickup", "several", "position", "string", "setting")
SAYS = ("quality", "fault", "over", "under", "drop")


@dataclass(slots=True, kw_only=True)
class Subject:
    """What is spoken of: marks of pickups, positions, settings and strings."""

    pickups: list[Mark] = field(default_factory=list)
    settings: list[Mark] = field(default_factory=list)
    strings: list[Mark] = field(default_factory=list)

    def __bool__(self) -> bool:
        return bool(self.pickups or self.settings or self.strings)

    def take(self, mark: Mark) -> None:
        """Add a mark of a place."""
        kinds = {"string": self.strings, "setting": self.settings, "position": self.settings}
        kinds.get(mark.kind, self.pickups).append(mark)

    def filled(self, other: "Subject", *, strings: bool) -> "Subject":
        """Return it with what it lacks from another one."""
        here = [one for one in self.settings if not one.value.startswith("since:")]
        return Subject(
            pickups=self.pickups or ([] if any(one.kind == "position" for one in self.settings) else other.pickups),
            settings=self.settings if here else [*([] if self.pickups else other.settings), *self.settings],
            strings=self.strings or (other.strings if strings else []),
        )

    def with_(self, other: "Subject") -> "Subject":
        """Return both together, the other first."""
        return Subject(
            pickups=[*other.pickups, *self.pickups], settings=[*other.settings, *self.settings],
            strings=[*other.strings, *self.strings],
        )  # fmt: skip


@dataclass(slots=True, kw_only=True)
class Segment:
    """One stretch without a conjunction: its marks, how it is joined to the one before, and its subject."""

    join: str
    marks: list[Mark] = field(default_factory=list)
    subject: Subject = field(default_factory=Subject)
    objects: list[Mark] = field(default_factory=list)  # behind "than": what it is compared with
    subject_first: bool = False
    bang: bool = False
    sentence: int = 0

    @property
    def says(self) -> bool:
        """Whether anything is said of the subject."""
        return any(one.kind in SAYS for one in self.marks)

    @property
    def strength(self) -> int | None:
        """1 to 3, the least where one is slight; None where nothing is said of it."""
        found = [one.number for one in self.marks if one.kind == "strength"]
        return None if not found else 1 if 1 in found else max(found)

    def has(self, *kinds: str) -> bool:
        """Whether there is a mark of one of these kinds."""
        return any(one.kind in kinds for one in self.marks)

    @property
    def elsewhere(self) -> bool:
        """Whether it is told of another guitar or person, or of a time that is over; not only set against one."""
        against = min((one.start for one in self.marks if one.kind in ("than", "as")), default=None)
        return any(one.kind in ("aside", "past") and (against is None or one.start < against) for one in self.marks)

    def denials(self, mark: Mark) -> list[Mark]:
        """Return each "not" that stands right before a mark, or up to two words."""
        return [one for one in self.marks if denies(one, mark)]


def denies(one: Mark, mark: Mark) -> bool:
    """Tell whether a mark is a "not" right before another, or up to two words."""
    return one.kind == "not" and 0 <= mark.start - one.end <= 2


def covers(mark: Mark) -> bool:
    """Tell whether a mark says that others are covered, "drowns", "overpowers": what does not is no weaker for it."""
    return _COVERS.match(mark.value) is not None


def segments_of(marks: list[Mark]) -> list[Segment]:
    """Return the segments of a text, each with its subject."""
    out = [Segment(join="start")]
    sentence = 0
    for mark in marks:
        cut = CUTS.get(mark.kind) or (_STOPS.get(mark.value, "comma") if mark.kind == "stop" else None)
        if cut is None:
            out[-1].marks.append(mark)
            continue
        if mark.value == "!":
            out[-1].bang = True
        sentence += mark.value in (".", ";", "?", "!")
        if out[-1].marks:
            out.append(Segment(join=cut, sentence=sentence))
        else:
            out[-1].join = cut if out[-1].join in ("start", "comma", "and") else out[-1].join
            out[-1].sentence = sentence
        if mark.value == ":" and len(out) > 1:
            _label(out[-2])
    found = [part for one in out if one.marks for part in _beside(one)]
    for one in found:
        _turned(one)
        _subject(one)
    return _inherited(found)


def _beside(segment: Segment) -> list[Segment]:
    """Cut where a second place follows what was said of the first: "neck muddy bridge thin"."""
    if segment.has("than", "as", "to", "wish"):
        return [segment]
    place, says = "", False
    for number, one in enumerate(segment.marks):
        if one.kind in ("pickup", "string"):
            rest = segment.marks[number + 1 :]
            here = next((n for n, mark in enumerate(rest) if mark.kind in (*SAYS, "fine")), None)
            direct = here is not None and all(mark.kind in ("filler", "strength", "too") for mark in rest[:here])
            if place and says and one.value != place and direct:
                first, second = segment.marks[:number], segment.marks[number:]
                while first and first[-1].kind == "filler":
                    second = [first.pop(), *second]
                rest_of = Segment(join="comma", marks=second, bang=segment.bang, sentence=segment.sentence)
                return [replace(segment, marks=first, bang=False), *_beside(rest_of)]
            place = place or one.value
        elif one.kind in SAYS or one.kind == "fine":
            says = bool(place)
            if not place:
                return [segment]
    return [segment]


def _turned(segment: Segment) -> None:
    """Let "sticks out" say too much of a noun, and "can't hear" say too little of strings or a pickup."""
    nouns = [one for one in segment.marks if one.kind == "quality" and one.entry is not None and one.entry.noun]
    placed = [one for one in segment.marks if one.kind in ("string", "pickup")]
    says = segment.has("quality", "fault")
    for one in segment.marks:
        if nouns and one.kind in ("over", "under") and not any(place.kind == "string" for place in placed):
            negated = segment.denials(one) if one.kind == "over" and not covers(one) else []
            one.kind = "surplus" if one.kind == "over" and not negated else "lack"  # "not" with "surplus": no complaint
            for no in negated:  # "the lows do not stand out"; "the highs do not get lost" lacks nothing
                no.kind = "filler"
        elif placed and not says and one.value == "strong":  # "the G string strong"
            one.kind, one.entry = "quality", Entry(said=vocabulary().entries["strong",].too)
        elif placed and not says and one.value in _PAINS:
            one.kind, one.entry = "quality", vocabulary().entries["painful",]
        elif placed and not says and one.kind in ("lack", "surplus") and not _of_something(segment, one):
            one.kind = "under" if one.kind == "lack" else "over"


def _of_something(segment: Segment, mark: Mark) -> bool:
    """Tell whether a way belongs to a word that is not known, "too much click", or says none of a pickup."""
    return mark.value in _NO_WAY or any(one.kind == "unknown" and one.start == mark.end for one in segment.marks)


def _label(segment: Segment) -> None:
    """In a label "both" is a position of the switch."""
    for one in segment.marks:
        if one.kind == "several":
            one.kind, one.value = "setting", "all on" if one.value == "all:" else "both label"


def _subject(segment: Segment) -> None:
    """Sort places into what is spoken of and what that is compared with."""
    behind = False
    for mark in segment.marks:
        if mark.kind in ("than", "to") or (mark.kind == "as" and _as_much(segment, mark)):
            behind = not _wished(segment, mark)
        elif mark.kind in ("over", "under"):
            behind |= bool(segment.subject)
        elif mark.kind == "aside" and behind:
            behind = False  # "compared to my friend's guitar my bridge pickup is weak"
        elif mark.kind == "pickup" and segment.subject.strings and not segment.has("than", "as", "to"):
            segment.subject.take(mark)  # "the high E disappears on the bridge"
        elif mark.kind == "others" or (mark.kind in PLACES and mark.kind != "setting" and behind):
            segment.objects.append(mark)
        elif mark.kind in PLACES:
            segment.subject_first |= not segment.subject and not _said_before(segment, mark)
            segment.subject.take(mark)


def _wished(segment: Segment, than: Mark) -> bool:
    """Tell whether what follows is a wish and no pickup: "darker than I would like on the neck"."""
    after = next((one for one in segment.marks if one.start >= than.end and one.kind != "filler"), None)
    return after is not None and after.kind in ("wish", "before")


def _as_much(segment: Segment, mark: Mark) -> bool:
    """Tell whether an "as" behind a word of sound compares: "as loud as", "not loud as", not "loud as anything"."""
    before = [one.kind for one in segment.marks if one.start < mark.start]
    return "quality" in before and any(one in before for one in ("as", "not", "lack", "less"))


def _said_before(segment: Segment, mark: Mark) -> bool:
    return any(one.kind in SAYS and one.start < mark.start for one in segment.marks)


def _inherited(found: list[Segment]) -> list[Segment]:
    """Give every segment that says something its subject: joined lists, what came before, what comes after."""
    out: list[Segment] = []
    pending, carried, said_before = Subject(), Subject(), list[Mark]()
    for place, one in enumerate(found):
        if not one.says and one.has("to") and one.objects and not any(past.says for past in out):
            _switched_to(one, found[place + 1 : place + 2])
        following = found[place + 1] if place + 1 < len(found) else None
        if _preferred(one):
            out.append(one)
            continue
        if not one.says:
            if _is_not(one, found[:place]):  # "the G is hot, the D is not"
                out.append(one)
                continue
            if (
                any(no.kind == "not" and no.value != "neither" for no in one.marks)
                and one.subject
                and following is not None
                and following.says
                and following.subject
            ):
                out.append(one)  # "it is not the bridge, it is the neck that booms"
                continue
            if one.subject and not one.has("fine") and not _goes_back(one, following, out):
                pending = one.subject.with_(pending if one.join not in ("turn", "stop") else Subject())
                said_before = [mark for mark in one.marks if mark.value == "neither"]
            elif one.subject and not one.has("fine"):
                _give_back(out, one)
            elif one.has("fine"):  # "the neck is nice but it is buried"
                pending = Subject()
                if following is not None and (following.join == "turn" or _of_it(following)):
                    carried = one.subject or carried
            out.append(one)
            continue
        own = bool(one.subject)
        if said_before and one.join == "or":
            one.marks = [*said_before, *one.marks]
        said_before = []
        if one.join in ("turn", "stop") and own:
            pending = Subject()
        if pending and one.join == "label":
            one.subject, pending = one.subject.filled(pending, strings=True), Subject()
        elif pending:
            one.subject = one.subject.with_(pending) if one.subject_first or not own else one.subject
            pending = Subject()
        elif not own and (shared := _shared_with(one, found[place + 1 :], carried)) is not None:
            one.subject = shared.subject
        listed = one.join in ("and", "comma", "or")
        if one.join == "and" and carried.strings and not (carried.pickups or one.subject_first or one.subject.strings):
            _last_said(out).subject.pickups = list(one.subject.pickups)  # "low E is floppy and boomy on the neck"
            one.subject = one.subject.filled(carried, strings=True)
        one.subject = one.subject.filled(carried, strings=not own and listed)
        settings = one.subject.settings if one.subject_first or not own else []
        carried = Subject(pickups=one.subject.pickups, settings=settings, strings=one.subject.strings)
        out.append(one)
    if pending:
        _give_back(out, Segment(join="and", subject=pending))
    return out


def _of_it(one: Segment) -> bool:
    """Tell whether a segment speaks of "it", which was named before: "the neck was fine, now it is thin"."""
    said = next((mark.start for mark in one.marks if mark.kind in SAYS), 0)
    return not one.subject and any(mark.value.split()[0] == "it" for mark in one.marks if mark.start < said)


def _preferred(one: Segment) -> bool:
    """Tell whether a pickup is only liked better: "I prefer the bridge", "the bridge sounds better than the neck"."""
    liked = any("prefer" in mark.value or mark.value in ("better", "nicer", "best", "love") for mark in one.marks)
    return liked and bool(one.subject.pickups) and not one.says


def _switched_to(one: Segment, following: list[Segment]) -> None:
    """Let "when I switch to the neck" name the pickup that what follows is said of."""
    pickups = [mark for mark in one.objects if mark.kind == "pickup"]
    if pickups and following and following[0].says and not (one.subject.pickups and following[0].has("drop")):
        one.subject = replace(one.subject, pickups=pickups)


def _is_not(one: Segment, before: list[Segment]) -> bool:
    """Tell whether a segment only denies of its subject what was said before."""
    carries = [mark.kind for mark in one.marks if mark.kind not in ("filler", "strength", "several")]
    return bool(one.subject) and carries[-1:] == ["not"] and any(past.says for past in before)


def _last_said(before: list[Segment]) -> Segment:
    """Return the last segment that says something; there is one where strings were carried over."""
    return next(one for one in reversed(before) if one.says)


def _goes_back(one: Segment, following: Segment | None, before: list[Segment]) -> bool:
    """Tell whether a bare subject belongs to what was said before it: "thin on the neck and bridge"."""
    if not any(past.says for past in before) or one.join in ("stop", "label", "turn"):
        return False
    return (
        following is None
        or following.join in ("stop", "turn", "when")
        or (following.says and bool(following.subject) and not following.subject_first)
    )


def _give_back(out: list[Segment], one: Segment) -> None:
    said = [past for past in out if past.says]
    if said and not (one.join == "when" and one.subject.pickups and said[-1].subject.pickups):
        subject = one.subject
        if one.join == "and" and said[-1].objects and said[-1].objects[-1].end == said[-1].marks[-1].end:
            said[-1].objects += subject.pickups  # "than the neck and the middle"
            return
        if one.has("above"):  # "especially on the low E": heard there most, not there alone
            subject = Subject(pickups=subject.pickups, settings=subject.settings)
        if one.join in ("comma", "stop") and subject.pickups and not one.subject.strings:
            for past in said[:-1]:  # "less bottom and more top, neck"
                if not past.subject and past.sentence == said[-1].sentence:
                    past.subject = Subject(pickups=subject.pickups, settings=subject.settings)
        said[-1].subject = subject.with_(said[-1].subject)


def _shared_with(one: Segment, rest: list[Segment], carried: Subject) -> Segment | None:
    """Return the segment whose subject this one shares, the last of a list: "thin, weak and shrill neck"."""
    for place, following in enumerate(rest):
        if following.subject:
            return following if _shares(one, following, carried) or place else None
        listed = following.join in ("and", "or", "comma") and len(following.marks) == 1
        if carried or one.join == "turn" or not (listed and following.says):
            return None
    return None


def _shares(one: Segment, following: Segment, carried: Subject) -> bool:
    """Tell whether the subject comes only with the next segment: "muddy and weak on the neck"."""
    if following.join not in ("and", "or", "comma", "when") or not following.subject:
        return False
    if carried and not (one.join in ("comma", "stop", "turn") and following.join == "and"):
        return False
    return not following.says or not following.subject_first
