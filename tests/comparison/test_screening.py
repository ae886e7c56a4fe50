"""Which runs are set aside, and the words for it."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import pytest
from accuracy.simulated_days import motor_run, summary_of

from analyzer.comparison.flights import LoggedFlight, candidates_of
from analyzer.comparison.metrics import metric_named
from analyzer.comparison.screening import screen
from analyzer.comparison.tuning import TUNING
from analyzer.records import Glide, MotorRun, ThermalClimb
from analyzer.setup_file import Air, Airframe, Pack, Setup

SETUP = Setup(
    name="invented",
    airframe=Airframe(mass_kg=1.6),
    pack=Pack(internal_resistance_ohm=0.018),
    air=Air(elevation_m=200.0, temperature_c=15.0),
)


def good_runs(**changes: Any) -> list[MotorRun]:
    return [replace(motor_run(10.0 + 200.0 * number, 6.0, 30.0, 11.5), **changes) for number in range(3)]


def flown(
    runs: list[MotorRun], glides: tuple[Glide, ...] = (), climbs: tuple[ThermalClimb, ...] = (), **more: Any
) -> LoggedFlight:
    arguments = {"setup": SETUP, "propeller": "14x8", **more}
    return LoggedFlight(summary_of("a.csv", runs, glides, climbs), **arguments)


def reasons(*flights: LoggedFlight, metric: str = "climb_per_ah_m", by: str = "propeller") -> list[str]:
    chosen = metric_named(metric)
    candidates = candidates_of(flights, by, chosen, TUNING)
    kept, aside = screen(candidates, by, chosen, TUNING)
    assert len(kept) + len(aside) == len(candidates)
    return [entry.why for entry in aside]


def with_odd(**changes: Any) -> LoggedFlight:
    return flown([*good_runs(), replace(motor_run(700.0, 6.0, 30.0, 11.5), **changes)])


def glide(start_s: float, sink: float, length_s: float = 60.0, mode: str | None = None) -> Glide:
    return Glide(start_s, start_s + length_s, sink * length_s, sink, 0.05, mode)


def test_good_runs_are_all_kept() -> None:
    assert reasons(flown(good_runs())) == []


@pytest.mark.parametrize(
    ("changes", "why"),
    [
        ({"on_ground": True}, "on the ground"),
        ({"blip": True}, "too short"),
        ({"end_s": 702.5}, "too short (2.5 s)"),
        ({"climb_per_ah_m": None}, "no climb per amp-hour could be measured"),
        ({"interpolated_charge_share": 0.2}, "20 % of its charge lies in a gap"),
        ({"climb_per_ah_m_se": 300.0}, "measured to within 42 % only"),
        ({"mean_current_a": 12.0}, "part throttle, by its current (13 A, usually 30 A)"),
        ({"mean_voltage_v": 7.4}, "pack voltage is 34 % away from that of the others"),
    ],
)
def test_an_odd_run_is_set_aside_with_its_reason(changes: dict[str, Any], why: str) -> None:
    found = reasons(with_odd(**changes))
    assert len(found) == 1
    assert why in found[0]


def test_throttle_decides_where_it_is_logged() -> None:
    runs = [*good_runs(mean_throttle=1.0), replace(motor_run(700.0, 6.0, 30.0, 11.5), mean_throttle=0.6)]
    assert reasons(flown(runs)) == ["part throttle (60 %)"]


def test_a_throttle_that_never_reaches_full_is_the_groups_full_throttle() -> None:
    assert reasons(flown(good_runs(mean_throttle=0.85))) == []


def test_a_small_propeller_at_full_throttle_is_no_large_one_at_part_throttle() -> None:
    small = [motor_run(run.start_s, 3.0, 14.0, 11.5) for run in good_runs()]
    flights = (flown([*good_runs(), *good_runs()], place="Dunes"), flown(small, place="Dunes", propeller="12x6"))
    assert reasons(*flights, by="place") == []


def test_two_packs_of_other_voltage_are_not_corrected_into_one() -> None:
    """As many runs on three cells as on four: half-way between them neither was flown."""
    runs = [motor_run(10.0 + 200.0 * number, 8.0, 40.0, 15.2) for number in range(3)]
    found = reasons(flown(good_runs()), flown(runs, propeller="15x10"))
    assert found == ["pack voltage is 32 % away from that of the others, too far to correct"] * 3


def test_a_run_into_a_thermal_is_the_thermals_merit() -> None:
    climb = ThermalClimb(50.0, 120.0, 80.0, 1.1, 1.6, 100.0, 180.0, 14.0, None, None)
    assert reasons(flown(good_runs(), climbs=(climb,))) == ["a thermal climb follows: flown in lift"]
    later = replace(climb, start_s=130.0, end_s=200.0)
    assert reasons(flown(good_runs(), climbs=(later,))) == ["begun in a thermal: flown in lift"]


def test_a_run_beside_rising_air_is_set_aside() -> None:
    glides = (glide(60.0, -0.6), *(glide(start, 0.5) for start in (260.0, 460.0, 520.0, 580.0, 640.0)))
    assert reasons(flown(good_runs(), glides)) == ["flown in lift of about 1.1 m/s, by the glides beside it"]


def test_another_flight_mode_is_no_sink() -> None:
    """Half the glides fast, half slow: neither is air."""
    fast, slow = (45.0, 445.0), (245.0, 520.0)
    glides = (*(glide(at, 1.6, mode="speed") for at in fast), *(glide(at, 0.5, mode="cruise") for at in slow))
    assert reasons(flown(good_runs(), glides)) == []


def test_a_log_without_a_propeller_is_set_aside() -> None:
    assert reasons(flown(good_runs(), propeller="")) == ["no propeller is known of this flight"] * 3


def test_glides_of_one_mode_are_compared() -> None:
    glides = (
        glide(60.0, 0.5, mode="cruise"),
        glide(200.0, 0.6, mode="cruise"),
        glide(300.0, 1.4, mode="speed"),
        glide(500.0, 0.5, 5.0),
    )
    found = reasons(flown(good_runs(), glides), metric="sink_rate_m_s")
    assert found == ["too short (5 s)", "in flight mode 'speed'; glides in 'cruise' are compared"]
