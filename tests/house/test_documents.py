"""What the project says of itself is true: names, commands, keys and examples are those of the code."""

from __future__ import annotations

import ast
import os
import re
import shlex
import shutil
import signal
import subprocess
import sys
from dataclasses import fields, is_dataclass
from importlib.metadata import entry_points
from pathlib import Path
from typing import get_args, get_type_hints
from urllib.request import urlopen

import click
import pytest

import analyzer
from analyzer import errors, records
from analyzer.channels import CHANNELS
from analyzer.cli.main import COMMAND_GROUP, run
from analyzer.comparison.records import Comparison
from analyzer.export.csv_table import COLUMNS
from analyzer.match.ranking import Ranking
from analyzer.power_system.prediction_records import Estimate, PredictedLimit, Prediction
from analyzer.setup_file import Section, Setup
from analyzer.soaring.records import SoaringReport
from analyzer.soaring.session import Session

LARGEST_PICTURE_BYTES = 200_000
NOTICE_MAKERS = ("Notice", "_set_aside")
COMMANDS = {entry.name: entry for entry in entry_points(group=COMMAND_GROUP)}


@pytest.fixture(scope="module")
def readme(root: Path) -> str:
    return (root / "README.md").read_text(encoding="utf-8")


@pytest.fixture(scope="module")
def developers(root: Path) -> str:
    return (root / "DEVELOPERS.md").read_text(encoding="utf-8")


NAMES = {"Notice": records.Notice, "Tier": str, "Estimate": Estimate, "PredictedLimit": PredictedLimit}
"""What the records import for the type checker alone."""


def keys_of(record: type) -> set[str]:
    """Every key of a record's JSON, those of the records inside it included."""
    keys = {entry.name for entry in fields(record)}
    for hint in get_type_hints(record, localns=NAMES).values():
        for part in (hint, *get_args(hint)):
            if isinstance(part, type) and is_dataclass(part):
                keys |= keys_of(part)
    return keys


def missing_from(text: str, names: set[str]) -> set[str]:
    return {name for name in names if not re.search(rf"(?<![\w-]){re.escape(name)}(?![\w-])", text)}


def test_every_channel_is_documented(readme: str) -> None:
    assert not missing_from(readme, {channel.name for channel in CHANNELS})


def test_every_command_is_documented(readme: str) -> None:
    assert not missing_from(readme, {f"climbledger {name}" for name in COMMANDS})


def test_every_json_key_is_documented(readme: str) -> None:
    assert not missing_from(readme, keys_of(records.FlightSummary) | {records.FLIGHT_SUMMARY_SCHEMA})


@pytest.mark.parametrize("record", [Prediction, Ranking, Comparison, SoaringReport, Session])
def test_every_key_of_the_other_documents_is_documented(developers: str, record: type) -> None:
    text = developers[developers.index("## Documents for programs") :]
    own = keys_of(record) - keys_of(records.ThermalClimb) - keys_of(records.Notice)  # those stand in the README
    assert not missing_from(text, own | {record.__dataclass_fields__["schema"].default})


def test_every_column_of_the_table_is_a_documented_key(readme: str) -> None:
    assert not missing_from(readme, set(COLUMNS))


def test_every_setup_key_is_documented(readme: str) -> None:
    names = {name for name, field in Setup.model_fields.items() if not field.exclude}
    for field in Setup.model_fields.values():
        for part in (field.annotation, *get_args(field.annotation)):
            if isinstance(part, type) and issubclass(part, Section):
                names |= set(part.model_fields)
    assert not missing_from(readme, names)


def test_every_schema_is_documented(root: Path, readme: str) -> None:
    modules = (path.read_text(encoding="utf-8") for path in (root / "analyzer").rglob("*.py"))
    schemas = {name for text in modules for name in re.findall(r"\"(climbledger/[a-z-]+/\d+)\"", text)}
    assert records.FLIGHT_SUMMARY_SCHEMA in schemas
    assert not missing_from(readme, schemas)


def test_every_error_is_documented(developers: str) -> None:
    names = {
        name for name, value in vars(errors).items() if isinstance(value, type) and value.__module__ == errors.__name__
    }
    assert not missing_from(developers, names)


def notice_codes(root: Path) -> set[str]:
    """Codes of all notices: first arguments of what makes one, and those that are made up from a channel's name."""
    codes = {"no-rpm", "no-airspeed"}
    for path in (root / "analyzer").rglob("*.py"):
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
            if isinstance(node, ast.Call) and isinstance(node.func, ast.Name) and node.func.id in NOTICE_MAKERS:
                code = node.args[0] if node.args else next(word.value for word in node.keywords if word.arg == "code")
                if isinstance(code, ast.Constant):
                    codes.add(code.value)
    return codes


def test_every_notice_code_is_documented_and_every_documented_one_exists(root: Path, developers: str) -> None:
    codes = notice_codes(root)
    assert {code for code in codes if not re.fullmatch(r"[a-z0-9]+(-[a-z0-9]+)*", code)} == set()
    section = developers[developers.index("**Notices.**") :]
    documented = set(re.findall(r"`([a-z0-9-]+)`", section[: section.index("\n## ")])) - {"code"}
    assert documented == codes


def test_the_public_interface_is_listed_and_loads(developers: str) -> None:
    assert sorted(analyzer.__all__) == list(analyzer.__all__)
    assert set(analyzer.__all__) == set(analyzer._HOME) == set(dir(analyzer))
    for name in analyzer.__all__:
        assert getattr(analyzer, name) is not None
    assert not missing_from(developers, set(analyzer.__all__))


