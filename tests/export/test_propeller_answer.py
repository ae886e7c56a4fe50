"""Was the propeller better? Answered from the flights that were kept."""

from __future__ import annotations

from dataclasses import replace

import pytest
from made_flight import made_run, made_summary

from analyzer.comparison.flights import LoggedFlight
from analyzer.export.propeller_answer import propeller_answer


def flown(propeller: str, per_ah_m: float, number: int) -> LoggedFlight:
    """A flight of four climbs that scatter by 1 % about a height per charge of 0.2 Ah each."""
    runs = tuple(
        replace(
            made_run(height_gain_m=per_ah_m * 0.2 * share, charge_ah=0.2),
            climb_per_ah_m=per_ah_m * share,
            start_s=100.0 * place,
            end_s=100.0 * place + 28.0,
        )
        for place, share in enumerate((0.99, 1.0, 1.01, 1.0), start=1)
    )
    summary = made_summary(motor_runs=runs, thermal_climbs=())
    summary = replace(summary, log=replace(summary.log, sha256=f"{number}" + 63 * "0", name=f"{number}.csv"))
    return LoggedFlight(summary, propeller=propeller, day="2026-05-16")


KEPT = [flown("12x6", 500.0, 1), flown("12x6", 505.0, 2), flown("14x8", 700.0, 3)]


@pytest.mark.parametrize(
    ("one", "begins", "state"),
    [
        (flown("14x8", 705.0, 4), "Further per Ah than 12x6: 14x8 climbs 4", "good"),
        (flown("12x6", 502.0, 4), "Less far per Ah than 14x8: 14x8 climbs ", "open"),
        (flown("13x7", 500.0, 4), "Less far per Ah than 14x8, no difference shown to 12x6: ", "open"),
        (flown("", 705.0, 4), "Not compared: a setup names the propeller.", "open"),
    ],
)
def test_the_flights_propeller_is_set_beside_each_other_one(one: LoggedFlight, begins: str, state: str) -> None:
    answer = propeller_answer(one, KEPT)
    assert answer.said.startswith(begins)
    assert answer.state == state
    assert answer.headline.endswith(":")


def test_a_flight_that_is_kept_already_counts_once() -> None:
    assert propeller_answer(KEPT[2], KEPT) == propeller_answer(KEPT[2], KEPT[:2])


def test_one_flight_each_tells_nothing_and_that_is_said() -> None:
    answer = propeller_answer(flown("14x8", 705.0, 4), KEPT[:1])
    assert answer.said == (
        "Not compared: each was flown in one flight only, whose air cannot be told from the propeller; "
        "fly two more flights of each, in turn, on one day."
    )


def test_without_another_propeller_it_says_what_is_missing() -> None:
    assert "no climbs with another propeller yet" in propeller_answer(KEPT[0], KEPT[:2]).said
