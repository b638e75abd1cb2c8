"""A visitor who enters an instrument on the page and comes to a plan; what is pressed, typed or chosen is counted.

The instruments are invented. Used by a test, which counts, and by ``benchmarks/door.py``, which takes the time.
"""

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any

MOST_INPUTS = 40
WAIT = 240_000  # ms until a plan is there, on a busy machine
HEARD = """
window.heard = [];
new MutationObserver(all => all.forEach(one => one.addedNodes.forEach(node => {
  if (node.matches?.('p[role=status]') || node.querySelector?.('table.plan')) window.heard.push(node.textContent);
}))).observe(document, {subtree: true, childList: true});
"""
"""What the page of a plan says one after the other; the rows last."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Told:
    """What is said of one pickup."""

    fold: str  # plain name under which its construction is looked for
    built: str
    fields: Mapping[str, str] = field(default_factory=dict)  # label: what is typed
    grade: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Instrument:
    """What somebody has in their hands."""

    name: str
    pickups: Mapping[str, Told]  # by title of the card
    complaint: tuple[str, str]  # how it sounds, where
    fields: Mapping[str, str] = field(default_factory=dict)
    circuit: str = ""


def gaps(bass: str, treble: str, resistance: str) -> dict[str, str]:
    """Return the three values that most people can measure of a pickup."""
    return {
        "DC resistance, kohm": resistance, "gap at the thickest string, mm": bass,
        "gap at string 1, the thin one, mm": treble,
    }  # fmt: skip


TWO_COILS = "humbucker, two coils beside one another"
RODS = "single coil with rod magnets"
INSTRUMENTS = {
    "two humbuckers": Instrument(
        name="The visitor's",
        pickups={
            "Neck": Told(fold=TWO_COILS, built="humbucker", grade="Alnico 2", fields=gaps("2.5", "5/64", "7.6k")),
            "Bridge": Told(fold=TWO_COILS, built="humbucker", grade="Alnico 5", fields=gaps("2.2", "1.8", "8,2k")),
        },
        fields={"strings: a set, or gauges from string 1 on": "tens", "tone cap, nF": ".022"},
        complaint=("boomy", "neck"),
    ),
    "seven strings": Instrument(
        name="Low tide",
        pickups={
            "Neck": Told(fold=TWO_COILS, built="two-screw-rows", grade="Alnico 5", fields=gaps("2.8", "2.3", "8.4")),
            "Bridge": Told(fold="blades and rails", built="twin-blade", grade="Ceramic 8",
                           fields=gaps("2.6", "2.2", "13.1k")),
        },
        fields={
            "strings: a set, or gauges from string 1 on": "10 13 17 26 36 46 59",
            "tuning": "EBGDAEB", "scale length, mm": "26.5 in",
        },
        circuit="one-volume-one-tone-three-way",
        complaint=("loose", "bridge"),
    ),
    "short bass": Instrument(
        name="Half a pier",
        pickups={
            "Neck": Told(fold="split coil, a coil for each half of the strings", built="split-rods", grade="Alnico 5",
                         fields=gaps("3.4", "3", "10.5k")),
            "Bridge": Told(fold="single coil with steel poles and bars", built="two-bar-single", grade="Alnico 5",
                           fields=gaps("3.2", "2.8", "7.5")),
        },
        fields={"strings: a set, or gauges from string 1 on": "45 65 80 100", "tone cap, nF": "47",
                "tuning": "GDAE", "scale length, mm": "30.5 in"},
        circuit="two-volumes-one-tone",
        complaint=("dull", "bridge"),
    ),
}  # fmt: skip


class Visitor:
    """Somebody with a mouse and a keyboard; everything that is pressed, typed or chosen counts as one input."""

    def __init__(self, page: Any) -> None:
        self.page, self.inputs = page, 0

    def press(self, place: Any) -> None:
        """Press a button, a link or a picture."""
        self.inputs += 1
        place.click()

    def type(self, label: str, text: str, place: Any = None) -> None:
        """Type into a line and leave it."""
        self.inputs += 1
        line = (place or self.page).get_by_label(label, exact=True)
        line.fill(text)
        line.blur()

    def choose(self, label: str, words: str, place: Any = None) -> None:
        """Choose in a select, by words or key."""
        self.inputs += 1
        (place or self.page).get_by_label(label).select_option(words)

    def enter(self, one: Instrument) -> None:
        """From the first page on: enter an instrument and put it on record."""
        page = self.page
        self.press(page.get_by_role("link", name="New guitar"))
        page.wait_for_selector("fieldset.pictures")
        self.type("name", one.name)
        for title, told in one.pickups.items():
            card = page.locator("section.card", has=page.get_by_role("heading", name=f"{title} pickup"))
            self.press(card.get_by_text(told.fold, exact=True))
            self.press(card.locator(f'input[type=radio][value="{told.built}"]'))
            self.choose("grade of the magnet", told.grade, card)
            for label, text in told.fields.items():
                self.type(label, text, card)
        for label, text in one.fields.items():
            self.type(label, text)
        if one.circuit:
            self.choose("volumes, tones, switch", one.circuit)
        page.wait_for_selector(f'p[role=status]:has-text("{one.name}: neck")')
        self.press(page.get_by_role("button", name="put it on record"))
        page.wait_for_url("**/guitar?guitar=*")

    def ask(self, one: Instrument) -> None:
        """Ask for a plan; what the page says then, one after the other, is in ``window.heard``."""
        page = self.page
        self.press(page.get_by_role("link", name="Plan", exact=True))
        page.get_by_label("how it sounds").wait_for()
        page.evaluate(HEARD)
        sounds, where = one.complaint
        self.choose("how it sounds", sounds)
        self.choose("where", where)
        self.press(page.get_by_role("button", name="add", exact=True))
        self.press(page.get_by_role("button", name="make the plan"))

    def see_rows(self) -> list[str]:
        """Wait for the rows of a plan; return what the page has said until then, the rows last."""
        self.page.wait_for_selector("table.plan tbody .whisker", timeout=WAIT)
        return [str(words) for words in self.page.evaluate("window.heard")]
