"""The frame of the command line: help, version, commands of other packages, pipes and poor terminals."""

from __future__ import annotations

import io
import subprocess
import sys
from importlib.metadata import EntryPoint, EntryPoints, entry_points, version

import click
import pytest

from analyzer.cli import logbook, main
from analyzer.cli.options import column_map
from analyzer.cli.streams import Progress, prepare_streams
from analyzer.errors import OptionError

COMMANDS = sorted(entry_points(group=main.COMMAND_GROUP).names)


def test_help_lists_every_command(call) -> None:
    done = call("--help")
    assert done.status == 0
    for name in COMMANDS:
        assert f"\n  {name} " in done.out


@pytest.mark.parametrize("name", COMMANDS)
def test_each_command_shows_an_example(call, name: str) -> None:
    done = call(name, "--help")
    assert done.status == 0
    assert f"climbledger {name}" in done.out.split("Example", 1)[1]


@pytest.mark.parametrize("name", sorted(logbook.command.commands))
def test_each_command_of_the_logbook_shows_an_example(call, name: str) -> None:
    assert f"climbledger logbook {name}" in call("logbook", name, "--help").out.split("Example", 1)[1]


@pytest.mark.parametrize("loading", ["click", "analyzer.cli.main", "analyzer.cli.streams"])
def test_ctrl_c_while_the_program_loads_stops_it_without_a_word(loading: str) -> None:
    script = f"""
import sys
class Stopping:
    def find_spec(self, name, *_):
        if name == {loading!r}:
            raise KeyboardInterrupt
sys.meta_path.insert(0, Stopping())
from analyzer.cli.start import main
main()
"""
    done = subprocess.run([sys.executable, "-c", script], capture_output=True, timeout=30, check=False)
    assert (done.returncode, done.stdout, done.stderr) == (130, b"", b"")


def test_without_arguments_the_help_is_shown(call) -> None:
    assert call().out == call("--help").out


def test_the_version_is_the_installed_one(call) -> None:
    assert call("--version").out == f"climbledger {version('climbledger')}\n"


@pytest.mark.parametrize("arguments", [["anlyze"], ["--nope"], ["analyze"], ["analyze", "--units"]])
def test_wrong_use_names_what_is_wrong_and_where_to_look(call, arguments: list[str]) -> None:
    done = call(*arguments)
    assert done.status == 2
    assert done.out == ""
    assert "--help" in done.complaint


@pytest.fixture
def foreign_commands(monkeypatch: pytest.MonkeyPatch) -> None:
    """Commands that other packages registered, one of them broken."""
    entries = EntryPoints(
        [
            EntryPoint("broken", "no.such.module:command", main.COMMAND_GROUP),
            EntryPoint("odd", "os:getcwd", main.COMMAND_GROUP),
            EntryPoint("sound", "analyzer.cli.analyze:command", main.COMMAND_GROUP),
        ]
    )
    monkeypatch.setattr(main, "entry_points", lambda **query: entries.select(**query))


@pytest.mark.usefixtures("foreign_commands")
def test_a_command_that_cannot_be_loaded_breaks_no_other(call) -> None:
    listed = call("--help")
    assert listed.status == 0
    assert "broken  (not available)" in listed.out, listed.out
    assert "sound" in listed.out
    assert call("sound", "--help").status == 0
    for name in ("broken", "odd"):
        done = call(name, "anything", "--at-all")
        assert done.status == 2
        assert f"{name}: the command cannot be loaded" in done.complaint


def test_a_reader_that_has_seen_enough_is_no_error(log_path) -> None:
    script = "from analyzer.cli.main import main; main()"
    command = [sys.executable, "-c", script, "analyze", *[str(log_path)] * 3]
    with subprocess.Popen(command, stdout=subprocess.PIPE, stderr=subprocess.PIPE) as process:
        process.stdout.close()  # as `head -0` does
        complaints = process.stderr.read()
        assert process.wait(60) == 0
    assert complaints == b""


@pytest.mark.parametrize("command", ["analyze", "thermals"])
def test_a_terminal_without_unicode_gets_plain_words(spawn, log_path, command: str) -> None:
    done = spawn(command, log_path, PYTHONIOENCODING="ascii", LC_ALL="C")
    assert done.status == 0
    assert "+/-" in done.out
    assert done.out.isascii()


def test_a_document_is_the_same_on_every_terminal(spawn, log_path) -> None:
    plain = spawn("analyze", log_path, "--csv", "-", PYTHONIOENCODING="ascii")
    rich = spawn("analyze", log_path, "--csv", "-", PYTHONIOENCODING="utf-8")
    assert plain.out == rich.out


def test_progress_is_shown_on_a_terminal_and_never_in_a_pipe(monkeypatch: pytest.MonkeyPatch) -> None:
    class Terminal(io.StringIO):
        def isatty(self) -> bool:
            return True

    for stream, expected in ((Terminal(), "working on 2 of 2: b\ufffd.csv"), (io.StringIO(), "")):
        monkeypatch.setattr(sys, "stderr", stream)
        with Progress(2) as progress:
            progress.item("a.csv")
            progress.item("b\x1b.csv")
        assert expected in stream.getvalue()
        assert stream.getvalue() == "" or stream.getvalue().endswith("\r")


def test_streams_that_are_no_terminals_are_left_alone(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(sys, "stdout", io.StringIO())
    prepare_streams()
    click.echo("±")
    assert sys.stdout.getvalue() == "±\n"


def test_a_column_map_divides_at_the_last_equals_sign() -> None:
    assert column_map(["Alt=baro (ft)=altitude_m [ft]", " U =voltage_v"]) == {
        "Alt=baro (ft)": "altitude_m [ft]",
        "U": "voltage_v",
    }
    with pytest.raises(OptionError, match="no column map"):
        column_map(["Alt="])


@pytest.mark.parametrize("value", ["nan", "many"])
@pytest.mark.parametrize(
    "arguments", [("thermals", "x.csv", "--next-climb"), ("predict", "--throttle"), ("predict", "--pack-temperature")]
)
def test_what_is_no_number_is_refused_in_plain_words(call, arguments: tuple[str, ...], value: str) -> None:
    done = call(*arguments, value)
    assert done.status == 2
    assert f"'{value}' is not a valid number" in done.complaint
