"""What the pages can do, without a browser: open, correct, keep, and open nothing that a browser names."""

from __future__ import annotations

import base64
from dataclasses import replace
from pathlib import Path

import pytest
import simulator

from analyzer.errors import InputError, LogFileError
from analyzer.logbook import Edits
from analyzer.segmentation.correction import move_edge
from analyzer.setup_file import read_setup
from dashboard.pages import compare
from dashboard.security import MAX_UPLOAD_BYTES
from dashboard.session import MAX_HELD_BYTES, HeldUpload, OpenFlight, Shelf
from dashboard.upload import decode_upload
from dashboard.workbench import Workbench, setup_in_use

SEED = 79
TAB = "tab-one"
SAMPLE_LOGS = Path(__file__).parents[2] / "sample_logs"


@pytest.fixture(scope="module")
def log_bytes() -> bytes:
    return simulator.simulate(simulator.scenario_for("normal", SEED), SEED).log.to_csv(index=False).encode()


@pytest.fixture
def bench(tmp_path: Path) -> Workbench:
    return Workbench(logbook=str(tmp_path / "book.sqlite"))


def unnamed_columns(header: str) -> bytes:
    rows = "".join(f"{t};{max(0, 3 * (t - 20)) if t < 80 else 180 - (t - 80)}\n" for t in range(200))
    return f"{header}\n{rows}".encode()


def opened(bench: Workbench, data: bytes) -> OpenFlight:
    flight = bench.open_upload(TAB, "f.csv", as_upload(data), None)
    assert flight is not None
    return flight


def as_upload(data: bytes) -> str:
    return "data:text/csv;base64," + base64.b64encode(data).decode()


def test_a_dropped_log_is_on_the_shelf_of_its_tab_alone(bench: Workbench, log_bytes: bytes) -> None:
    flight = opened(bench, log_bytes)
    assert bench.shelf.get(flight.key, TAB) is flight
    assert bench.shelf.get(flight.key, "tab-two") is None


def test_a_correction_changes_the_measures_and_survives_in_the_logbook(bench: Workbench, log_bytes: bytes) -> None:
    flight = bench.keep(opened(bench, log_bytes), Edits(place="Larkmoor"))
    cut = flight.analysis.segmentation
    index = next(i for i, one in enumerate(cut.segments) if one.kind == "glide" and one.duration_s > 20)
    edge_s = cut.segments[index].end_s - 5.0
    corrected = bench.correct(flight, move_edge(cut, index, edge_s, flight.analysis.log))
    assert corrected.analysis.summary.segments[index].end_s == pytest.approx(edge_s)
    again = bench.open_entry(TAB, corrected.logbook_id or 0)
    assert again.is_corrected
    assert again.analysis.summary.segments[index].end_s == pytest.approx(edge_s)


@pytest.mark.parametrize(("sample", "propeller"), [("morning_14x8", None), ("morning_12x6", "13x7")])
def test_a_kept_flight_opens_as_it_was_kept(bench: Workbench, sample: str, propeller: str | None) -> None:
    """With the coefficient table that its setup names, and with the propeller that its pilot named; kept again, too."""
    data, setup = (SAMPLE_LOGS / f"{sample}.csv").read_bytes(), read_setup(SAMPLE_LOGS / f"{sample}.setup.toml")
    with bench.logbook() as book:
        number = book.add(data, f"{sample}.csv", setup=setup, edits=Edits(propeller=propeller)).entry_id or 0
        told, stored = book.summary(number), book.setup(number)
    again = bench.open_entry(TAB, number)
    assert again.analysis.summary == told
    assert told.match
    assert bench.keep(again, Edits(note="again")).logbook_id == number
    with bench.logbook() as book:
        assert book.setup(number) == stored


def test_a_flight_kept_with_another_propeller_than_its_setups_is_held_against_that_one(bench: Workbench) -> None:
    flight = opened(bench, (SAMPLE_LOGS / "morning_12x6.csv").read_bytes())
    flown = bench.with_setup(flight, read_setup(SAMPLE_LOGS / "morning_12x6.setup.toml"))
    number = bench.keep(flown, Edits(propeller="13x7")).logbook_id or 0
    with bench.logbook() as book:
        told = book.summary(number)
    assert told.match != flown.analysis.summary.match
    assert bench.open_entry(TAB, number).analysis.summary == told


