"""Write src/polepiece/planning/spoken/common_words.py from a list of English words; `--check` only compares.

    pip install pyspellchecker==0.9.1
    python scripts/write_common_words.py

The list, words with their counts, comes with the package (MIT), which is no part of the tool or of its tests. When
words of the tables come or go, this is run again.
"""

import gzip
import json
import sys
import textwrap
import zlib
from importlib.util import find_spec
from pathlib import Path

from polepiece.planning.spoken.grammar_words import COMMON
from polepiece.planning.spoken.vocabulary import one_off, vocabulary

PAGE = Path(__file__).parents[1] / "src" / "polepiece" / "planning" / "spoken" / "common_words.py"
FREQUENT = 8000  # words of the list that are looked at, the most frequent first
SLIPS = frozenset({"hash", "teh", "thru"})  # of "harsh", "the", "through": in the list, and slips here
LEFT_OUT = frozenset(  # CRC-32 of words that nobody should have to read in a source
    {0x10181690, 0x2D700FDE, 0x439BDE35, 0x57EBB175, 0x5AF64758, 0xC00E8627, 0xDFEC8B58}
)

HEAD = '''\
"""Common English words that lie one letter from a word of the tables, and are no slips of it: "sock" is not "shock".

Written by `scripts/write_common_words.py` from the FREQUENT most frequent words of the English list of pyspellchecker
0.9.1 (MIT): those that a slip of one letter parts from a word that is known here.
"""

from polepiece.planning.complaint_word import listed

ENGLISH = frozenset(
    listed(
        """
'''
FOOT = '''
        """
    )
)
'''


def frequent_words() -> list[str]:
    """Return the most frequent words of the list, as it spells them."""
    spec = find_spec("spellchecker")
    if spec is None or spec.origin is None:
        raise SystemExit("The list of words is not there: pip install pyspellchecker==0.9.1")
    with gzip.open(Path(spec.origin).parent / "resources" / "en.json.gz", "rt", encoding="utf-8") as file:
        counts: dict[str, int] = json.load(file)
    return sorted(counts, key=lambda word: (-counts[word], word))[:FREQUENT]


def common_words(frequent: list[str]) -> list[str]:
    """Return those of the words that are one letter from a known one and are none themselves, by the alphabet."""
    by_length: dict[int, list[str]] = {}
    for one in vocabulary().words:
        by_length.setdefault(len(one), []).append(one)

    def near(word: str) -> bool:
        close = (one for size in range(len(word) - 1, len(word) + 2) for one in by_length.get(size, ()))
        return any(one_off(word, one) for one in close)

    unknown = set(frequent) - vocabulary().words - COMMON - SLIPS
    plain = (one for one in unknown if len(one) > 2 and one.isalpha() and zlib.crc32(one.encode()) not in LEFT_OUT)
    return sorted(filter(near, plain))


def source(words: list[str]) -> str:
    """The whole file."""
    lines = textwrap.wrap(", ".join(words), 112, initial_indent=" " * 8, subsequent_indent=" " * 8)
    return HEAD.replace("FREQUENT", f"{FREQUENT:,}") + "\n".join(lines) + FOOT


if __name__ == "__main__":
    text = source(common_words(frequent_words()))
    if "--check" in sys.argv[1:]:
        sys.exit(0 if PAGE.read_text(encoding="utf-8") == text else f"{PAGE}: run scripts/write_common_words.py")
    PAGE.write_text(text, encoding="utf-8")
