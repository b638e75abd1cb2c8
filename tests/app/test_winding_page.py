"""The page for winders without a browser: a coil, a target, a batch; what is typed wrongly is said at the card."""

from collections.abc import Awaitable, Callable

import numpy as np
import pytest
from nicegui.testing import User

from polepiece.app.winding.batch_card import judged
from polepiece.errors import InputError
from polepiece.winding import MOST_LISTED
from tests.app.conftest import at_rest

Open = Callable[[str], Awaitable[User]]
SOLVED = 3000  # looks of 0.1 s: a process starts, compiles and solves; seconds, minutes on a machine out of breath


async def typed(user: User, mark: str, value: str, event: str = "enter") -> None:
    user.find(marker=mark).trigger(event, value)
    await at_rest()


async def test_a_coil_is_worked_out_and_what_contradicts_is_said(page_of: Open) -> None:
    user = await page_of("/winding?guitar=1&pickup=neck")
    await user.should_see("2 coils, each with a window of 4.4 x 6.5 mm")
    await typed(user, "winding-resistance", "8.0k")
    user.find(marker="winding-coil").click()
    await user.should_see("two things at least must be known")
    await typed(user, "winding-gauge", "43", "choose")
    user.find(marker="winding-coil").click()
    await user.should_see("8 kohm, AWG 43 on this bobbin: 3,890 turns a coil", retries=SOLVED)
    await user.should_see("resonance in the guitar")
    await user.should_see("guitar file with this winding")
    await typed(user, "winding-turns", "7 780")  # of both coils
    user.find(marker="winding-coil").click()
    await user.should_see("those of both coils", retries=SOLVED)


async def test_a_target_is_searched(page_of: Open) -> None:
    user = await page_of("/winding?guitar=1&pickup=neck")
    await typed(user, "target-resonance", "3.2")
    user.find(marker="target-search").click()
    await user.should_see("3200 Hz is 3.2 kHz")
    await typed(user, "target-resonance", "3.2k")
    user.find(marker="target-search").click()
    await user.should_see("Nearest:", retries=SOLVED)
    await user.should_see("download it")


async def test_guitar_and_drawer_lead_to_it(page_of: Open) -> None:
    for page in ("/guitar", "/drawer"):
        user = await page_of(f"{page}?guitar=1&pickup=neck")
        (there,) = user.find(marker="to-winding").elements
        assert str(there.props["href"]).startswith("/winding?guitar=1")


def table(count: int) -> bytes:
    rows = ["name,R [kohm],L [H]"]
    for k, (r, h) in enumerate(np.exp(np.random.default_rng(4).normal(0.0, 0.01, (count, 2)))):
        rows.append(f"c{k},{7.9 * r * (1.29 if k % 10 == 0 else 1.0):.3f},{4.4 * h:.3f}")
    return "\n".join(rows).encode()


@pytest.mark.parametrize("count", [30, 3000])
def test_a_batch_of_any_size_is_as_much_on_the_page(count: int) -> None:
    found = judged(table(count), "coils.csv", 42, {})
    assert found["told"].startswith(f"{count} coils")
    assert len(found["out"]) == min(count // 10, MOST_LISTED) or len(found["out"]) == MOST_LISTED
    assert "<style" not in found["drawing"] and found["drawing"].count("<path") == 1
    assert all("AWG 43" in row[-1] for row in found["out"][:3])


def test_a_table_of_no_coils_is_refused() -> None:
    with pytest.raises(InputError, match="no column of direct resistance"):
        judged(b"name,x\na,1\nb,2\n", "coils.csv", 42, {})