def test_what_is_said_of_a_log_that_is_kept_already_counts(bench: Workbench, log_bytes: bytes) -> None:
    """Dropped again another day: place, note, setup and corrections are not lost without a word."""
    bench.keep(opened(bench, log_bytes), Edits(place="Larkmoor", note="calm"))
    setup = setup_in_use('name = "x"\n[propeller]\ndiameter_in = 14\npitch_in = 8\n')
    again = bench.with_setup(opened(bench, log_bytes), setup)
    cut = again.analysis.segmentation
    corrected = bench.correct(again, move_edge(cut, 0, cut.segments[0].end_s - 1.0, again.analysis.log))
    entry_id = bench.keep(corrected, Edits(note="gusty")).logbook_id or 0
    with bench.logbook() as book:
        entry = book.get(entry_id)
    assert (entry.place, entry.note, entry.propeller) == ("Larkmoor", "gusty", "14x8")
    assert bench.open_entry(TAB, entry_id).analysis.segmentation == corrected.analysis.segmentation


def test_corrections_are_taken_back_one_by_one_in_the_logbook_too(bench: Workbench, log_bytes: bytes) -> None:
    flight = bench.keep(opened(bench, log_bytes), Edits())
    found = flight.analysis.segmentation
    index = next(i for i, one in enumerate(found.segments) if one.kind == "glide" and one.duration_s > 20)
    once, twice = (
        move_edge(found, index, found.segments[index].end_s - by_s, flight.analysis.log) for by_s in (5.0, 9.0)
    )
    assert bench.correct(flight, found) is flight
    changed = bench.correct(bench.correct(flight, once), twice)
    assert bench.undo(changed).analysis.segmentation == once
    undone = bench.undo(bench.undo(changed))
    assert undone.analysis.segmentation == found
    assert bench.undo(undone) is undone
    assert bench.open_entry(TAB, flight.logbook_id or 0).analysis.segmentation == found


def test_a_flight_taken_out_of_the_logbook_stays_on_screen_and_can_be_kept_again(
    bench: Workbench, log_bytes: bytes
) -> None:
    flight = bench.keep(opened(bench, log_bytes), Edits())
    assert bench.remove_entry(TAB, flight.logbook_id or 0) == "f.csv"
    assert bench.kept_flights() == ()
    left = bench.shelf.get(flight.key, TAB)
    assert left is not None
    assert left.logbook_id is None
    assert bench.keep(left, Edits()).logbook_id is not None


def test_another_setup_measures_anew_and_keeps_the_segments(bench: Workbench, log_bytes: bytes) -> None:
    flight = opened(bench, log_bytes)
    assert flight.analysis.summary.power_system.limits == ()
    setup = setup_in_use('name = "x"\n[speed_controller]\ncontinuous_current_a = 40\n')
    changed = bench.with_setup(flight, setup)
    assert [limit.limit for limit in changed.analysis.summary.power_system.limits] == [40]
    assert changed.analysis.segmentation is flight.analysis.segmentation


def test_the_shelf_forgets_the_least_recently_used(bench: Workbench, log_bytes: bytes) -> None:
    flight = opened(bench, log_bytes)
    shelf = Shelf(max_bytes=2 * flight.size_bytes + 1)
    for key in ("a", "b", "c"):
        shelf.put(replace(flight, key=key))
    assert [one.key for one in shelf.of_tab(TAB)] == ["b", "c"]


def test_the_invented_flights_of_many_tabs_push_no_flight_off_the_shelf(bench: Workbench, log_bytes: bytes) -> None:
    flight = opened(bench, log_bytes)
    for number in range(100):
        assert bench.open_samples(f"tab {number}")
    assert bench.shelf.get(flight.key, TAB) is flight


def test_logs_dropped_together_are_asked_about_one_after_another(bench: Workbench) -> None:
    for header in ("Zt;Qx", "Rt;Vx", "Zt;Qx"):
        assert bench.open_upload(TAB, f"{header[:2]}.csv", as_upload(unnamed_columns(header)), None) is None
    bench.open_held(TAB, None, {"Zt": "time_s", "Qx": "altitude_m"})
    assert [flight.title for flight in bench.shelf.of_tab(TAB)] == ["Zt.csv", "Zt.csv"]
    assert [held.name for held in bench.shelf.held(TAB)] == ["Rt.csv"]
    with pytest.raises(InputError):
        bench.open_held(TAB, None, {})
    assert [held.name for held in bench.shelf.held(TAB)] == ["Rt.csv"]


