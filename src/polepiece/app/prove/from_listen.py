"""Blind trials of the Listen page as what was heard of a change: all of one comparison, the given up among them."""

from collections.abc import Callable, Mapping
from typing import Any

from nicegui import ui

from polepiece.app.listen.kept_trials import KeptTrial, trials_in
from polepiece.app.prove.proofs import Keep, Proof, proof_of
from polepiece.app.server import shared
from polepiece.app.sheet.shelf import Asked
from polepiece.app.widgets.controls import Fault, choice, text
from polepiece.errors import InputError, PolepieceError
from polepiece.evidence import check_heard_of
from polepiece.guitar import Guitar
from polepiece.measure import BlindTrial
from polepiece.moves import parse_changes

ABOUT = (
    "A trial of the Listen page counts here as well, one of own takes among them. All that were begun of that "
    "comparison come with it, in their order: the last counts, the others are told beside it."
)
LONGEST = 400  # characters of what is not offered
OTHERS = "Trials of Listen that compared something else, or in another position, are not offered: {}."


class FromListen:
    """A choice of what was compared on Listen; nothing where nothing was.

    Parameters
    ----------
    what : Asked
    before : Guitar
        As it was before the change.
    proof : Proof
    keep : callable
        Awaited with every entry of the proof.
    on_taken : callable
        Called when the trials are among the proof's.
    """

    def __init__(self, what: Asked, before: Guitar, proof: Proof, keep: Keep, on_taken: Callable[[], object]) -> None:
        self.what, self.before, self.proof, self._keep, self._on_taken = what, before, proof, keep, on_taken

    def build(self) -> None:
        """Put it on the page."""
        self.box = ui.element("div").mark("from-listen")
        self.fault = Fault()
        self._show()

    def _show(self) -> None:
        self.box.clear()
        compared, others = self._compared()
        offered = {said: new for said, new in compared.items() if any(one.trial.over for one in new)}
        options = {"": "choose …"} | {said: f"{said}; {new[-1].words}"[:160] for said, new in offered.items()}
        with self.box:
            if offered:
                text("p", ABOUT, "small soft")
                choice("from Listen", options, "", self._take, mark="take-trial")
            if others:
                text("p", OTHERS.format("; ".join(dict.fromkeys(others)))[:LONGEST], "small soft")

    def _compared(self) -> tuple[dict[str, list[KeptTrial]], list[str]]:
        """Return the trials of this very change that are not taken yet, by what they compared, oldest first; others."""
        found: dict[str, list[KeptTrial]] = {}
        others: list[str] = []
        taken = proof_of(shared.room().notebook, self.what.key).ended
        for one in trials_in(shared.room().notebook, self.what.key.guitar_id):
            ended = one.trial.over or one.given_up
            if not isinstance(one.trial, BlindTrial) or one.of.get("pickup") != self.what.key.pickup or not ended:
                continue
            said = ", ".join(map(str, one.of.get("changes") or ()))
            if not self._of_this(one.trial, one.of):
                others.append(said)
                continue
            there = found.setdefault(said, [])
            there.append(one)
            if one.trial in taken:  # and what was given up before it
                there.clear()
        return found, others

    def _of_this(self, trial: BlindTrial, of: Mapping[str, Any]) -> bool:
        key = self.what.key
        try:
            check_heard_of(
                trial, of, self.before, key.pickup, parse_changes(key.changes), position=self.what.position or None
            )
        except PolepieceError:
            return False
        return True

    async def _take(self, compared: str) -> None:
        self.fault.clear()
        try:
            on = proof_of(shared.room().notebook, self.what.key).trial
            if on is not None and not on.over:
                raise InputError("a trial is on here; end it or give it up first.")
            for one in self._compared()[0].get(compared, ()):
                value = one.trial.to_dict() | {"phrase": str(one.of.get("phrase", "")), "position": self.what.position}
                await self._keep("trial", value, f"blind trial of Listen: {one.words}")
                if not one.trial.over:
                    await self._keep("trial", None, "it was given up before its end")
        except PolepieceError as error:
            self.fault.show(error)
            return
        self._show()
        self._on_taken()