@pytest.mark.parametrize("name", COMMANDS)
def test_every_registered_command_is_one(name: str) -> None:
    command = COMMANDS[name].load()
    assert isinstance(command, click.Command)
    assert command.help


@pytest.mark.parametrize("entry", entry_points(group="climbledger.ingest"), ids=lambda entry: entry.name)
def test_every_registered_adapter_loads(entry: object) -> None:
    assert entry.load() is not None


def blocks(text: str, language: str) -> list[str]:
    return re.findall(rf"^```{language}\n(.*?)^```", text, re.MULTILINE | re.DOTALL)


def example_commands(text: str) -> list[str]:
    """Lines of the shell blocks that call the program by name."""
    lines = [line for block in blocks(text, "sh") for line in block.splitlines()]
    return [line.split("  #")[0].strip() for line in lines if line.startswith("climbledger ")]


def test_the_examples_of_the_readme_run(
    root: Path, readme: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capfd: pytest.CaptureFixture[str]
) -> None:
    shutil.copytree(root / "sample_logs", tmp_path / "sample_logs")
    monkeypatch.chdir(tmp_path)
    monkeypatch.setenv("XDG_DATA_HOME", str(tmp_path / "data"))
    commands = [line for line in example_commands(readme) if not line.startswith("climbledger dashboard")]
    assert commands
    for line in commands:
        words = [found for word in shlex.split(line)[1:] for found in expanded(word)]
        status = run(words)
        assert status == 0, f"{line}: {capfd.readouterr().err}"


def test_the_dashboard_of_the_readme_starts_and_stops(readme: str, tmp_path: Path) -> None:
    assert "climbledger dashboard" in example_commands(readme)
    listening = "import signal; signal.signal(signal.SIGINT, signal.default_int_handler)"  # even in the background
    program = f"{listening}; from analyzer.cli.main import main; main()"
    command = [sys.executable, "-c", program, "dashboard", "--port", "0"]
    environment = {**os.environ, "XDG_DATA_HOME": str(tmp_path)}
    running = subprocess.Popen(command, env=environment, stderr=subprocess.PIPE, text=True)
    try:
        assert running.stderr is not None
        address = re.search(r"http://127\.0\.0\.1:\d+/", running.stderr.readline())
        assert address
        with urlopen(address[0], timeout=30) as page:
            assert b"climbledger" in page.read()
        running.send_signal(signal.SIGINT)
        assert running.wait(timeout=30) in (0, 130)
    finally:
        running.kill()
        running.communicate()


def expanded(word: str) -> list[str]:
    """File patterns, as a shell fills them in."""
    return sorted(map(str, Path().glob(word))) if "*" in word else [word]


def test_the_setup_of_the_readme_is_valid(readme: str, tmp_path: Path) -> None:
    from analyzer.setup_file import parse_setup

    examples = blocks(readme, "toml")
    assert examples
    for text in examples:
        assert parse_setup(text, source="README.md", folder=tmp_path).name


def test_the_test_command_is_the_one_that_ci_runs(root: Path, readme: str) -> None:
    found = re.findall(r"^<!-- test-command -->`(.*)`$", readme, re.MULTILINE)
    assert len(found) == 1
    assert ".venv/bin/pytest" in found[0]
    script = (root / ".ci" / "run").read_text(encoding="utf-8")
    extraction = next(line for line in script.splitlines() if line.startswith("command="))
    done = subprocess.run(
        ["bash", "-c", f'{extraction}\nprintf %s "$command"'], cwd=root, capture_output=True, text=True, check=True
    )
    assert done.stdout == found[0]


def test_links_between_the_documents_lead_somewhere(root: Path, readme: str, developers: str) -> None:
    for text in (readme, developers):
        for target in re.findall(r"(?:\]\(|src=\")(?!https?://|#)([^)#\"]+)", text):
            assert (root / target).exists(), target


def test_every_script_run_by_hand_is_named_and_every_named_one_exists(root: Path, developers: str) -> None:
    samples = (root / "sample_logs" / "README.md").read_text(encoding="utf-8")
    scripts = {
        path.relative_to(root).as_posix()
        for path in (root / "tests").rglob("*.py")
        if '\nif __name__ == "__main__":' in path.read_text(encoding="utf-8")
    }
    named = set(re.findall(r"python (?:-m )?(tests/[\w/]+\.py)", developers + samples))
    assert scripts - named == set()
    assert {name for name in named if not (root / name).exists()} == set()


def test_pictures_are_shown_and_small(root: Path, readme: str) -> None:
    pictures = sorted((root / "sample_logs" / "pictures").iterdir())
    assert pictures
    for picture in pictures:
        assert f"sample_logs/pictures/{picture.name}" in readme
        assert picture.read_bytes().startswith(b"\x89PNG")
        assert picture.stat().st_size < LARGEST_PICTURE_BYTES


def test_only_the_agreed_things_stand_at_the_top(root: Path) -> None:
    agreed = {
        "README.md",
        "DEVELOPERS.md",
        "LICENSE",
        "pyproject.toml",
        "analyzer",
        "dashboard",
        "tests",
        "sample_logs",
    }
    listed = subprocess.run(["git", "ls-files"], cwd=root, capture_output=True, text=True, check=False).stdout
    tops = {line.split("/")[0] for line in listed.splitlines()} or agreed
    assert {name for name in tops if not name.startswith(".")} <= agreed
