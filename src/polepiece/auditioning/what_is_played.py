"""What is played on a guitar: a phrase by name, or a file of one's own laid on its strings."""

import math

from polepiece.guitar import Guitar
from polepiece.pickup import open_strings
from polepiece.sound import Phrase, phrase_called


def phrase_for(guitar: Guitar, named: str) -> Phrase:
    """Return a phrase by name, or of a file: tablature (.tab, .txt) or MIDI (.mid), for the strings of this guitar.

    Raises
    ------
    InputError
        When there is no such phrase or file, it cannot be read, or a string of the guitar has no pitch.
    """
    pitches, _ = open_strings(guitar)
    return phrase_called(named, open_notes=[round(69.0 + 12.0 * math.log2(one / 440.0)) for one in pitches])
