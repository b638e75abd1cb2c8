"""Write the answer about the demo guitar into README.md, as `polepiece plan` prints it.

Run it from the repository after a change of the physics or of the words: ``python scripts/write_readme_answer.py``. It
takes as long as a plan. `tests/cli/test_demo.py` fails where the README shows other figures.
"""

from pathlib import Path

from polepiece.bench import Bench
from polepiece.cli.answer_lines import answer_lines
from polepiece.cli.envelope import assumed_of
from polepiece.guitar import read_guitar
from polepiece.planning import make_plan

ROOT = Path(__file__).parents[1]
README = ROOT / "README.md"
BEGIN, END = "<!-- answer, written by scripts/write_readme_answer.py -->\n```text\n", "\n```\n<!-- end of answer -->"


def main() -> None:
    """Plan, and write."""
    guitar = read_guitar(ROOT / "examples" / "demo.guitar.toml")
    found = make_plan(guitar, Bench(seed=0, exact_screws=False))
    pickups = [guitar.pickup(one.pickup or guitar.pickups[0].name) for one in found.complaints]
    lines = answer_lines(found, assumed=len(assumed_of(guitar, pickups)))
    head, begin, rest = README.read_text(encoding="utf-8").partition(BEGIN)
    _, end, tail = rest.partition(END)
    if not begin or not end:
        raise SystemExit(f"{README} has no place for an answer: {BEGIN!r} ... {END!r}")
    README.write_text(f"{head}{BEGIN}{chr(10).join(lines)}{END}{tail}", encoding="utf-8")


if __name__ == "__main__":
    main()
