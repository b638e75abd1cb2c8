"""The notebook: guitars, the parts drawer, jobs, predictions and sounds in one file that is only ever added to."""

from polepiece.notebook.connection import notebook_path
from polepiece.notebook.records import (
    NOTE_SORTS,
    PART_KINDS,
    Clock,
    GuitarEntry,
    JobEntry,
    LogLine,
    NoteEntry,
    Part,
    PartEntry,
    PredictionEntry,
    SoundEntry,
    StateEntry,
    price_of,
)
from polepiece.notebook.store import Notebook, open_notebook
from polepiece.notebook.words import part_words

__all__ = [
    "NOTE_SORTS",
    "PART_KINDS",
    "Clock",
    "GuitarEntry",
    "JobEntry",
    "LogLine",
    "NoteEntry",
    "Notebook",
    "Part",
    "PartEntry",
    "PredictionEntry",
    "SoundEntry",
    "StateEntry",
    "notebook_path",
    "open_notebook",
    "part_words",
    "price_of",
]
