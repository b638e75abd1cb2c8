"""Try what was built: wheel and sdist, each in an environment of its own that has nothing else.

    python scripts/try_install.py dist [--python python3.13] [--quick]

Said and held: what they weigh and do not carry, how large an installation is, that the tool runs from it alone (the
wheel: the whole demo). Exit code 1 when one of it does not hold.
"""

import argparse
import os
import subprocess
import sys
import tarfile
import tempfile
import venv
import zipfile
from pathlib import Path

MOST_MB = 450  # of an installation without extras; bytecode, which pip writes beside it and uv does not, is told apart
MOST_FILE_MB = 3  # of wheel and sdist each
NOT_IN = ("screenshots", "tests/", "verification/", "benchmarks/", ".png")
EXTRAS = "[app,pdf]"  # what `make demo` has, but for two lines of one table


def names(built: Path) -> list[str]:
    """Return the files that are in a wheel or an sdist."""
    if built.suffix == ".whl":
        with zipfile.ZipFile(built) as wheel:
            return wheel.namelist()
    with tarfile.open(built) as sdist:
        return sdist.getnames()


def size_mb(folder: Path, *, bytecode: bool = False) -> float:
    """Return what lies in a folder, 10^6 bytes, its bytecode alone or all else."""
    files = (path for path in folder.rglob("*") if path.is_file() and not path.is_symlink())
    return sum(path.stat().st_size for path in files if (path.suffix == ".pyc") == bytecode) / 1e6


def fresh(place: Path, python: str) -> Path:
    """Make an environment; return its folder of programs."""
    if python == sys.executable:
        venv.create(place, with_pip=True)
    else:
        subprocess.run([python, "-m", "venv", str(place)], check=True)
    return place / ("Scripts" if os.name == "nt" else "bin")


def tried(built: Path, folder: Path, python: str, *, demo: bool) -> list[str]:
    """Install what was built and run it; return what does not hold."""
    wrong = [f"{built.name} carries {name}" for name in names(built) if any(one in name for one in NOT_IN)]
    if built.stat().st_size > MOST_FILE_MB * 1e6:
        wrong.append(f"{built.name} weighs {built.stat().st_size / 1e6:.1f} MB, at most {MOST_FILE_MB} are wanted")
    place = folder / built.suffix.strip(".")
    programs = fresh(place, python)
    before, code_before = size_mb(place), size_mb(place, bytecode=True)
    environment = {key: value for key, value in os.environ.items() if not key.startswith(("PYTHON", "POLEPIECE"))}
    home = folder / f"home of {place.name}"
    home.mkdir()
    environment |= {"XDG_CACHE_HOME": str(home / "cache"), "XDG_DATA_HOME": str(home / "data"), "HOME": str(home)}

    def run(*line: str) -> str:
        done = subprocess.run(line, cwd=folder, env=environment, capture_output=True, text=True, check=False)
        if done.returncode:
            wrong.append(f"{built.name}: {' '.join(line)}: exit code {done.returncode}\n{done.stdout}{done.stderr}")
        return done.stdout

    pip = [str(programs / "python"), "-m", "pip", "install", "-q"]
    run(*pip, str(built))
    large = size_mb(place) - before
    told = f"{built.name}: {built.stat().st_size / 1e6:.2f} MB, {len(names(built))} files"
    code = size_mb(place, bytecode=True) - code_before
    print(f"{told}; installed {large:.0f} MB, and {code:.0f} MB of bytecode")
    if large > MOST_MB:
        wrong.append(f"{built.name}: an installation takes {large:.0f} MB, at most {MOST_MB} are wanted")
    tool = str(programs / "polepiece")
    print(run(tool, "--version").strip())
    if demo:
        told = run(tool, "demo", "--out", str(folder / "demo"))
        print("\n".join(told.splitlines()[:6]))
        used = size_mb(place) - before + size_mb(place, bytecode=True) - code_before
        print(f"after the demo {used:.0f} MB, with all bytecode and the compiled kernels")
        run(*pip, f"{built}{EXTRAS}")
        print(f"with {EXTRAS}: {size_mb(place) - before:.0f} MB")
        run(tool, "worksheet", str(folder / "demo" / "demo.guitar.toml"), "--change", "lower=0.5mm", "--pickup", "neck",
            "--out", str(folder / "sheet.pdf"))  # fmt: skip
    else:
        run(
            tool,
            "new",
            str(folder / "tried.guitar.toml"),
            "--pickup",
            "bridge construction=humbucker magnet=A5",
            "--replace",
        )
        run(tool, "check", str(folder / "tried.guitar.toml"), "--quick")
    return wrong


def main() -> None:
    """Try all that lies in a folder."""
    asked = argparse.ArgumentParser(description=__doc__)
    asked.add_argument("folder", type=Path)
    asked.add_argument("--python", default=sys.executable)
    asked.add_argument("--quick", action="store_true", help="no demo")
    given = asked.parse_args()
    built = sorted([*given.folder.resolve().glob("*.whl"), *given.folder.resolve().glob("*.tar.gz")])
    if len(built) != 2:
        raise SystemExit(f"{given.folder} holds {[one.name for one in built]}; one wheel and one sdist are wanted.")
    wrong: list[str] = []
    with tempfile.TemporaryDirectory(prefix="polepiece-try-") as folder:
        for one in built:
            wrong += tried(one, Path(folder), given.python, demo=one.suffix == ".whl" and not given.quick)
    if wrong:
        raise SystemExit("\n".join(wrong))


if __name__ == "__main__":
    main()
