"""Blind trials of the Listen page as what was heard of a change: all of one comparison, the given up among them."""

from collections.abc import Callable

from nicegui import ui

from polepiece.app.listen.kept_trials import KeptTrial, trials_in
from polepiece.app.prove.proofs import Keep, Proof, proof_of
from polepiece.app.server import shared
from polepiece.app.sheet.shelf import Asked
from polepiece.app.widgets.controls import Fault, choice, text
from polepiece.errors import InputError, PolepieceError
from polepiece.measure import BlindTrial

ABOUT = (
    "A trial of the Listen page counts here as well, one of own takes among them. All that were begun of that "
    "comparison come with it, in their order: the last counts, the others are told beside it."
)


class FromListen:
    """A choice of what was compared on Listen; nothing where nothing was.

    Parameters
    ----------
    what : Asked
    proof : Proof
    keep : callable
        Awaited with every entry of the proof.
    on_taken : callable
        Called when the trials are among the proof's.
    """

    def __init__(self, what: Asked, proof: Proof, keep: Keep, on_taken: Callable[[], object]) -> None:
        self.what, self.proof, self._keep, self._on_taken = what, proof, keep, on_taken

    def build(self) -> None:
        """Put it on the page."""
        self.box = ui.element("div").mark("from-listen")
        self.fault = Fault()
        self._show()

    def _show(self) -> None:
        self.box.clear()
        offered = {said: new for said, new in self._compared().items() if any(one.trial.over for one in new)}
        if not offered:
            return
        options = {"": "choose …"} | {said: f"{said}; {new[-1].words}"[:160] for said, new in offered.items()}
        with self.box:
            text("p", ABOUT, "small soft")
            choice("from Listen", options, "", self._take, mark="take-trial")

    def _compared(self) -> dict[str, list[KeptTrial]]:
        """Return the trials of this pickup that are not taken yet, by what they compared, oldest first."""
        found: dict[str, list[KeptTrial]] = {}
        taken = proof_of(shared.room().notebook, self.what.key).ended
        for one in trials_in(shared.room().notebook, self.what.key.guitar_id):
            ended = one.trial.over or one.given_up
            if not isinstance(one.trial, BlindTrial) or one.of.get("pickup") != self.what.key.pickup or not ended:
                continue
            there = found.setdefault(", ".join(map(str, one.of.get("changes") or ())), [])
            there.append(one)
            if one.trial in taken:  # and what was given up before it
                there.clear()
        return found

    async def _take(self, compared: str) -> None:
        self.fault.clear()
        try:
            on = proof_of(shared.room().notebook, self.what.key).trial
            if on is not None and not on.over:
                raise InputError("a trial is on here; end it or give it up first.")
            for one in self._compared().get(compared, ()):
                value = one.trial.to_dict() | {"phrase": str(one.of.get("phrase", ""))}
                await self._keep("trial", value, f"blind trial of Listen: {one.words}")
                if not one.trial.over:
                    await self._keep("trial", None, "it was given up before its end")
        except PolepieceError as error:
            self.fault.show(error)
            return
        self._show()
        self._on_taken()
