"""How much memory a large log takes, whatever its dialect: at most 1 GiB for a file of 200 MB.

    python tests/benchmarks/memory.py
    python tests/benchmarks/memory.py --megabytes 50 --only long

Each log is invented, written to a temporary folder, read (and with --analyse analysed) in a process of its own, whose
peak of resident memory counts. What the reader maps of the file is part of it.

A sparse log of this size has a row an instant for four days: eight million instants of ten channels, 610 MB as such.
"""

from __future__ import annotations

import argparse
import subprocess
import sys
import tempfile
from collections.abc import Callable, Iterator
from itertools import count
from pathlib import Path
from typing import TextIO

LIMIT_MIB = 1024
CHILD = """
import resource, sys, time
from analyzer.analysis import analyze_log
from analyzer.ingest import read_log
begun = time.perf_counter()
(analyze_log if sys.argv[2] == "analyse" else read_log)(sys.argv[1])
print(time.perf_counter() - begun, resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024)
"""
HEADERS = "Time [s],Altitude [m],Voltage [V],Current [A],RPM,Throttle [%],Temperature [C],Airspeed [m/s],Lat,Lon"


def numbers(row: int) -> list[str]:
    """One row of an invented flight that never lands: time and nine channels."""
    phase = row % 9_973
    values = (100 + phase % 311 / 10, 12 - phase % 97 / 100, phase % 401 / 10, 6000 + phase % 83, phase % 101)
    more = (20 + phase % 41 / 2, 9 + phase % 53 / 10, 47 + phase * 1e-6, 8 + phase * 1e-6)
    return [f"{row / 20:.2f}", *(f"{value:.2f}" for value in values), *(f"{value:.7f}" for value in more)]


def plain() -> Iterator[str]:
    """A row an instant, numbers alone."""
    yield HEADERS + "\n"
    yield from (",".join(numbers(row)) + "\n" for row in count())


def words() -> Iterator[str]:
    """Times as dates, a mode, and remarks that are different in each row."""
    yield "Date," + HEADERS + ",Flight mode,Remark\n"
    for row in count():
        hour, minute, second = row // 72_000 % 24, row // 1200 % 60, row // 20 % 60
        date = f"2026-05-{1 + row // 1_728_000:02d} {hour:02d}:{minute:02d}:{second:02d}.{row % 20 * 50:03d}"
        yield f"{date},{','.join(numbers(row))},{('launch', 'cruise', 'thermal')[row // 500 % 3]},remark {row}\n"


def sparse() -> Iterator[str]:
    """Each sensor on a row of its own."""
    yield HEADERS + "\n"
    for row in count():
        time_s, *values = numbers(row)
        column = row % len(values)
        yield time_s + "," * (column + 1) + values[column] + "," * (len(values) - column - 1) + "\n"


def commas() -> Iterator[str]:
    """Semicolons between cells, decimal commas."""
    yield from (line.replace(",", ";").replace(".", ",") for line in plain())


def long() -> Iterator[str]:
    """A value a row: time, channel, value, unit."""
    yield "time,channel,value,unit\n"
    names = (("altitude", "m"), ("voltage", "V"), ("current", "A"), ("rpm", "rpm"))
    for row in count():
        time_s, *values = numbers(row)
        yield from (f"{time_s},{name},{value},{unit}\n" for (name, unit), value in zip(names, values, strict=False))
        yield f"{time_s},flight mode,{('launch', 'cruise')[row // 500 % 2]},\n"


DIALECTS: dict[str, tuple[Callable[[], Iterator[str]], str]] = {
    "plain": (plain, "utf-8"),
    "words": (words, "utf-8"),
    "sparse": (sparse, "utf-8"),
    "commas": (commas, "utf-8"),
    "utf-16": (plain, "utf-16"),
    "long": (long, "utf-8"),
}


def write(stream: TextIO, lines: Iterator[str], size: int) -> None:
    """Write lines until a file has its size."""
    while stream.tell() < size:
        stream.writelines(line for line, _ in zip(lines, range(5000), strict=False))


def main() -> None:
    """Measure and print; exit status 1 when a log takes too much."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--megabytes", type=int, default=200)
    parser.add_argument("--only", choices=DIALECTS)
    parser.add_argument("--analyse", action="store_true", help="run the whole analysis, not only the reading")
    options = parser.parse_args()
    worst = 0.0
    for name in [options.only] if options.only else DIALECTS:
        lines, encoding = DIALECTS[name]
        with tempfile.TemporaryDirectory() as folder:
            path = Path(folder) / f"{name}.csv"
            with path.open("w", encoding=encoding) as stream:
                write(stream, lines(), options.megabytes * 1_000_000)
            command = [sys.executable, "-c", CHILD, str(path), "analyse" if options.analyse else "read"]
            taken = subprocess.run(command, check=True, capture_output=True, text=True).stdout.split()
        seconds, peak = (float(word) for word in taken)
        print(f"{name:8} {options.megabytes} MB: {seconds:5.1f} s, peak {peak:5.0f} MiB (at most {LIMIT_MIB})")
        worst = max(worst, peak)
    sys.exit(worst > LIMIT_MIB)


if __name__ == "__main__":
    main()
