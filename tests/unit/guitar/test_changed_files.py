"""Guitar files that were changed at random, and texts made to be slow: read or refused, never anything else."""

import re

import pytest

from polepiece.errors import GuitarFileError
from polepiece.guitar import parse_guitar
from polepiece.guitar.file.size import MOST_PARTS, size_fault
from verification.guitar_file_trials import EXAMPLES, HEAVY, MOST_CALLS, Calls, trials


def test_every_changed_file_reads_or_is_refused() -> None:
    count = 4000  # those of `python -m verification.guitar_file_trials`: six seconds of processor
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


@pytest.mark.parametrize("word", ["nan", "inf", "-inf", "+nan", "1e400", "-1e400"])
def test_a_number_that_is_none_is_refused_wherever_it_stands(word: str) -> None:
    """Every number of an example, one after the other, is replaced."""
    lines = max(EXAMPLES, key=lambda one: one.stat().st_size).read_text("utf-8").splitlines()
    bare = [line.partition("#")[0].strip() for line in lines]
    keys = [place for place, line in enumerate(bare) if re.fullmatch(r"\w+\s*=\s*[-\d.]+", line)]
    assert len(keys) > 5
    for place in keys:
        text = "\n".join([*lines[:place], f"{lines[place].partition('=')[0]}= {word}", *lines[place + 1 :]])
        with pytest.raises(GuitarFileError):
            parse_guitar(text)
    with pytest.raises(GuitarFileError, match=r"gauges lie|is not a number"):
        parse_guitar("\n".join([*lines, "[[strings]]", f"gauge = {word}"]))
