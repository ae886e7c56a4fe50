"""``climbledger compare`` on a logbook of invented flights."""

from __future__ import annotations

import hashlib
import json
from collections.abc import Callable
from pathlib import Path

import numpy as np
import pytest
from accuracy.simulated_days import TestDay, simulate_day

from analyzer.logbook import Edits, open_logbook
from analyzer.logbook.stored_setup import pack_setup
from analyzer.logbook.work import Analysed, Job, as_json


@pytest.fixture(scope="module")
def logbook(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """One invented day with three propellers, as if its logs had been analysed."""
    path = tmp_path_factory.mktemp("logbook") / "day.sqlite"
    keep(simulate_day(np.random.default_rng(12), (0.0, 0.15, 0.02), runs=(8, 10), flights=(3, 4)), path)
    return path


def keep(day: TestDay, path: Path) -> None:
    """Put a day's flights into a logbook."""
    with open_logbook(path) as book:
        for number, flown in enumerate(day.flights):
            data = f"invented {number}".encode()
            summary = flown.summary
            found = Analysed(
                hashlib.sha256(data).hexdigest(),
                summary.log.name,
                "",
                None,
                3,
                as_json(summary.totals),
                as_json(summary),
            )
            edits = Edits(
                propeller=flown.propeller,
                place="Larkmoor" if number % 2 else "Dunes",
                day=flown.day,
                tags={"even": str(number % 2)},
            )
            assert book.store(Job(summary.log.name, data, pack_setup(flown.setup)), found, edits).status == "added"


def test_the_answer_is_on_the_terminal(call: Callable, logbook: Path) -> None:
    outcome = call("compare", "--logbook", logbook)
    assert outcome.status == 0, outcome.err
    assert "13x7 climbs" in outcome.out
    assert "further per Ah than 12x6" in " ".join(outcome.out.split())
    assert outcome.err == ""


def test_the_document_is_alone_on_standard_output(call: Callable, logbook: Path) -> None:
    outcome = call("compare", "--logbook", logbook, "--json", "-", "--metric", "climb_rate_m_s")
    document = json.loads(outcome.out)
    assert (document["metric"], document["by"]) == ("climb_rate_m_s", "propeller")
    assert len(document["differences"]) == 3
    assert outcome.err == ""


def test_the_report_stands_alone(call: Callable, logbook: Path, tmp_path: Path) -> None:
    outcome = call("compare", "--logbook", logbook, "--report", tmp_path / "out.html")
    assert outcome.status == 0
    assert "further per Ah" in " ".join(outcome.out.split())
    page = (tmp_path / "out.html").read_text(encoding="utf-8")
    assert "<li>13x7 climbs" in page
    assert "default-src 'none'" in page
    assert 'src="http' not in page
    assert outcome.complaint.endswith("out.html")


def test_a_choice_narrows_it(call: Callable, logbook: Path) -> None:
    everything = json.loads(call("compare", "--logbook", logbook, "--json", "-").out)
    some = json.loads(call("compare", "--logbook", logbook, "--json", "-", "--where", "place=Larkmoor").out)
    runs = [sum(group["runs"] for group in document["groups"]) for document in (everything, some)]
    assert 0 < runs[1] < runs[0]


def test_a_tag_can_be_compared_by(call: Callable, logbook: Path) -> None:
    document = json.loads(call("compare", "--logbook", logbook, "--json", "-", "--by", "even").out)
    assert {group["name"] for group in document["groups"]} == {"0", "1"}


@pytest.mark.parametrize(
    ("arguments", "status", "words"),
    [
        (["--where", "propeller=13x7"], 1, "of one propeller alone, 13x7"),
        (["--where", "place=Nowhere"], 1, "of 10 logs none fits"),
        (["--since", "2027-01-01"], 1, "of 10 logs none fits"),
        (["--metric", "sink_rate_m_s", "--by", "motor"], 1, "of one motor"),
        (["--by", "colour"], 2, "nothing is called 'colour'"),
        (["--where", "propeller"], 2, "is no condition"),
        (["--until", "yesterday"], 2, "is no date"),
        (["--metric", "height"], 2, "height"),
    ],
)
def test_no_answer_and_wrong_use_are_told_apart(
    call: Callable, logbook: Path, arguments: list[str], status: int, words: str
) -> None:
    outcome = call("compare", "--logbook", logbook, *arguments)
    assert outcome.status == status
    assert words in outcome.complaint
    assert outcome.out == ""


def test_where_no_pair_can_be_compared_the_means_are_shown_and_what_to_fly(call: Callable, tmp_path: Path) -> None:
    """Three propellers, one flight with each: the status is that of data without an answer."""
    keep(simulate_day(np.random.default_rng(3), (0.0, 0.1, 0.0), runs=(3, 4), flights=(1, 1)), tmp_path / "l.sqlite")
    outcome = call("compare", "--logbook", tmp_path / "l.sqlite")
    assert outcome.status == 1
    assert "CLIMB PER AMP-HOUR BY PROPELLER" in outcome.out
    assert "fly two more flights of each" in " ".join(outcome.out.split())


def test_no_logbook_is_wrong_use(call: Callable, tmp_path: Path) -> None:
    outcome = call("compare", "--logbook", tmp_path / "none.sqlite")
    assert outcome.status == 2
    assert "there is no logbook yet" in outcome.complaint
    assert not (tmp_path / "none.sqlite").exists()
