"""``climbledger analyze``: what goes where, and what each kind of trouble looks like from outside."""

from __future__ import annotations

import csv
import io
import json
from collections.abc import Callable
from pathlib import Path

import pytest

from analyzer.records import FLIGHT_SUMMARY_SCHEMA

Call = Callable[..., object]


def test_without_options_a_summary_is_written_to_the_terminal(call, log_path) -> None:
    done = call("analyze", log_path)
    assert done.status == 0
    assert done.err == ""
    assert "MOTOR RUNS: WHAT THEY GAVE" in done.out
    assert "No limits were checked" in done.out


def test_a_dash_gives_standard_output_to_the_document_alone(call, log_path) -> None:
    done = call("analyze", log_path, "--json", "-")
    assert done.status == 0
    document = json.loads(done.out)
    assert next(iter(document)) == "schema"
    assert document["schema"] == FLIGHT_SUMMARY_SCHEMA
    assert done.out.count("\n") == 1


def test_several_logs_are_one_object_per_line_in_their_order(call, log_path, log_text) -> None:
    other = log_path.with_name("other.csv")
    other.write_text(log_text)
    done = call("analyze", other, log_path, "--json", "-")
    names = [json.loads(line)["log"]["name"] for line in done.out.splitlines()]
    assert names == ["other.csv", "flight.csv"]
    target = log_path.with_name("both.json")
    assert call("analyze", other, log_path, "--json", target).status == 0
    assert target.read_text() == done.out


def test_one_log_in_a_file_is_an_indented_document(call, log_path) -> None:
    target = log_path.with_name("out.json")
    done = call("analyze", log_path, "--json", target)
    assert done.err == f"climbledger: wrote {target}\n"
    assert "MOTOR RUNS" in done.out
    assert target.read_text().startswith('{\n  "schema"')
    assert json.loads(target.read_text())["log"]["name"] == "flight.csv"


def test_all_documents_at_once(call, log_path, setup_path) -> None:
    places = {
        option: log_path.with_name(name)
        for option, name in (("--json", "o.json"), ("--csv", "o.csv"), ("--report", "o.html"))
    }
    arguments = [part for option, path in places.items() for part in (option, path)]
    done = call("analyze", log_path, "--setup", setup_path, "--units", "feet", *arguments)
    assert done.status == 0
    assert "ft/Ah" in done.out
    assert json.loads(places["--json"].read_text())["motor_runs"]
    kinds = {row["kind"] for row in csv.DictReader(io.StringIO(places["--csv"].read_text()))}
    assert {"flight", "motor_run", "glide", "totals"} <= kinds
    page = places["--report"].read_text()
    assert "ft/Ah" in page
    assert "Demo 2.5 m, invented" in page


def test_several_logs_share_one_table_and_one_report(call, log_path, log_text) -> None:
    other = log_path.with_name("other.csv")
    other.write_text(log_text)
    table, page = log_path.with_name("o.csv"), log_path.with_name("o.html")
    assert call("analyze", log_path, other, "--csv", table, "--report", page).status == 0
    assert {row["log"] for row in csv.DictReader(io.StringIO(table.read_text()))} == {"flight.csv", "other.csv"}
    assert 'href="#log-2"' in page.read_text()


def test_a_broken_log_among_several_keeps_no_other_from_its_results(call, log_path, tmp_path) -> None:
    broken = tmp_path / "broken.csv"
    broken.write_text("")
    done = call("analyze", broken, log_path, tmp_path / "missing.csv", "--json", "-")
    assert done.status == 2
    assert [json.loads(line)["log"]["name"] for line in done.out.splitlines()] == ["flight.csv"]
    complaints = done.err.splitlines()
    assert len(complaints) == 2
    assert "broken.csv" in complaints[0]
    assert "missing.csv" in complaints[1]


def test_a_log_without_permission_is_refused_by_the_reader_like_any_other(call, log_path, monkeypatch) -> None:
    monkeypatch.setattr("os.access", lambda *_: False)  # what the option parser would ask, and end the whole command
    assert call("analyze", log_path).status == 0


