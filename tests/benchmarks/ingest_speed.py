"""How fast logs are read: against pandas on one thread, against ten times the rows, and what a small log costs.

    python tests/benchmarks/ingest_speed.py [RUNS]

Each figure is the median of RUNS fresh processes (default 5), in turns, so that other load on the machine meets all
alike. A reduced version runs as tests/ingest/test_ingest_speed.py. Targets: 1,000,000 rows of 12 columns in at most 1.5
times what `pandas.read_csv` takes on one thread; ten times the rows in at most 11 times the time.
"""

from __future__ import annotations

import subprocess
import sys
import tempfile
from pathlib import Path
from statistics import median

import numpy as np
import pandas as pd

MILLION = 1_000_000
PANDAS = "with pd.option_context('mode.max_threads', 1): pd.read_csv(path)"
OURS = "read_log(path)"
SNIPPET = """
import sys, time
from pathlib import Path
import pandas as pd
from analyzer.ingest import read_log
path = sys.argv[1]
wall, cpu = time.perf_counter(), time.process_time()
{work}
wall, cpu, status = time.perf_counter() - wall, time.process_time() - cpu, Path("/proc/self/status")
peak = status.read_text().split("VmHWM:")[1].split()[0] if status.exists() else "nan"
print(wall, cpu, float(peak) / 1024)
"""


def write_log(path: Path, rows: int) -> None:
    """Write an invented log: 11 columns of numbers, one of flight modes."""
    rng = np.random.default_rng(1)
    seconds = np.arange(rows) * 0.1
    pd.DataFrame(
        {
            "Time [s]": seconds.round(2),
            "Altitude [m]": (100.0 + 50.0 * np.sin(seconds / 50.0) + rng.normal(0.0, 0.3, rows)).round(3),
            "Vario [m/s]": rng.normal(0.0, 1.0, rows).round(3),
            "Airspeed [m/s]": rng.normal(10.0, 1.0, rows).round(3),
            "Voltage [V]": rng.normal(12.0, 0.1, rows).round(4),
            "Current [A]": rng.normal(10.0, 3.0, rows).round(4),
            "RPM [1/min]": rng.normal(6000.0, 100.0, rows).round(2),
            "Throttle [%]": rng.uniform(0.0, 100.0, rows).round(2),
            "ESC temp [°C]": rng.normal(40.0, 5.0, rows).round(3),
            "Latitude": rng.normal(48.0, 0.001, rows).round(7),
            "Longitude": rng.normal(11.0, 0.001, rows).round(7),
            "Flight mode": rng.choice(["launch", "thermal", "speed"], rows),
        }
    ).to_csv(path, index=False)


def measured(work: str, path: Path) -> tuple[float, float, float]:
    """Wall-clock seconds, processor seconds and peak MiB of one fresh process."""
    command = [sys.executable, "-c", SNIPPET.format(work=work), str(path)]
    words = subprocess.run(command, check=True, capture_output=True, text=True).stdout.split()
    return float(words[0]), float(words[1]), float(words[2])


def main(runs: int) -> None:
    """Measure and print."""
    with tempfile.TemporaryDirectory() as folder:
        logs = {rows: Path(folder) / f"{rows}.csv" for rows in (12_000, MILLION // 10, MILLION)}
        for rows, path in logs.items():
            write_log(path, rows)
        jobs = {
            "pandas, one thread, 1,000,000 rows": (PANDAS, logs[MILLION]),
            "read_log, 1,000,000 rows": (OURS, logs[MILLION]),
            "read_log, 100,000 rows": (OURS, logs[MILLION // 10]),
            "read_log, 12,000 rows": (OURS, logs[12_000]),
        }
        results: dict[str, list[tuple[float, float, float]]] = {name: [] for name in jobs}
        for _ in range(runs):
            for name, (work, path) in jobs.items():
                results[name].append(measured(work, path))
    middle = {name: [median(run[i] for run in figures) for i in range(3)] for name, figures in results.items()}
    for name, (wall, cpu, peak) in middle.items():
        print(f"{name:36} {wall:7.3f} s wall  {cpu:7.3f} s processor  {peak:6.0f} MiB")
    reference, ours, tenth, _ = middle.values()
    print(f"read_log / pandas on one thread      {ours[0] / reference[0]:7.2f} (at most 1.5)")
    print(f"1,000,000 rows / 100,000 rows        {ours[0] / tenth[0]:7.2f} (at most 11)")


if __name__ == "__main__":
    main(int(sys.argv[1]) if len(sys.argv) > 1 else 5)
