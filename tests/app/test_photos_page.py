"""Photos on the page: given, kept under their hash, served as nothing but pictures, put away."""

import httpx
from nicegui import core
from nicegui.elements.upload_files import SmallFileUpload
from nicegui.testing import User

from polepiece.app.server import shared
from polepiece.notebook import check_notebook, photos
from tests.app.conftest import at_rest
from tests.app.test_guitar_page import Opener, until

PNG = b"\x89PNG\r\n\x1a\n" + b"<script>document.title=1</script>"
CAPTION = '<script>document.title=1</script> "><img src=x onerror=alert(1)> bar, גיטרה'


async def given(user: User, data: bytes, name: str) -> None:
    (taker,) = user.find(marker="photo-file").elements
    await taker.handle_uploads([SmallFileUpload(name, "image/png", data)])  # type: ignore[attr-defined]


async def test_a_photo_is_given_seen_and_put_away(page_of: Opener) -> None:
    user = await page_of("/guitar")
    book = shared.room().notebook
    user.find(marker="photo-label").trigger("enter", CAPTION)
    await given(user, PNG, "bar.png")
    await until(lambda: len(photos(book)) == 1)
    (one,) = photos(book, 1)
    assert one.label == CAPTION
    await user.should_see(marker=f"photo-{one.id}")
    async with httpx.AsyncClient(transport=httpx.ASGITransport(core.app), base_url="http://test") as client:
        found = await client.get(f"/photo/{one.file.name}")
        assert (found.status_code, found.content) == (200, PNG)
        assert found.headers["content-type"] == "image/png"  # whatever its bytes say
        assert found.headers["x-content-type-options"] == "nosniff"
        assert "script-src 'self'" in found.headers["content-security-policy"]
        for wrong in ("../notebook.sqlite", "x" * 64 + ".png", one.sha256 + ".jpg", "%2e%2e%2fnotebook.sqlite"):
            assert (await client.get(f"/photo/{wrong}")).status_code == 404
        user.find(marker=f"put-away-{one.id}").click()
        await until(lambda: not photos(book))
        assert (await client.get(f"/photo/{one.file.name}")).status_code == 404
    await at_rest()
    assert check_notebook(book.path).faults == ()
    assert one.file.is_file()


async def test_what_is_no_photo_is_said(page_of: Opener) -> None:
    user = await page_of("/guitar")
    await given(user, b"<svg onload=alert(1)>", "bar.svg")
    await user.should_see("no JPEG, PNG or WebP")
    assert photos(shared.room().notebook) == []
