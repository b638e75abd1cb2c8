"""Photos of a guitar, or of a job of it: given, looked at, put away; served under their hash."""

from functools import partial

from nicegui import app, events, run, ui
from starlette.responses import Response

from polepiece.app.server import shared
from polepiece.app.server.uploads import taken
from polepiece.app.widgets.controls import Fault, amount, file_taker, press, text
from polepiece.errors import NotebookError, PolepieceError
from polepiece.notebook import (
    LARGEST_PHOTO,
    JobEntry,
    PhotoEntry,
    keep_photo,
    photo_bytes,
    photo_called,
    photos,
    put_photo_away,
)

ADVICE = "Save it smaller, as JPEG."
PLACE = "/photo/"
MEDIA = {"jpg": "image/jpeg", "png": "image/png", "webp": "image/webp"}
KEPT = {"Cache-Control": "private, max-age=86400, immutable"}
SHOWN = 24  # the newest; a page of hundreds would take a bench's network down
PUT_AWAY = "A photo that is put away is seen no more; file and line stay, so that the check stays whole."


class PhotosBox:
    """The photos of a guitar; with ``job`` those of one job, and what is given belongs to it.

    Parameters
    ----------
    guitar_id : int
    job : JobEntry, optional
    """

    def __init__(self, guitar_id: int, job: JobEntry | None = None) -> None:
        self.guitar_id, self.job = guitar_id, job
        with ui.element("div").classes("row"):
            self.label = amount("what the photo shows", "", lambda _: None, mark="photo-label").classes("long")
            self.taker = file_taker(
                "give a photo …", self._take, lambda: self.fault.show(f"Up to 32 MiB are taken. {ADVICE}"),
                accept="image/jpeg,image/png,image/webp", most=LARGEST_PHOTO, mark="photo-file",
            )  # fmt: skip
        self.fault = Fault()
        self.said = text("p", "", "small").props("role=status")
        self.list = ui.element("div").classes("photos").mark("photos")
        text("p", PUT_AWAY, "soft small")
        self.show()

    def show(self) -> None:
        """Show those in sight, the newest first."""
        found = [one for one in photos(shared.room().notebook, self.guitar_id)
                 if self.job is None or one.job == self.job.uuid]  # fmt: skip
        self.list.clear()
        with self.list:
            if not found:
                text("p", "No photo yet.", "soft small")
            for one in reversed(found[-SHOWN:]):
                self._one(one)
            if len(found) > SHOWN:
                text("p", f"and {len(found) - SHOWN} earlier ones: polepiece log lists them.", "soft small")

    def _one(self, one: PhotoEntry) -> None:
        with ui.element("figure").classes("photo").mark(f"photo-{one.id}"):
            if one.file.is_file():
                address = f"{PLACE}{one.file.name}"
                with ui.element("a").props("target=_blank rel=noopener") as whole:
                    whole.props["href"] = address
                    picture = ui.element("img").props("loading=lazy")
                    picture.props["src"], picture.props["alt"] = address, one.label
            else:
                text("p", "Its file is not here: it lies at the bench that gave it, or is gone.", "warn small")
            with ui.element("figcaption"):
                text("span", f"{one.label} ")
                text("span", f"({one.at:%Y-%m-%d %H:%M} UTC) ", "soft small")
                button = press("put away", partial(self._put_away, one), cls="quiet", mark=f"put-away-{one.id}")
                button.props["aria-label"] = f"put away: {one.label}"

    async def _take(self, event: events.UploadEventArguments) -> None:
        self.fault.clear()
        book, words = shared.room().notebook, self.label.value.strip() or event.file.name
        job_id = None if self.job is None else self.job.id
        try:
            data = await taken(event, LARGEST_PHOTO, ADVICE)
            kept = await shared.written(
                lambda: keep_photo(book, data, label=words, guitar_id=self.guitar_id, job_id=job_id)
            )
        except PolepieceError as error:
            self.fault.show(error)
            return
        finally:
            self.taker.reset()
        self.said.say(f"Kept: {kept.label}.")
        self.label.show("")
        self.show()

    async def _put_away(self, one: PhotoEntry) -> None:
        self.fault.clear()
        book = shared.room().notebook
        try:
            await shared.written(lambda: put_photo_away(book, one.id))
        except PolepieceError as error:
            self.fault.show(error)
            return
        self.said.say(f"Put away: {one.label}.")
        self.show()


def build() -> None:
    """Register the address under which photos are fetched: of those that are in sight only, held against their hash."""

    @app.get(PLACE + "{name}")
    async def photo(name: str) -> Response:
        found = photo_called(shared.room().notebook, name)
        if found is None:
            return Response("There is no such photo in sight.", status_code=404, media_type="text/plain")
        try:
            data = await run.io_bound(photo_bytes, found)
        except NotebookError as error:
            return Response(str(error), status_code=404, media_type="text/plain")
        return Response(data or b"", media_type=MEDIA[found.file.suffix[1:]], headers=KEPT)
