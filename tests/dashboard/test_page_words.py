"""What the pages say names their own buttons and pages, not the terminal's options and commands."""

from __future__ import annotations

from pathlib import Path

import pytest
from logbook_logs import log_text

from analyzer.analysis import analyze_bytes
from analyzer.comparison.compare import compare_flights
from analyzer.comparison.flights import LoggedFlight
from analyzer.errors import ClimbledgerError
from analyzer.ingest import read_log_bytes
from analyzer.logbook import open_logbook
from analyzer.match import calibrate
from analyzer.power_system.prediction import predict
from analyzer.setup_file import Setup, parse_setup
from dashboard.components.page_words import on_page

INCOMPLETE = 'name = "x"\n[propeller]\ndiameter_in = 14\npitch_in = 8\n'


def table(header: str) -> bytes:
    rows = "".join(f"{t},{t % 50},{t % 40}\n" for t in range(200))
    return f"{header}\n{rows}".encode()


def of_the_terminal(words: str) -> bool:
    return "--" in words or "climbledger logbook" in words


@pytest.mark.parametrize(
    "header", ["time (s),alt (m),vel", "time (s),alt (zz),b", "time (s),a,b", "alt (m),b,c", "ticks,alt (m),b"]
)
def test_what_is_said_of_columns_leads_to_the_pages_question(header: str) -> None:
    try:
        said = [notice.message for notice in read_log_bytes(table(header), "f.csv").notices]
    except ClimbledgerError as error:
        said = [str(error)]
    asked = [line for line in said if "--map" in line]
    assert asked
    for line in asked:
        assert not of_the_terminal(on_page(line))
        assert "under 'What is in its columns?'" in on_page(line)
        assert "time_s" not in on_page(line)


@pytest.mark.parametrize("by", ["propeller", "place", "pack", "motor"])
def test_what_a_comparison_lacks_is_given_on_a_page(by: str) -> None:
    with pytest.raises(ClimbledgerError) as caught:
        compare_flights([LoggedFlight(analyze_bytes(log_text(), "log.csv").summary)], by)
    assert of_the_terminal(str(caught.value))
    said = on_page(str(caught.value))
    assert not of_the_terminal(said)
    assert "Logbook page" in said


def test_what_a_setup_lacks_is_named_as_the_form_names_it() -> None:
    setup: Setup = parse_setup(INCOMPLETE, source="x")
    for ask in (lambda: predict(setup, ()), lambda: calibrate([], setup)):
        with pytest.raises(ClimbledgerError) as caught:
            ask()
        said = on_page(str(caught.value))
        assert "fill them in on the Setup page" in said
        assert "_" not in said
    assert "Airframe: Mass (kg), Wing area (m²), Wingspan (m)" in said


def test_a_setup_without_a_name_is_told_as_the_form_names_it() -> None:
    with pytest.raises(ClimbledgerError) as caught:
        parse_setup("", source="the setup form")
    assert on_page(str(caught.value)) == "the setup form: Name is missing; fill it in"


def test_an_entry_that_is_gone_is_no_matter_of_the_terminal(tmp_path: Path) -> None:
    with open_logbook(tmp_path / "book.sqlite") as book, pytest.raises(ClimbledgerError) as caught:
        book.get(7)
    assert on_page(str(caught.value)).endswith("there is no entry 7; open the Logbook page anew")


def test_the_keys_of_a_remark_are_the_forms() -> None:
    assert on_page("Check cells and chemistry in [pack], or where") == "Check cells and chemistry in Pack, or where"
    assert on_page('the rpm is the motor\'s: [telemetry] rpm_measured_at = "motor"').endswith(
        'Telemetry: Rpm measured at = "motor"'
    )
    assert on_page("[motor] kv_rpm_per_v, resistance_ohm; [pack] cells") == (
        "Motor: Kv (rpm/V), Resistance (Ω); Pack: Cells"
    )
