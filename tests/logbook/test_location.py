"""Where a pilot's own logbook is kept: what each system's own rules say."""

from __future__ import annotations

from pathlib import Path

import platformdirs
import pytest

from analyzer.logbook.location import data_folder, default_path

HOME = Path("/home/pilot")


@pytest.mark.parametrize(
    ("system", "environment", "folder"),
    [
        ("win32", {"LOCALAPPDATA": "/users/pilot/local"}, "/users/pilot/local"),
        ("win32", {}, "/home/pilot/AppData/Local"),
        ("darwin", {"XDG_DATA_HOME": "/elsewhere"}, "/home/pilot/Library/Application Support"),
        ("linux", {}, "/home/pilot/.local/share"),
        ("linux", {"XDG_DATA_HOME": "/elsewhere"}, "/elsewhere"),
        # XDG Base Directory Specification 0.8: "All paths set in these environment variables must be absolute. If an
        # implementation encounters a relative path [...] it should consider the path invalid and ignore it."
        ("linux", {"XDG_DATA_HOME": "relative"}, "/home/pilot/.local/share"),
        ("linux", {"XDG_DATA_HOME": ""}, "/home/pilot/.local/share"),
    ],
)
def test_each_system_has_its_folder(system: str, environment: dict[str, str], folder: str) -> None:
    assert data_folder(system, environment, HOME) == Path(folder)


def test_on_this_system_a_general_library_finds_the_same() -> None:
    assert default_path().parent == platformdirs.user_data_path("climbledger", appauthor=False)
