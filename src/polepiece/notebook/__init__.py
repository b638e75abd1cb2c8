"""The notebook: guitars, the parts drawer, jobs, predictions and sounds in one file that is only ever added to."""

from polepiece.notebook.archive import (
    Merged,
    export_guitar,
    export_notebook,
    import_archive,
    import_guitar,
    merge_archive,
)
from polepiece.notebook.backups import KEPT_BEFORE, KEPT_DAILY, backups_of
from polepiece.notebook.benches import TOKEN, pass_of, written_for
from polepiece.notebook.checking import Checked, check_notebook
from polepiece.notebook.column_names import keep_columns, kept_columns
from polepiece.notebook.copies import backup_to, restore
from polepiece.notebook.end_note import forget_end
from polepiece.notebook.evidence import LEDGER
from polepiece.notebook.fits import PartFit, owned_bars, part_fit
from polepiece.notebook.learned import (
    PAGE,
    Counted,
    Mean,
    Paged,
    Swap,
    Told,
    counted_lines,
    grade_lines,
    grade_means,
    grades_proven,
    unproven_swaps,
)
from polepiece.notebook.money import Rate
from polepiece.notebook.photos import (
    LARGEST_PHOTO,
    PhotoEntry,
    keep_photo,
    photo_bytes,
    photo_called,
    photo_fault,
    photo_of,
    photos,
    photos_folder,
    put_photo_away,
)
from polepiece.notebook.places import Place, Server, beside, may_be_there, notebook_path
from polepiece.notebook.reading import read_notebook
from polepiece.notebook.records import (
    NOTE_SORTS,
    PART_KINDS,
    BenchEntry,
    Clock,
    CustomerEntry,
    GuitarEntry,
    JobEntry,
    LogLine,
    NoteEntry,
    Part,
    PartEntry,
    PredictionEntry,
    SoundEntry,
    SoundKind,
    StateEntry,
    price_of,
)
from polepiece.notebook.rescue import Rescued, rescue
from polepiece.notebook.store import Notebook, open_notebook
from polepiece.notebook.waiting import watched
from polepiece.notebook.words import part_words
