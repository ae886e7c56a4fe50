"""A reduced version of tests/benchmarks/ingest_speed.py: what a slow machine must still keep to."""

import subprocess
import sys
import time
from pathlib import Path

from analyzer.ingest import read_log

HEADER = "time [s],altitude [m],voltage [V],current [A],rpm,mode\n"


def write_log(path: Path, rows: int) -> None:
    lines = [f"{i / 10:.1f},{i % 977 * 0.1:.2f},12.{i % 10},{i % 31},{i % 9000},{'ab'[i % 2]}\n" for i in range(rows)]
    path.write_text(HEADER + "".join(lines), encoding="utf-8")


def processor_time(path: Path) -> float:
    """Least processor time of three readings."""
    times = []
    for _ in range(3):
        begin = time.process_time()
        read_log(path)
        times.append(time.process_time() - begin)
    return min(times)


def test_ten_times_the_rows_take_at_most_eleven_times_as_long(tmp_path: Path) -> None:
    small, large = tmp_path / "small.csv", tmp_path / "large.csv"
    write_log(small, 20_000)
    write_log(large, 200_000)
    read_log(small)  # loads what is loaded once
    assert processor_time(large) <= 11.0 * processor_time(small)


def test_reading_loads_nothing_heavy() -> None:
    reading = "from analyzer.ingest import read_log_bytes; read_log_bytes(b't,alt\\n0,1\\n1,2\\n', 'x')"
    heavy = {"scipy", "plotly", "sqlalchemy", "pydantic", "dash"}
    code = f"import sys; {reading}; print({heavy} & sys.modules.keys())"
    ran = subprocess.run([sys.executable, "-c", code], check=True, capture_output=True, text=True)
    assert ran.stdout.strip() == "set()"
