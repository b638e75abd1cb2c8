"""What a shop sees on the pages: day and sum of a job on the Bench, how many of a part are in the Drawer."""

from collections.abc import Awaitable, Callable
from datetime import date
from decimal import Decimal

from nicegui.testing import User

from polepiece.app.server import shared
from polepiece.app.sheet.ordered import ordered_words
from polepiece.notebook import Part, Rate
from tests.app.test_drawer_page import press, typed

Open = Callable[[str], Awaitable[User]]


async def test_a_job_says_what_was_promised_and_quoted(page_of: Open) -> None:
    book = shared.room().notebook
    job = book.open_job(1, "neck: muddy")
    user = await page_of("/")
    await user.should_see("Taken in")
    await user.should_not_see("Promised", retries=3)
    book.promise(job.id, date(2026, 3, 9))
    book.set_rate(Rate(per_hour=Decimal(60), currency="EUR"))
    found = book.quote(job.id, minutes=45)
    user = await page_of("/")
    await user.should_see("Promised for 2026-03-09")
    await user.should_see("Quoted: 45.00 EUR.")
    assert "which is over" not in ordered_words(found, date(2026, 3, 9))
    assert "which is over" in ordered_words(found, date(2026, 3, 10))


async def test_one_of_a_part_is_used_and_never_the_last_but_one(page_of: Open) -> None:
    book = shared.room().notebook
    part = book.add_part(Part(kind="pot", label="volume"))
    book.count_part(part.id, 2, "counted")
    user = await page_of("/drawer")
    await user.should_see("(2 there)")
    await press(user, "use-one")
    await user.should_see("Choose the part of which one is used.")
    for left in (1, 0):
        await typed(user, "retire-part", str(part.id), "choose")
        await typed(user, "retire-why", "job 117")
        await press(user, "use-one")
        assert book.parts()[0].count == left
    await user.should_see("(0 there)")
    await typed(user, "retire-part", str(part.id), "choose")
    await typed(user, "retire-why", "job 118")
    await press(user, "use-one")
    await user.should_see("none is left to take")
