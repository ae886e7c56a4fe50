"""A log file to analyse, and the command line called in this process or in one of its own."""

from __future__ import annotations

import os
import subprocess
import sys
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

import pytest
from logbook_logs import log_text as kept_log
from made_flight import made_frame

from analyzer.cli import main
from analyzer.logbook import Edits, open_logbook

LOGGED = ["time_s", "altitude_m", "voltage_v", "current_a", "rpm"]
SETUP = """\
name = "Demo 2.5 m, invented"
[speed_controller]
continuous_current_a = 25
[pack]
cells = 3
min_cell_v = 3.3
"""


@dataclass(frozen=True)
class Outcome:
    """What a command left behind."""

    status: int
    out: str
    err: str

    @property
    def complaint(self) -> str:
        """The one line on standard error."""
        assert self.err.count("\n") == 1, self.err
        assert "Traceback" not in self.err
        return self.err.strip()


@pytest.fixture(scope="session")
def log_text() -> str:
    return made_frame(rate_hz=5.0)[LOGGED].dropna().round(3).to_csv(index=False)


@pytest.fixture
def log_path(tmp_path: Path, log_text: str) -> Path:
    path = tmp_path / "flight.csv"
    path.write_text(log_text)
    return path


@pytest.fixture
def setup_path(tmp_path: Path) -> Path:
    path = tmp_path / "model.toml"
    path.write_text(SETUP)
    return path


@pytest.fixture(scope="session")
def master(tmp_path_factory: pytest.TempPathFactory) -> bytes:
    """A logbook with two logs, to copy."""
    path = tmp_path_factory.mktemp("master") / "logbook.sqlite"
    with open_logbook(path) as book:
        for number, place in enumerate(["Larkmoor", "Dunes"]):
            edits = Edits(place=place, day=f"2026-05-0{number + 1}", propeller="14x8", tags={"pack": "B"})
            book.add(kept_log(number), f"log-{number}.csv", edits=edits)
    return path.read_bytes()


@pytest.fixture
def book(tmp_path: Path, master: bytes) -> Path:
    path = tmp_path / "logbook.sqlite"
    path.write_bytes(master)
    return path


@pytest.fixture
def call(capfd: pytest.CaptureFixture[str]) -> Callable[..., Outcome]:
    """Run the command line in this process."""

    def run(*arguments: str | Path) -> Outcome:
        capfd.readouterr()
        status = main.run([str(argument) for argument in arguments])
        captured = capfd.readouterr()
        return Outcome(status, captured.out, captured.err)

    return run


@pytest.fixture
def spawn() -> Callable[..., Outcome]:
    """Run the command line in a process of its own."""

    def run(*arguments: str | Path, **environment: str) -> Outcome:
        command = [sys.executable, "-c", "from analyzer.cli.start import main; main()"]
        done = subprocess.run(
            [*command, *map(str, arguments)],
            env={**os.environ, **environment},
            capture_output=True,
            timeout=60,
            check=False,
        )
        return Outcome(done.returncode, done.stdout.decode("utf-8"), done.stderr.decode("utf-8"))

    return run
