"""What was learned, without a browser: empty, and with a few drawn ledgers."""

import random
from collections.abc import Awaitable, Callable

from nicegui.testing import User

from polepiece.app.server import shared
from polepiece.notebook import counted_lines, grade_means
from tests.app.conftest import at_rest
from tests.unit.notebook.ledgers import drawn_ledger, with_bar

Open = Callable[[str], Awaitable[User]]


async def test_nothing_proven_yet_is_said(page_of: Open) -> None:
    user = await page_of("/learned")
    await at_rest()
    await user.should_see("No ledger has a computed and a measured value yet")
    await user.should_see("None: every bar that was put in has a ledger")


async def test_ledgers_are_counted_and_a_grade_is_shown_side_by_side(page_of: Open) -> None:
    await page_of("/learned")
    book, draw = shared.room().notebook, random.Random(3)
    entry = book.guitars()[0]
    for k, grade in enumerate(["alnico-3", "alnico-5", "alnico-3"]):
        now = book.guitar(entry.id)
        state = book.record(entry.id, with_bar(now, "neck", grade), why="<b>swap</b>")
        if k < 2:
            book.keep_ledger(entry.id, drawn_ledger(draw, "neck", (f"magnet={grade}",)).to_dict(), state_id=state.id)
    user = await page_of("/learned")
    await at_rest()
    counts = counted_lines(book, (1.0,))
    await user.should_see(f"of {sum(one.total for one in counts)} in their 90 % intervals")
    await user.should_see("1 in all")
    await user.should_see("(<b>swap</b>)")
    await user.should_see(marker="choose-grade")
    user.find(marker="choose-grade").trigger("choose", "alnico-5|neck")
    await at_rest()
    for mean in grade_means(book, "alnico-5", "neck"):
        await user.should_see(mean.words)