def test_when_no_log_can_be_read_no_document_is_written(call, tmp_path) -> None:
    target = tmp_path / "out.json"
    assert call("analyze", tmp_path / "missing.csv", "--json", target, "--csv", tmp_path / "o.csv").status == 2
    assert list(tmp_path.iterdir()) == []


@pytest.mark.parametrize(
    ("arguments", "words"),
    [
        (["--json", "-", "--csv", "-"], "--json and --csv cannot both go to standard output"),
        (["--map", "Height"], "'Height' is no column map"),
        (["--map", "=altitude_m"], "is no column map"),
        (["--units", "furlongs"], "furlongs"),
        (["--setup", "{folder}/none.toml"], "no such file"),
        (["--nonsense"], "--nonsense"),
        (["--json", "{folder}/flight.csv"], "would overwrite the input"),
        (["--csv", "{folder}/none/x.csv"], "its folder does not exist"),
        (["--report", "{folder}"], "is a folder"),
    ],
)
def test_wrong_use_is_one_line_and_status_2(call, log_path, arguments: list[str], words: str) -> None:
    before = log_path.read_text()
    done = call("analyze", log_path, *(text.format(folder=log_path.parent) for text in arguments))
    assert done.status == 2
    assert words in done.complaint
    assert done.complaint.startswith("climbledger: ")
    assert ";" in done.complaint, "the line says what to do"
    assert log_path.read_text() == before


def test_one_document_that_cannot_be_written_keeps_no_other_from_being_written(call, log_path) -> None:
    good = log_path.with_name("good.json")
    done = call("analyze", log_path, "--csv", log_path.parent / "none" / "x.csv", "--json", good)
    assert done.status == 2
    assert json.loads(good.read_text())


def test_a_column_map_reaches_the_reader(call, log_path, log_text) -> None:
    log_path.write_text(log_text.replace("altitude_m", "zz_top", 1))
    assert call("analyze", log_path, "--json", "-").status == 2
    done = call("analyze", log_path, "--map", "zz_top=altitude_m [ft]", "--json", "-")
    assert done.status == 0
    highest = json.loads(done.out)["totals"]["max_altitude_m"]
    assert highest == pytest.approx(304 * 0.3048, rel=0.02)


def test_an_unexpected_problem_is_one_line_that_asks_for_a_report(call, log_path, monkeypatch) -> None:
    import analyzer.analysis

    def broken(*_: object) -> None:
        raise ZeroDivisionError("division\nby zero")

    monkeypatch.setattr(analyzer.analysis, "analyze_log", broken)
    done = call("analyze", log_path)
    assert done.status == 2
    assert "unexpected problem (ZeroDivisionError: division by zero)" in done.complaint
    assert "flight.csv" in done.complaint
    assert "report it" in done.complaint
    monkeypatch.setenv("CLIMBLEDGER_DEBUG", "1")
    assert "Traceback" in call("analyze", log_path).err


def test_data_that_cannot_give_the_answer_is_status_1(call, log_path, monkeypatch) -> None:
    import analyzer.analysis
    from analyzer.errors import NoAnswerError

    def unanswered(*_: object) -> None:
        raise NoAnswerError("no flight in it", source="flight.csv", remedy="log from before the start")

    monkeypatch.setattr(analyzer.analysis, "analyze_log", unanswered)
    done = call("analyze", log_path)
    assert done.status == 1
    assert done.complaint == "climbledger: flight.csv: no flight in it; log from before the start"


def test_a_file_name_cannot_drive_the_terminal(call, tmp_path: Path) -> None:
    done = call("analyze", tmp_path / "a\x1b[2Jb\nc.csv")
    assert done.status == 2
    assert "\x1b" not in done.err
    assert done.complaint


