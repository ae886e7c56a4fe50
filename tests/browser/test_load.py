"""The load study, shortened: two browsers at once, then three tabs and a browser, to the dashboard as it is served."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

import pytest

pytestmark = pytest.mark.browser

STUDY = Path(__file__).parents[1] / "benchmarks" / "dashboard_load.py"


def test_no_upload_is_lost_or_mixed_up_and_no_file_is_left() -> None:
    words = ["--browsers", "2", "--each", "2", "--soak", "10", "--minutes", "3"]
    run = subprocess.run([sys.executable, str(STUDY), *words], capture_output=True, text=True, check=False, timeout=300)
    assert run.returncode == 0, run.stdout + run.stderr
    assert "2 browsers at once: 4 uploads" in run.stdout
    assert "over HTTP: 9 uploads" in run.stdout
    assert "temporary files left: 0" in run.stdout
    assert "nothing more on its terminal" in run.stdout
