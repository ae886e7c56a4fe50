"""How fast a folder of flights goes into a logbook over one and over all cores, and how fast it is compared then.

    python tests/benchmarks/logbook_speed.py
    python tests/benchmarks/logbook_speed.py --flights 1000 --rounds 10        (some 3 minutes)

The flights are invented, 20 minutes at 10 Hz. For the comparison the logbook is filled up to --entries entries:
analyses of distinct flights, stored under hashes of their own.

One core and all cores take turns, round by round, so that other work on the machine strikes both; the median counts.
"""

from __future__ import annotations

import argparse
import hashlib
import json
import os
import subprocess
import sys
import tempfile
import time
from pathlib import Path
from statistics import median

sys.path.insert(0, str(Path(__file__).resolve().parents[1]))

from logbook_logs import log_text

from analyzer.logbook import Edits, add_logs, open_logbook
from analyzer.logbook.work import Analysed, Job, as_json

FLIGHT_S, RATE_HZ = 1200.0, 10.0


def timed_import(folder: Path, paths: list[Path], jobs: int) -> float:
    """Seconds to add all logs to a new logbook, workers started and stopped included."""
    with open_logbook(folder / f"jobs-{jobs}.sqlite") as book:
        begun = time.perf_counter()
        outcomes = list(add_logs(book, paths, jobs=jobs))
        taken = time.perf_counter() - begun
    assert [outcome.status for outcome in outcomes] == ["added"] * len(paths), outcomes
    return taken


def fill_up(place: Path, entries: int) -> None:
    """Store the analyses that are there again and again, each as a flight of its own."""
    with open_logbook(place) as book:
        propellers = ("12x6", "14x8", "15x10")
        for number, entry in enumerate(book.list()):
            book.update(entry.id, Edits(propeller=propellers[number % 3], day="2026-01-01"))
        originals = [book.summary(entry.id) for entry in book.list()]
        for number in range(len(originals), entries):
            summary = originals[number % len(originals)]
            data = f"flight {number}".encode()
            digest = hashlib.sha256(data).hexdigest()
            document = json.loads(as_json(summary))
            document["log"]["sha256"] = digest
            found = Analysed(digest, f"{number}.csv", "", None, 4, as_json(summary.totals), json.dumps(document))
            edits = Edits(propeller=propellers[number % 3], day=f"2026-{1 + number % 12:02d}-{1 + number % 28:02d}")
            book.store(Job(f"{number}.csv", data), found, edits)


def timed_command(*arguments: str | Path) -> float:
    """Seconds of a whole command, start of the program included."""
    begun = time.perf_counter()
    command = [sys.executable, "-c", "from analyzer.cli.main import main; main()", *map(str, arguments)]
    subprocess.run(command, check=True, stdout=subprocess.DEVNULL)
    return time.perf_counter() - begun


def main() -> None:
    """Print the figures."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--flights", type=int, default=100)
    parser.add_argument("--rounds", type=int, default=1)
    parser.add_argument("--jobs", type=int, default=os.cpu_count() or 1)
    parser.add_argument("--entries", type=int, default=1000)
    options = parser.parse_args()
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        paths = [folder / f"flight-{number}.csv" for number in range(options.flights)]
        for number, path in enumerate(paths):
            path.write_bytes(log_text(number, FLIGHT_S, RATE_HZ))
        parts = [paths[start :: options.rounds] for start in range(options.rounds)]
        turns = [[timed_import(folder, part, jobs) for jobs in (1, options.jobs)] for part in parts]
        alone, together = (sum(turn[place] for turn in turns) for place in (0, 1))
        shares = sorted(one / (options.jobs * other) for one, other in turns)
        size_kb = (folder / "jobs-1.sqlite").stat().st_size / options.flights / 1e3
        print(f"{options.flights} flights: {alone:.1f} s in one process, {together:.1f} s in {options.jobs}; ", end="")
        print(f"{1000 * alone / options.flights:.0f} ms and {size_kb:.0f} kB a flight")
        print(f"of linear scaling: median {median(shares):.0%}, rounds from {shares[0]:.0%} to {shares[-1]:.0%}")
        place = folder / "jobs-1.sqlite"
        fill_up(place, options.entries)
        for arguments in (
            ("compare",),
            ("logbook", "list"),
            ("compare", "--by", "propeller", "--metric", "sink_rate_m_s"),
        ):
            taken = min(timed_command(*arguments, "--logbook", place) for _ in range(3))
            print(f"{' '.join(arguments)}: {taken:.2f} s with {options.entries} flights, start of the program included")


if __name__ == "__main__":
    main()
