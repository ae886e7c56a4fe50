"""Documents never take the place of what is read, nor of each other; standard output that fails is said in words."""

from __future__ import annotations

import io
import os
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path

import pytest
from logbook_logs import log_text as kept_log

from analyzer.cli import main
from analyzer.logbook import open_logbook

ENTRY = "from analyzer.cli.main import main; main()"


@pytest.mark.parametrize(
    "command",
    [
        ("compare", "--json"),
        ("compare", "--report"),
        ("thermals", "--json"),
        ("logbook", "list", "--json"),
        ("logbook", "list", "--csv"),
        ("logbook", "show", "1", "--json"),
        ("logbook", "backup"),
    ],
)
def test_no_document_takes_the_place_of_the_logbook_that_is_read(call, book: Path, master: bytes, command) -> None:
    done = call(*command, f"{book.parent}/./{book.name}", "--logbook", book)
    assert done.status == 2
    assert "would overwrite" in done.complaint
    assert book.read_bytes() == master


def test_no_document_takes_the_place_of_the_pilots_own_logbook(
    call, tmp_path: Path, master: bytes, monkeypatch
) -> None:
    monkeypatch.setattr("analyzer.logbook.location.default_path", lambda: tmp_path / "own.sqlite")
    (tmp_path / "own.sqlite").write_bytes(master)
    assert "would overwrite" in call("compare", "--json", tmp_path / "own.sqlite").complaint
    assert (tmp_path / "own.sqlite").read_bytes() == master


def test_no_document_takes_the_place_of_a_new_logbook(call, log_path: Path) -> None:
    place = log_path.with_name("new.sqlite")
    done = call("analyze", log_path, "--logbook", place, "--json", place)
    assert done.status == 2
    assert "would overwrite" in done.complaint


@pytest.mark.parametrize("command", [("analyze", "flight.csv"), ("predict",), ("thermals", "flight.csv")])
def test_no_document_takes_the_place_of_the_setups_coefficient_table(call, log_path, setup_path, command) -> None:
    table = setup_path.with_name("table.csv")
    table.write_text("J,CT,CP\n")
    setup_path.write_text(f'{setup_path.read_text()}[propeller]\ncoefficients_csv = "table.csv"\n')
    named = [str(log_path) if part == log_path.name else part for part in command]
    done = call(*named, "--setup", setup_path, "--json", table)
    assert "would overwrite" in done.complaint
    assert table.read_text() == "J,CT,CP\n"


def test_two_documents_cannot_have_one_place_under_two_names(call, log_path: Path) -> None:
    place = log_path.with_name("out")
    done = call("analyze", log_path, "--json", place, "--csv", f"{place.parent}/./out")
    assert done.status == 2
    assert "--json and --csv cannot both go to" in done.complaint


def test_a_document_without_a_name_is_named_by_its_option(call, log_path: Path) -> None:
    assert "--json: names no file" in call("analyze", log_path, "--json", "").complaint


@pytest.mark.skipif(not Path("/dev/full").exists(), reason="needs a device that is always full")
@pytest.mark.parametrize("document", [(), ("--json", "-"), ("--csv", "-")])
def test_standard_output_that_is_full_is_said_in_words(log_path: Path, document) -> None:
    with Path("/dev/full").open("wb") as full:
        done = subprocess.run(
            [sys.executable, "-c", ENTRY, "analyze", str(log_path), *document],
            stdout=full,
            stderr=subprocess.PIPE,
            text=True,
            timeout=60,
            check=False,
        )
    assert done.returncode == 2
    assert done.stderr.startswith("climbledger: standard output: cannot be written (No space left on device);")
    assert done.stderr.count("\n") == 1


@pytest.mark.skipif(sys.platform == "win32", reason="a shell's way to close a stream")
@pytest.mark.parametrize("closed", [">&-", "2>&-", ">&- 2>&-"])
def test_a_stream_that_is_closed_is_no_unexpected_problem(log_path: Path, closed: str) -> None:
    command = f'exec "{sys.executable}" -c "{ENTRY}" analyze "{log_path}" {closed}'
    done = subprocess.run(["sh", "-c", command], capture_output=True, text=True, timeout=60, check=False)
    assert done.returncode == 0
    assert "Traceback" not in done.stderr
    assert "problem" not in done.stderr


@pytest.mark.skipif(not Path("/dev/stdout").exists(), reason="needs the device")
def test_the_device_of_standard_output_may_be_a_pipe(spawn, log_path: Path) -> None:
    done = spawn("analyze", log_path, "--csv", "/dev/stdout")
    assert done.status == 0, done.err
    assert "log,kind," in done.out


@pytest.fixture
def into_a_pipe_without_reader(monkeypatch: pytest.MonkeyPatch) -> Callable[..., None]:
    """Run a command into a pipe whose reader has seen enough, as `head -0` has; `test_main` does so in a process."""

    def run(*arguments: object) -> None:
        reader, writer = os.pipe()
        os.close(reader)
        with os.fdopen(writer, "w", encoding="utf-8") as gone:
            monkeypatch.setattr(sys, "stdout", gone)
            monkeypatch.setattr(sys, "stderr", io.StringIO())
            with pytest.raises(SystemExit) as left:
                main.main([str(argument) for argument in arguments])
        assert left.value.code == 0, sys.stderr.getvalue()

    return run


@pytest.mark.parametrize("shown", [(), ("--json", "-"), ("--csv", "-")])
def test_a_reader_that_has_gone_keeps_no_document_from_its_file(
    into_a_pipe_without_reader, log_path: Path, shown: tuple[str, ...]
) -> None:
    page, book = log_path.with_name("o.html"), log_path.with_name("new.sqlite")
    other = log_path.with_name("other.csv")
    other.write_text(log_path.read_text() + "\n")
    into_a_pipe_without_reader("analyze", log_path, other, *shown, "--report", page, "--logbook", book)
    assert "other.csv" in page.read_text()
    with open_logbook(book, create=False) as kept:
        assert len(kept.list()) == 2


def test_a_reader_that_has_gone_keeps_no_log_from_the_logbook(into_a_pipe_without_reader, tmp_path: Path) -> None:
    for number in range(3):
        (tmp_path / f"log-{number}.csv").write_bytes(kept_log(number))
    into_a_pipe_without_reader("logbook", "add", tmp_path, "--jobs", "1", "--logbook", tmp_path / "new.sqlite")
    with open_logbook(tmp_path / "new.sqlite", create=False) as kept:
        assert len(kept.list()) == 3


def test_a_reader_that_has_gone_keeps_no_session_from_its_file(into_a_pipe_without_reader, log_path: Path) -> None:
    into_a_pipe_without_reader("thermals", log_path, "--json", log_path.with_name("o.json"))
    assert log_path.with_name("o.json").exists()


@pytest.mark.parametrize(
    "command", [("analyze", ""), ("logbook", "add", ""), ("logbook", "export", ""), ("predict", "--setup", "")]
)
def test_an_empty_path_is_not_the_folder_one_stands_in(call, command: tuple[str, ...]) -> None:
    """As a variable of the shell that is not set makes one."""
    done = call(*command)
    assert done.status == 2
    assert "a path is empty" in done.complaint


@pytest.mark.parametrize("option", [("--setup", "s.toml"), ("--map", "a=altitude_m"), ("--next-climb", "2")])
def test_what_a_logbook_cannot_heed_is_refused(call, book: Path, option: tuple[str, str]) -> None:
    done = call("thermals", "--logbook", book, *option)
    assert done.status == 2
    assert f"'{option[0]}' is for logs" in done.complaint
