"""Settings for every test: one BLAS thread, repeatable examples, no state kept where it could go stale."""

import gc
import hashlib
import os
import subprocess
import sys
import tempfile
from pathlib import Path
from typing import Any

from tests import postgres

ROOT = Path(__file__).parents[1]


def _compiled_sources() -> str:
    """Digest of every module that names numba.

    Numba keys a stored kernel by its own file and misses a change in a kernel of another file that was
    inlined into it; a folder per digest cannot serve an old one.
    """
    digest = hashlib.sha256()
    for path in sorted((ROOT / "src" / "polepiece").rglob("*.py")):
        text = path.read_bytes()
        if b"numba" in text:
            digest.update(path.name.encode() + b"\0" + text)
    return digest.hexdigest()[:16]


os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")  # before NumPy is imported
os.environ["NUMBA_CACHE_DIR"] = str(ROOT / ".pytest_cache" / f"numba-{_compiled_sources()}")
os.environ.setdefault("MPLCONFIGDIR", str(ROOT / ".pytest_cache" / "matplotlib"))
os.environ.setdefault("MPLBACKEND", "Agg")
if "POLEPIECE_TEST_HOME" not in os.environ:  # set once by the first process, inherited by the workers
    _HOME = tempfile.TemporaryDirectory(prefix="polepiece-test-")
    os.environ["POLEPIECE_TEST_HOME"] = _HOME.name
    postgres.stopped_at_exit(Path(_HOME.name))
for _name in ("XDG_CACHE_HOME", "XDG_DATA_HOME", "XDG_CONFIG_HOME"):
    os.environ[_name] = str(Path(os.environ["POLEPIECE_TEST_HOME"]) / _name.lower())
if sys.dont_write_bytecode and sys.pycache_prefix is None:
    # Where bytecode may not lie beside its source, it lies in this run's own folder: each of the hundred processes
    # that the tests start would compile some 2000 modules again (1 to 2 s of processor time).
    os.environ.pop("PYTHONDONTWRITEBYTECODE", None)
    os.environ["PYTHONPYCACHEPREFIX"] = sys.pycache_prefix = str(Path(os.environ["POLEPIECE_TEST_HOME"]) / "bytecode")
    sys.dont_write_bytecode = False
gc.set_threshold(50_000)  # as a command has it: looking for garbage among 8000 tests took a quarter of the time

import pytest  # noqa: E402
from hypothesis import settings  # noqa: E402

settings.register_profile("repeatable", derandomize=True, deadline=None, max_examples=50, database=None)
settings.register_profile("explore", deadline=None, max_examples=500, print_blob=True)
settings.load_profile(os.environ.get("HYPOTHESIS_PROFILE", "repeatable"))
pytest_plugins = ("tests.made_notebooks", "tests.warm_benches")


_COMPILED: "list[subprocess.Popen[bytes]]" = []


def pytest_configure(config: pytest.Config) -> None:
    """Have every kernel compiled once, while the workers collect: else each of them compiles all, 13 s a worker.

    In a fresh clone the modules of all packages and tests have no bytecode either. One process makes it beside the
    kernels': workers that begin together, and import the same in the same order, would each make all of it.
    """
    if getattr(config.option, "numprocesses", None) and not hasattr(config, "workerinput"):
        _COMPILED.append(subprocess.Popen([sys.executable, "-m", "tests.compiled"], cwd=ROOT))
        if not _collected_before():
            line = [sys.executable, "-m", "pytest", "--collect-only", "-qq", *config.args]
            bare = {name: value for name, value in os.environ.items() if name != "PYTEST_ADDOPTS"}
            subprocess.run(line, cwd=config.invocation_params.dir, env=bare, stdout=subprocess.DEVNULL, check=False)


def _collected_before() -> bool:
    """Tell whether there is bytecode of tests, where this run would look for it."""
    here = Path(__file__).parent / "unit" / "bench"
    place = Path(f"{sys.pycache_prefix}{here}") if sys.pycache_prefix else here / "__pycache__"
    return any(place.glob("*pytest*.pyc"))


def pytest_unconfigure(config: pytest.Config) -> None:
    """Leave no process behind."""
    for one in _COMPILED:
        one.kill()
        one.wait()


def pytest_collection_finish(session: pytest.Session) -> None:
    """Leave what was collected out of every later search for garbage."""
    gc.collect()
    gc.freeze()


@pytest.hookimpl(optionalhook=True)  # without pytest-xdist nobody calls it
def pytest_xdist_make_scheduler(config: pytest.Config, log: Any) -> Any:
    """Give whole files to the workers, the longest first."""
    from tests.distribution import FilesLongestFirst

    return FilesLongestFirst(config, log)