def test_ctrl_c_stops_quietly(call, log_path, monkeypatch) -> None:
    import analyzer.analysis

    def interrupted(*_: object) -> None:
        raise KeyboardInterrupt

    monkeypatch.setattr(analyzer.analysis, "analyze_log", interrupted)
    done = call("analyze", log_path)
    assert done.status == 130
    assert done.complaint == "climbledger: stopped"


def test_a_log_goes_into_the_logbook_once(call, log_path, tmp_path) -> None:
    book = tmp_path / "book.sqlite"
    first = call("analyze", log_path, "--logbook", book, "--json", "-")
    assert first.status == 0
    assert json.loads(first.out)
    assert "flight.csv: added to the logbook" in first.complaint
    assert "already in the logbook" in call("analyze", log_path, "--logbook", book).complaint


def test_a_logbook_that_cannot_be_opened_costs_no_waiting(call, log_path, tmp_path) -> None:
    (tmp_path / "book.sqlite").write_text("this is no database, but a text of some length\n" * 100)
    done = call("analyze", log_path, "--logbook", tmp_path / "book.sqlite")
    assert done.status == 2
    assert done.out == ""
    assert "book.sqlite" in done.complaint


def test_a_hostile_log_is_shown_and_obeyed_nowhere(call, log_path, log_text) -> None:
    header, *rows = log_text.splitlines()
    evil = "=cmd|'/c calc'!A1<script>alert(1)</script>\x1b[2J"
    lines = [f"{header},{evil},Flight mode", *(f"{row},1,<img src=x onerror=alert(1)>" for row in rows), ""]
    log_path.write_text("\n".join(lines))
    table, page = log_path.with_name("o.csv"), log_path.with_name("o.html")
    done = call("analyze", log_path, "--csv", table, "--report", page)
    assert done.status == 0, done.err
    assert "alert(1)" in done.out, "it is shown"
    assert "\x1b" not in done.out + done.err
    for cell in (cell for row in csv.reader(io.StringIO(table.read_text())) for cell in row):
        assert not cell.startswith(("=", "+", "@"))
    text = page.read_text()
    assert "&lt;script&gt;alert(1)" in text
    assert "<script>alert(1)" not in text
    assert "<img" not in text.split("<script>")[0]


@pytest.mark.parametrize(
    ("target", "said"), [("foo", "no channel 'foo'"), ("rpm [m]", "'m' is no unit of rpm; its units are rpm, krpm, Hz")]
)
def test_an_impossible_column_map_in_the_setup_names_the_setup(call, log_path, tmp_path, target, said) -> None:
    setup = tmp_path / "odd.toml"
    setup.write_text(f'name = "x"\n[telemetry]\ncolumns = {{ "rpm" = "{target}" }}\n')
    done = call("analyze", log_path, "--setup", setup)
    assert done.status == 2
    assert f"{setup}, column map 'rpm': {said}" in done.complaint


def test_one_setup_serves_loggers_whose_headers_differ(call, log_path, tmp_path) -> None:
    setup = tmp_path / "model.toml"
    setup.write_text('name = "x"\n[telemetry]\ncolumns = { "Hgt" = "altitude_m [ft]", "rpm" = "ignore" }\n')
    done = call("analyze", log_path, "--setup", setup, "--json", "-")
    assert done.status == 0, done.err
    log = json.loads(done.out)["log"]
    (absent,) = (notice["message"] for notice in log["notices"] if notice["code"] == "column-absent")
    assert absent.startswith("no column 'Hgt', which the setup's column map names")
    assert "rpm" not in log["channels"]


def test_a_header_that_the_log_lacks_is_wrong_on_the_command_line(call, log_path, tmp_path) -> None:
    setup = tmp_path / "model.toml"
    setup.write_text('name = "x"\n[telemetry]\ncolumns = { "Hgt" = "altitude_m [ft]" }\n')
    for options in ((), ("--setup", setup)):
        done = call("analyze", log_path, *options, "--map", "Hgt=altitude_m [ft]")
        assert done.status == 2
        assert "no column 'Hgt'; the headers are 'time_s', 'altitude_m'" in done.complaint
