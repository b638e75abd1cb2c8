"""Linear algebra runs on one thread in every process, however it is started."""

import os
import subprocess
import sys

import pytest
from threadpoolctl import threadpool_info

from polepiece import later, threads

VARIABLES = ("OPENBLAS_NUM_THREADS", "OMP_NUM_THREADS", "MKL_NUM_THREADS")
SHOWN = (
    "import threadpoolctl\n"
    "print([i['num_threads'] for i in threadpoolctl.threadpool_info() if i['user_api'] == 'blas'])"
)


def of_this_process() -> list[int]:
    """Numbers of threads, with scipy's library, which is loaded when something of it is asked for."""
    assert callable(later.linalg.solve)
    return [one["num_threads"] for one in threadpool_info() if one["user_api"] == "blas"]


def said(program: str) -> str:
    """What a Python of its own prints, in an environment that says nothing of threads."""
    bare = {name: value for name, value in os.environ.items() if name not in VARIABLES}
    found = subprocess.run([sys.executable, "-c", program], env=bare, capture_output=True, text=True, check=True)
    return found.stdout.strip()


@pytest.mark.skipif((os.cpu_count() or 1) < 2, reason="one core: one thread whatever is asked")
def test_the_libraries_would_take_more_threads() -> None:
    """Without this package they do: the tests below can fail."""
    assert said(f"import numpy, scipy.linalg\n{SHOWN}") != "[1, 1]"


def test_python_that_has_the_libraries_already() -> None:
    assert said(f"import numpy, scipy.linalg, polepiece\npolepiece.read_guitar\n{SHOWN}") == "[1, 1]"


def test_the_second_process() -> None:
    program = (
        "from polepiece.cli.second import second_process\nfrom tests.unit.test_threads import of_this_process\n"
        "if __name__ == '__main__':\n"
        "    with second_process() as second:\n"
        "        print(second.submit(of_this_process).result() if second else [1, 1])"
    )
    assert said(program) == "[1, 1]"


def test_a_library_that_is_loaded_later_is_set_as_it_comes() -> None:
    program = "from polepiece import arrays\nfrom polepiece.later import linalg\nlinalg.solve\n"
    assert said(f"import polepiece.arrays\n{SHOWN}") == "[1]"
    assert said(program + SHOWN) == "[1, 1]"


def test_a_number_that_somebody_raised_is_one_again_when_dense_work_begins() -> None:
    threads._controller(True).limit(limits=2, user_api="blas")
    with threads.one_thread():
        assert set(of_this_process()) == {1}
    assert set(of_this_process()) == {1}
