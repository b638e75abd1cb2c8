"""What is played, by the name of a phrase that comes with the tool or by a file of one's own."""

from collections.abc import Sequence
from pathlib import Path

from polepiece.errors import InputError
from polepiece.sound.midi import LARGEST, STANDARD, midi_phrase
from polepiece.sound.phrase import Phrase
from polepiece.sound.repertoire import phrase
from polepiece.sound.tablature import tablature

TEXT, MIDI = (".tab", ".txt"), (".mid", ".midi")


def phrase_called(named: str, *, open_notes: Sequence[int] = STANDARD) -> Phrase:
    """Return a phrase by name, or of a file: tablature (.tab, .txt) or MIDI (.mid, .midi).

    Parameters
    ----------
    named : str
    open_notes : sequence of int
        MIDI numbers of the open strings, for MIDI files.

    Raises
    ------
    InputError
        When there is no such phrase or file, or it cannot be read.
    """
    path = Path(named)
    ending = path.suffix.lower()
    if ending not in (*TEXT, *MIDI):
        return phrase(named)
    try:
        if path.stat().st_size > LARGEST:
            raise InputError(f"{named} has {path.stat().st_size} bytes; at most {LARGEST} are read.")
        data = path.read_bytes()
    except OSError as error:
        raise InputError(f"{named}: the file cannot be read ({error.strerror}).") from None
    if ending in MIDI:
        return midi_phrase(data, path.name, open_notes=open_notes)
    try:
        return tablature(data.decode("utf-8-sig"), path.name)
    except UnicodeDecodeError:
        raise InputError(f"{named} is no text in UTF-8. Is it another kind of file?") from None