def test_uploads_held_for_an_answer_are_bounded() -> None:
    shelf = Shelf()
    for name in ("a", "b", "c"):
        shelf.hold(TAB, HeldUpload(name, bytes(MAX_HELD_BYTES // 2), "", ()))
    assert [held.name for held in shelf.held(TAB)] == ["b", "c"]


def test_an_invented_flight_is_not_kept(bench: Workbench, log_bytes: bytes) -> None:
    flight: OpenFlight = opened(bench, log_bytes)
    with pytest.raises(InputError, match="invented"):
        bench.keep(replace(flight, is_sample=True), Edits())


def test_a_log_that_needs_an_answer_is_held_and_remembered(bench: Workbench) -> None:
    upload = as_upload(unnamed_columns("Zt;Qx"))
    assert bench.open_upload(TAB, "odd.csv", upload, None) is None
    assert [column.header for column in bench.shelf.held(TAB)[0].columns] == ["Zt", "Qx"]
    flight, signature = bench.open_held(TAB, None, {"Zt": "time_s", "Qx": "altitude_m"})
    assert flight.analysis.summary.totals.max_altitude_m == pytest.approx(180, abs=5)
    again = bench.open_upload(TAB, "odd.csv", upload, None, {signature: flight.columns})
    assert again is not None
    assert again.analysis.summary.log.sha256 == flight.analysis.summary.log.sha256
    with pytest.raises(InputError, match="no longer here"):
        bench.open_held(TAB, None, {})


def test_a_wrong_answer_about_columns_is_given_anew_and_reaches_the_logbook(bench: Workbench) -> None:
    rows = "".join(f"{t};{100 + t % 7};{max(0, 3 * (t - 20)) if t < 80 else 180 - (t - 80)}\n" for t in range(200))
    upload = as_upload(f"Zt;Qx;Qy\n{rows}".encode())
    bench.open_upload(TAB, "odd.csv", upload, None)
    wrong, _ = bench.open_held(TAB, None, {"Zt": "time_s", "Qx": "altitude_m [ft]", "Qy": "ignore"})
    bench.keep(wrong, Edits(place="Larkmoor"))
    bench.ask_again(wrong)
    bench.ask_again(wrong)
    (held,) = bench.shelf.held(TAB)
    assert [(one.channel, one.unit) for one in held.columns] == [("time_s", None), ("altitude_m", "ft"), (None, None)]
    right, signature = bench.open_held(TAB, None, {"Zt": "time_s", "Qx": "ignore", "Qy": "altitude_m [m]"})
    assert [flight.key for flight in bench.shelf.of_tab(TAB)] == [right.key]
    assert right.analysis.summary.totals.max_altitude_m == pytest.approx(180, abs=5)
    entry_id = bench.keep(right, Edits()).logbook_id or 0
    with bench.logbook() as book:
        assert book.get(entry_id).place == "Larkmoor"
        assert book.get(entry_id).totals.max_altitude_m == pytest.approx(180, abs=5)
    again = bench.open_upload(TAB, "odd.csv", upload, None, {signature: right.columns})
    assert again is not None
    assert again.analysis.summary.totals.max_altitude_m == pytest.approx(180, abs=5)


@pytest.mark.parametrize("contents", ["", "data:text/csv;base64", "data:text/csv;base64,@@@"])
def test_an_upload_that_did_not_arrive_whole_is_refused(contents: str) -> None:
    if "," in contents:
        with pytest.raises(LogFileError, match="whole"):
            decode_upload("f.csv", contents)
    else:
        assert decode_upload("f.csv", contents) == b""


def test_too_large_an_upload_is_refused_before_it_is_decoded() -> None:
    with pytest.raises(InputError, match="MB is more than"):
        decode_upload("f.csv", "data:," + "A" * (MAX_UPLOAD_BYTES * 4 // 3 + 8))


def test_no_path_that_a_browser_names_is_opened() -> None:
    text = 'name = "x"\n[propeller]\ndiameter_in = 14\npitch_in = 8\ncoefficients_csv = "/etc/passwd"\n'
    setup = setup_in_use(text)
    assert setup is not None
    assert setup.value("propeller.coefficients_csv") is None


def test_a_tag_called_like_a_grouping_is_offered_once(bench: Workbench, log_bytes: bytes) -> None:
    """The page's select refuses an option that stands there twice, and with it the whole page."""
    bench.keep(opened(bench, log_bytes), Edits(tags={"pack": "blue", "wind": "calm"}))
    offered = next(
        [option["value"] for option in part.data]
        for part in compare.layout(bench)._traverse()
        if getattr(part, "id", None) == compare.BY
    )
    assert sorted(offered) == sorted({*offered})
    assert "wind" in offered


def test_a_flights_propeller_is_set_beside_those_of_the_logbook(bench: Workbench, log_bytes: bytes) -> None:
    assert "setup names the propeller" in bench.beside_others(opened(bench, log_bytes)).said
    kept = bench.keep(opened(bench, log_bytes), Edits())
    setup = setup_in_use('name = "x"\n[propeller]\ndiameter_in = 14\npitch_in = 8\n')
    assert "setup names the propeller" not in bench.beside_others(bench.with_setup(kept, setup)).said
    (sample, *_) = bench.open_samples(TAB)
    assert bench.beside_others(sample).said.startswith("Further per Ah than 12x6")
