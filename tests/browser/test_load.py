"""The load study, shortened: some browsers at once, then a few dozen uploads, to the dashboard as it is served."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

import pytest

pytestmark = pytest.mark.browser

STUDY = Path(__file__).parents[1] / "benchmarks" / "dashboard_load.py"


def test_no_upload_is_lost_or_mixed_up_and_no_file_is_left() -> None:
    words = ["--browsers", "3", "--each", "2", "--soak", "20", "--minutes", "5"]
    run = subprocess.run([sys.executable, str(STUDY), *words], capture_output=True, text=True, check=False, timeout=300)
    assert run.returncode == 0, run.stdout + run.stderr
    assert "3 browsers at once: 6 uploads" in run.stdout
    assert "over HTTP: 18 uploads" in run.stdout
    assert "temporary files left: 0" in run.stdout
    assert "nothing more on its terminal" in run.stdout
