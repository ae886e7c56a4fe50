"""The page of candidates: what it offers for a setup, and what it says of one that is not enough."""

from __future__ import annotations

from dataclasses import replace

from analyzer.setup_file import parse_setup
from dashboard.components.as_flown import as_flown
from dashboard.pages.next_propeller import neighbours, wanting
from dashboard.workbench import Workbench, setup_in_use

TAB = "tab"
BARE = 'name = "x"\n[propeller]\ndiameter_in = 14\npitch_in = 8\n[airframe]\nmass_kg = 1.7\n'


def test_what_a_setup_lacks_to_be_corrected_by_its_flight_is_said_as_the_form_calls_it() -> None:
    assert wanting(parse_setup(BARE, source="x")) == (
        "Correcting the data sheets by the flight on screen needs what is not given: Pack: Cells; "
        "Motor: Kv (rpm/V), Resistance (Ω); Airframe: Wing area (m²), Wingspan (m); fill them in on the Setup page."
    )
    flight, *_ = Workbench().open_samples(TAB)
    assert flight.setup is not None
    assert wanting(flight.setup) == ""


def test_the_sizes_around_the_propeller_flown_are_offered() -> None:
    names = [one.name for one in neighbours(parse_setup(BARE, source="x"))]
    assert {"14x8", "12x6", "16x10"} <= set(names)
    assert len(names) == 25
    assert neighbours(parse_setup('name = "x"', source="x")) == []


def test_a_flight_that_corrected_its_setup_leaves_it_so() -> None:
    bench = Workbench()
    flight, *_ = bench.open_samples(TAB)
    text, _ = as_flown(bench, flight)
    again, said = as_flown(bench, replace(flight, setup=setup_in_use(text)))
    assert again == text
    assert "before" in str(said.children)
