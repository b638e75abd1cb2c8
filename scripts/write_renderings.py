"""Write tests/fixtures/renderings.json: figures of a few renderings; says which moved, and by how much.

Run it when the physics or a rendering was meant to change, and say in the fragment what it printed.
"""

import json
import sys
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parent.parent))

from tests.reference.rendered_figures import KEPT, rendered_figures


def moved(old: object, new: object, where: str) -> list[str]:
    """Return a line for each figure that is not what it was."""
    if isinstance(old, dict) and isinstance(new, dict):
        return [line for key in {**old, **new} for line in moved(old.get(key), new.get(key), f"{where} {key}")]
    return [] if old == new else [f"{where.strip()}: {old} -> {new}"]


def rounded(one: object) -> object:
    """Return figures to a thousandth, a fifth of what rounding in 32 bits may move."""
    if isinstance(one, dict):
        return {key: rounded(value) for key, value in one.items()}
    return round(one, 3) if isinstance(one, float) else one


if __name__ == "__main__":
    made = rounded(dict(rendered_figures()))
    before = json.loads(KEPT.read_text(encoding="utf-8")) if KEPT.exists() else {}
    print("\n".join(moved(before, made, "")) or "nothing moved")
    KEPT.write_text(json.dumps(made, indent=1) + "\n", encoding="utf-8")
