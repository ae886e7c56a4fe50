"""``climbledger thermals`` from the outside."""

import json

import pytest

from analyzer.soaring.records import THERMALS_SCHEMA
from analyzer.soaring.session import SESSION_SCHEMA


def test_a_log_as_text(call, log_path):
    outcome = call("thermals", log_path)
    assert outcome.status == 0
    assert outcome.out.startswith("flight.csv")
    assert "SEARCHING BETWEEN CLIMBS" in outcome.out
    assert "flight.csv\n=" in outcome.out


def test_one_log_as_one_document(call, log_path):
    outcome = call("thermals", log_path, "--json", "-")
    (line,) = outcome.out.splitlines()
    document = json.loads(line)
    assert document["schema"] == THERMALS_SCHEMA
    assert document["name"] == "flight.csv"
    assert outcome.err == ""


def test_several_logs_are_one_object_a_line_and_the_sum_last(call, log_path, tmp_path):
    second = tmp_path / "second.csv"
    second.write_text(log_path.read_text())
    outcome = call("thermals", log_path, second, "--json", "-")
    documents = [json.loads(line) for line in outcome.out.splitlines()]
    assert [document["schema"] for document in documents] == [THERMALS_SCHEMA, THERMALS_SCHEMA, SESSION_SCHEMA]
    assert documents[2]["logs"] == 2


def test_json_to_a_file_leaves_the_text(call, log_path, tmp_path):
    outcome = call("thermals", log_path, "--json", tmp_path / "out.json")
    assert json.loads((tmp_path / "out.json").read_text())["schema"] == THERMALS_SCHEMA
    assert outcome.out.startswith("flight.csv")
    assert "wrote" in outcome.err


def test_a_broken_log_keeps_no_other_from_its_results(call, log_path, tmp_path):
    broken = tmp_path / "broken.csv"
    broken.write_bytes(b"\x00\x01\x02")
    outcome = call("thermals", broken, log_path)
    assert outcome.status == 2
    assert "flight.csv" in outcome.out
    assert "broken.csv" in outcome.complaint


def test_the_setup_is_used(call, log_path, setup_path):
    assert call("thermals", log_path, "--setup", setup_path).status == 0


@pytest.mark.parametrize("arguments", [(), ("flight.csv", "--logbook", "book.sqlite")])
def test_either_logs_or_a_logbook(call, arguments):
    outcome = call("thermals", *arguments)
    assert outcome.status == 2
    assert "either logs or '--logbook'" in outcome.complaint


def test_the_input_is_not_overwritten(call, log_path):
    before = log_path.read_text()
    outcome = call("thermals", log_path, "--json", log_path)
    assert outcome.status == 2
    assert log_path.read_text() == before


def test_a_logbook_that_is_not_there(call, tmp_path):
    outcome = call("thermals", "--logbook", tmp_path / "none.sqlite")
    assert outcome.status == 2
    assert "none.sqlite" in outcome.complaint


def test_a_logbook_is_summed_up(call, log_path, tmp_path):
    from analyzer.logbook import open_logbook

    book = tmp_path / "book.sqlite"
    with open_logbook(book) as logbook:
        logbook.add(log_path.read_bytes(), log_path.name)
    outcome = call("thermals", "--logbook", book, "--json", "-")
    assert outcome.status == 0
    assert json.loads(outcome.out)["schema"] == SESSION_SCHEMA
    assert call("thermals", "--logbook", book).out.startswith("1 log together")


def test_an_empty_logbook_has_no_answer(call, tmp_path):
    from analyzer.logbook import open_logbook

    with open_logbook(tmp_path / "book.sqlite"):
        pass
    outcome = call("thermals", "--logbook", tmp_path / "book.sqlite")
    assert outcome.status == 1
    assert "holds no log yet" in outcome.complaint


def test_feet(call, log_path):
    assert "ft/min" in call("thermals", log_path, "--units", "feet").out


def test_a_chosen_climb_is_accepted_and_nonsense_is_not(call, log_path):
    assert call("thermals", log_path, "--next-climb", "1.2").status == 0
    outcome = call("thermals", log_path, "--next-climb", "-3")
    assert outcome.status == 2
    assert "next-climb" in outcome.complaint
