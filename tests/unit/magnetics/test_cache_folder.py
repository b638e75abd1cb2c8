"""Where solved geometries are kept: a folder of the same name on every system, no maker's folder around it."""

import os
from pathlib import Path

import platformdirs
import pytest
from platformdirs import windows
from platformdirs.macos import MacOS
from platformdirs.unix import Unix

from polepiece.magnetics import cache


@pytest.mark.parametrize("system", [Unix, MacOS, windows.Windows])
def test_the_cache_is_one_folder_called_polepiece(
    monkeypatch: pytest.MonkeyPatch, tmp_path: Path, system: type
) -> None:
    monkeypatch.delenv("POLEPIECE_CACHE", raising=False)
    monkeypatch.setenv("XDG_CACHE_HOME", str(tmp_path))
    monkeypatch.setattr(windows, "get_win_folder", lambda _name: str(tmp_path))  # asked of Windows itself there
    monkeypatch.setattr(platformdirs, "PlatformDirs", system)
    found = str(cache.folder()).replace("\\", os.sep).split(os.sep)
    assert found.count("polepiece") == 1, found


def test_another_folder_or_none_is_named_by_the_environment(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    monkeypatch.setenv("POLEPIECE_CACHE", str(tmp_path / "here"))
    assert cache.folder() == tmp_path / "here"
    monkeypatch.setenv("POLEPIECE_CACHE", "")
    assert cache.folder() is None
