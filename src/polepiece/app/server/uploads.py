"""Files that a person gives to a page: read off the event loop, kept in the notebook under their hash."""

from nicegui import events, run

from polepiece.app.server import shared
from polepiece.errors import InputError
from polepiece.notebook import SoundKind
from polepiece.sound import Recording, decode, to_bytes


async def taken(event: events.UploadEventArguments, most: int, advice: str) -> bytes:
    """Return the bytes of a file that was given.

    Raises
    ------
    InputError
        When it has more than ``most`` bytes; ``advice`` says what to do.
    """
    size = event.file.size()
    if size > most:
        raise InputError(f"{event.file.name} has {size / 2**20:.0f} MiB; at most {most >> 20} MiB are taken. {advice}")
    return await event.file.read()


async def taken_sound(event: events.UploadEventArguments, most: int, advice: str) -> tuple[bytes, Recording | None]:
    """Return the bytes of a file that was given and what they hold; None when the server is going down.

    Raises
    ------
    PolepieceError
        When it is too large or no sound.
    """
    data = await taken(event, most, advice)
    return data, await run.io_bound(decode, data, event.file.name)


async def kept_sound(data: bytes, found: Recording, label: str, state_id: int) -> str:
    """Keep a person's file in the notebook; return its hash. WAV and FLAC as they came, AIFF as a WAV of its samples.

    Parameters
    ----------
    data, found : the file, and what was read of it.
    label : what a person calls it.
    state_id : of the guitar that it was brought for.
    """
    flac = data[:4] == b"fLaC"
    if not flac and data[:4] != b"RIFF":
        pcm = found.subtype if found.subtype in ("PCM_16", "PCM_24") else "FLOAT"
        data = to_bytes(found.samples, found.sample_rate, container="WAV", subtype=pcm)  # type: ignore[arg-type]
    kind: SoundKind = "flac" if flac else "wav"
    book = shared.room().notebook
    return await shared.written(lambda: book.keep_sound(data, label=label, kind=kind, state_id=state_id))
