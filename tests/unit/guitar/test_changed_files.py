"""Guitar files that were changed at random, and texts made to be slow: read or refused, never anything else.

The 4,000 of `python -m verification.guitar_file_trials` are too long for every day; these are the first of them.
"""

import pytest

from polepiece.errors import GuitarFileError
from polepiece.guitar import parse_guitar
from polepiece.guitar.file.size import MOST_PARTS, size_fault
from verification.guitar_file_trials import CHANGES, HEAVY, MOST_CALLS, Calls, trials


def test_every_changed_file_reads_or_is_refused() -> None:
    count = 20 * len(CHANGES)
    found, bad = trials(count)
    assert bad == []
    assert sum(found.values()) == count
    ends = {end for _, end in found}
    assert ends == {"read", "refused"}  # changes that a file survives, and changes that it does not


@pytest.mark.parametrize("name", list(HEAVY))
def test_no_text_takes_more_work_than_a_large_guitar(name: str) -> None:
    assert Calls().of(lambda: parse_guitar(HEAVY[name])) < MOST_CALLS


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("a" + ".a" * MOST_PARTS + " = 1", "line 1 joins more than 16 names"),
        ("[a" + ".a" * MOST_PARTS + "]", "line 1 joins more than 16 names"),
        ("x = 1\na = { a" + ".a" * MOST_PARTS + " = 1 }", "line 2 joins more than 16 names"),
        ("a" + ". \t'b'" * MOST_PARTS + " = 1", "joins more than 16 names"),
        ("a = " + "[" * 17, "line 1 has more than 16 lists or tables"),
        ('a = """\n\n"""\nb = ' + "{c=" * 17, "line 4 has more than 16 lists or tables"),
        ("a = '" + "b" * 20_000 + "'", "line 1 has 20006 characters; at most 20000"),
        ("a = " + "9" * 3001, "line 1: a number is too long, or a name: 3001 characters"),
        ("x = 1\n" + "a" * 3001, "line 2: a number is too long, or a name: 3001 characters"),
        ("a = 1\n" * 10_001, "more than 10000 keys and values"),
        ("a" * 2**20 + "b", "larger than 1 MiB"),
    ],
)
def test_what_is_too_large_is_said(text: str, words: str) -> None:
    with pytest.raises(GuitarFileError, match="guitar file: ") as found:
        parse_guitar(text)
    assert words in str(found.value)


@pytest.mark.parametrize(
    "text",
    [
        "a = '" + "." * 1000 + "[" * 100 + "'",
        'a = "' + '\\"' * 100 + "." * 100 + '"',
        'a = """' + "\n.[{=," * 100 + '"""',
        "a = '''" + "\n.[{=," * 100 + "'''",
        "# " + "." * 1000 + "[" * 100,
        "a.b.c.d = 1.5\n" * 200,
        "a = [1.5, 2.5, 3.5]",
    ],
)
def test_what_stands_in_texts_and_comments_is_not_counted(text: str) -> None:
    assert size_fault(text) is None


def test_of_many_faults_the_first_are_listed() -> None:
    with pytest.raises(GuitarFileError) as found:
        parse_guitar("".join(f"k{k} = 1\n" for k in range(1000)))
    assert len(found.value.faults) == 201
    assert found.value.faults[-1] == "and 801 more faults; mend these first."
