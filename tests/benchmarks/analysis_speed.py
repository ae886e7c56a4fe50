"""How long the analysis takes, against reading the same file with pandas and against starting Python's libraries.

    python tests/benchmarks/analysis_speed.py

Prints ratios, each from runs that alternate with their yardstick in fresh processes, median of several:
the whole analysis of a file of 1,000,000 rows and 12 columns over `pandas.read_csv` on one thread; the same over a file
with a tenth of the rows; the whole command on a 20-minute log at 10 Hz over ``import pandas, scipy.signal``. In the
first two a short log goes before, so that neither side counts what it imports on first use.
"""

from __future__ import annotations

import os
import statistics
import subprocess
import sys
import tempfile
import time
from pathlib import Path

import numpy as np
import pandas as pd

ROWS = 1_000_000
REPEATS = 5

READ = """
import pandas as pd
pd.set_option('mode.max_threads', 1)
pd.read_csv({first!r})
{clock}
pd.read_csv({path!r})
{show}
"""
ANALYSE = """
from analyzer.analysis import analyze_log
analyze_log({first!r})
{clock}
analyze_log({path!r})
{show}
"""
CLOCK = "import time; begun = time.perf_counter()"
SHOW = "print(time.perf_counter() - begun)"


def invented_log(rows: int, rate_hz: float, seed: int = 0) -> pd.DataFrame:
    """An invented log of flights of ten minutes each: wait, climb, glide with one thermal, landing; 12 columns."""
    rng = np.random.default_rng(seed)
    time_s = np.arange(rows) / rate_hz
    phase = time_s % 600.0
    powered = (phase >= 60) & (phase < 90)
    flying = (phase >= 60) & (phase < 540)
    corners = [0.0, 60.0, 90.0, 200.0, 300.0, 540.0, 600.0]
    height = np.interp(phase, corners, [0.0, 0.0, 210.0, 120.0, 280.0, 0.0, 0.0])
    height += 3.0 * np.sin(time_s / 1.6) * ((phase > 200) & (phase < 300))
    turn = np.cumsum(flying * 0.6) / rate_hz
    noise = rng.standard_normal
    return pd.DataFrame({
        "Time (s)": time_s.round(3),
        "Altitude (m)": (height + 0.15 * noise(rows)).round(1),
        "Voltage (V)": (12.3 - 0.9 * powered + 0.02 * noise(rows)).round(2),
        "Current (A)": (32.0 * powered + 0.3 + 0.1 * noise(rows)).round(1),
        "RPM": (9000.0 * powered + 10.0 * noise(rows) * powered).round(),
        "Throttle": powered * 1.0,
        "Temperature (C)": (25.0 + 15.0 * powered + 0.2 * noise(rows)).round(),
        "Receiver voltage (V)": (5.2 + 0.02 * noise(rows)).round(2),
        "Ground speed (m/s)": np.abs(8.5 * flying + 0.2 * noise(rows)).round(1),
        "Latitude (deg)": (47.0 + 1.3e-4 * np.sin(turn) * flying).round(7),
        "Longitude (deg)": (8.0 + 1.9e-4 * np.cos(turn) * flying).round(7),
        "Charge (mAh)": (np.cumsum(32.0 * powered + 0.3) / rate_hz / 3.6).round(1),
    })  # fmt: skip


def clocked(program: str, path: Path, first: Path) -> float:
    """Seconds that a program reports for a log after a first one, run in a fresh process on one thread."""
    text = program.format(clock=CLOCK, path=str(path), first=str(first), show=SHOW)
    done = subprocess.run([sys.executable, "-c", text], check=True, capture_output=True, env=_one_thread())
    return float(done.stdout)


def wall(command: list[str]) -> float:
    """Seconds that a command takes from start to end."""
    begun = time.perf_counter()
    subprocess.run(command, check=True, capture_output=True, env=_one_thread())
    return time.perf_counter() - begun


def _one_thread() -> dict[str, str]:
    return {**os.environ, "OMP_NUM_THREADS": "1", "OPENBLAS_NUM_THREADS": "1"}


def medians(*measures: object, repeats: int = REPEATS) -> list[float]:
    """Median of each measure; the measures take turns, so that a busy machine slows all of them."""
    rounds = [[measure() for measure in measures] for _ in range(repeats)]  # type: ignore[operator]
    return [statistics.median(column) for column in zip(*rounds, strict=True)]


def main() -> None:
    """Measure and print."""
    with tempfile.TemporaryDirectory() as folder:
        large, small, short = (Path(folder) / name for name in ("large.csv", "small.csv", "short.csv"))
        invented_log(ROWS, 10.0).to_csv(large, index=False)
        invented_log(ROWS // 10, 10.0).to_csv(small, index=False)
        invented_log(12_000, 10.0).to_csv(short, index=False)
        read, analyse, tenth = medians(
            lambda: clocked(READ, large, short),
            lambda: clocked(ANALYSE, large, short),
            lambda: clocked(ANALYSE, small, short),
        )
        imports, command = medians(
            lambda: wall([sys.executable, "-c", "import pandas, scipy.signal"]),
            lambda: wall([str(Path(sys.executable).with_name("climbledger")), "analyze", str(short), "--json", "-"]),
        )
    print(f"{ROWS} rows x 12 columns: read_csv {read:.2f} s, analysis {analyse:.2f} s", end=", ")
    print(f"ratio {analyse / read:.2f} (at most 4)")
    print(f"a tenth of the rows: {tenth:.2f} s; ten times the rows cost {analyse / tenth:.1f} times (at most 11)")
    print(f"20 min at 10 Hz, the whole command: {command:.2f} s, imports alone {imports:.2f} s", end=", ")
    print(f"ratio {command / imports:.2f} (at most 2)")


if __name__ == "__main__":
    main()
