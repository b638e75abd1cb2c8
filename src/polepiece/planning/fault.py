"""One fault of the gate as a record, and the pieces of which its patterns are made."""

from dataclasses import dataclass

ANYBODY, BENCH = "anybody", "a bench with an ohmmeter"
ELECTRICIAN = "an electrician, before the guitar is played again"
SOLDERER = "a bench with a soldering iron"
FEW = r"(?:\w+ ){0,4}?"  # a few words between
HUM = r"(?:hum|hums|humming|hummy|buzz|buzzes|buzzing|bzz|noise|noises|noisy)"
KNOB = r"(?:pot|pots|knob|knobs|control|controls)"
ROLLED = r"(?:roll|rolls|rolled|rolling|turn|turns|turned|turning|back|backed|backing|bring|brought)"


@dataclass(frozen=True, slots=True, kw_only=True)
class Fault:
    """One fault: how it is said, what to check, by whom, and what mends it."""

    key: str  # short
    name: str
    said: tuple[str, ...]  # patterns
    check: str
    cure: str
    by: str = BENCH
    caution: str = ""
    words: tuple[str, ...] = ()  # name and other forms under which it is offered; the first is the name of its word
    means: str = ""
    first_words: str = "find it; never a magnet"
