"""Style and types are clean, by the rules in `pyproject.toml`."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[2]


@pytest.mark.parametrize("check", ["ruff check", "ruff format --check", "mypy"])
def test_a_static_check_finds_nothing(check: str) -> None:
    found = subprocess.run(
        [sys.executable, "-m", *check.split()], cwd=ROOT, capture_output=True, text=True, check=False
    )
    assert found.returncode == 0, found.stdout + found.stderr
