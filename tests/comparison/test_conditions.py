"""The correction to common conditions against the exactly solved motor, and its limits."""

from __future__ import annotations

from dataclasses import replace

import pytest
from accuracy.simulated_days import Drive, drive_with, motor_run, sink_m_s, summary_of

from analyzer.comparison.conditions import common_conditions, corrected, furthest_from
from analyzer.comparison.flights import Candidate, Conditions, LoggedFlight
from analyzer.comparison.metrics import METRICS, metric_named
from analyzer.comparison.records import Reference
from analyzer.errors import OptionError

REFERENCE = Reference(mass_kg=1.6, air_density_kg_m3=1.2, pack_voltage_v=12.0)
DRIVE = drive_with(8.0, 800.0, 12.0, 1.2, 1.6)


def exact(drive: Drive, key: str, voltage: float, density: float, mass: float) -> float:
    """The metric of a drive, from its solved equations."""
    _, current = drive.speed_and_current(voltage, density)
    climb = drive.climb_m_s(voltage, density, mass)
    return {
        "climb_rate_m_s": climb,
        "mean_current_a": current,
        "climb_per_ah_m": 3600.0 * climb / current,
        "climb_per_wh_m": 3600.0 * climb / (current * voltage),
        "climb_efficiency": mass * 9.80665 * climb / (current * voltage),
        "sink_rate_m_s": sink_m_s(mass, density),
    }[key]


def flown_in(drive: Drive, voltage: float, density: float, mass: float) -> Conditions:
    _, current = drive.speed_and_current(voltage, density)
    lost = current * drive.resistance_ohm
    return Conditions(mass, density, voltage, lost / (voltage - lost), sink_m_s(mass, density))


@pytest.mark.parametrize("key", list(METRICS))
@pytest.mark.parametrize(
    ("voltage", "density", "mass"),
    [(12.6, 1.2, 1.6), (11.4, 1.2, 1.6), (12.0, 1.28, 1.6), (12.0, 1.2, 1.75), (11.6, 1.1, 1.5)],
)
def test_a_value_flown_elsewhere_becomes_that_of_the_reference(
    key: str, voltage: float, density: float, mass: float
) -> None:
    """To 0.5 %, over the range of a day: 5 % of voltage, 10 % of density or mass move it by 5 to 15 %."""
    climb = DRIVE.climb_m_s(voltage, density, mass)
    value = corrected(
        metric_named(key),
        exact(DRIVE, key, voltage, density, mass),
        flown_in(DRIVE, voltage, density, mass),
        REFERENCE,
        climb_rate_m_s=climb,
        default_sag=0.12,
    )
    assert value == pytest.approx(exact(DRIVE, key, 12.0, 1.2, 1.6), rel=0.005)


@pytest.mark.parametrize("key", list(METRICS))
def test_nothing_to_correct_changes_nothing(key: str) -> None:
    conditions = Conditions(1.6, 1.2, 12.0, 0.1, 0.5)
    arguments = {"climb_rate_m_s": 5.0, "default_sag": 0.12}
    assert corrected(metric_named(key), 7.0, conditions, REFERENCE, **arguments) == pytest.approx(7.0)
    unknown = Conditions(None, None, None, None, 0.5)
    assert corrected(metric_named(key), 7.0, unknown, REFERENCE, **arguments) == pytest.approx(7.0)
    assert corrected(metric_named(key), 7.0, conditions, Reference(), **arguments) == pytest.approx(7.0)


def test_signs_are_those_of_experience() -> None:
    """A fresher pack climbs faster and draws more; a heavier model climbs slower and sinks faster."""
    tired = Conditions(1.6, 1.2, 11.4, 0.12, 0.5)
    heavy = Conditions(1.8, 1.2, 12.0, 0.12, 0.5)
    arguments = {"climb_rate_m_s": 5.0, "default_sag": 0.12}
    for key in ("climb_rate_m_s", "mean_current_a"):
        assert corrected(metric_named(key), 5.0, tired, REFERENCE, **arguments) > 5.0
    assert corrected(metric_named("climb_rate_m_s"), 5.0, heavy, REFERENCE, **arguments) > 5.0
    assert corrected(metric_named("sink_rate_m_s"), 0.5, heavy, REFERENCE, **arguments) < 0.5


def candidate(conditions: Conditions) -> Candidate:
    run = motor_run(5.0, 6.0, 30.0, 11.5)
    flown = LoggedFlight(summary_of("a.csv", [run]))
    return Candidate(flown, run, "a/1", "14x8", run.climb_per_ah_m, None, conditions)


def test_the_reference_is_the_median_of_what_was_flown() -> None:
    flown = [candidate(Conditions(1.6, 1.2, voltage, None, 0.5)) for voltage in (11.0, 12.0, 12.4)]
    reference, notices = common_conditions(flown, "propeller", metric_named("climb_per_ah_m"))
    assert reference == Reference(1.6, 1.2, 12.0)
    assert notices == ()


@pytest.mark.parametrize(
    ("by", "missing"), [("airframe", "mass_kg"), ("pack", "pack_voltage_v"), ("setup", "pack_voltage_v")]
)
def test_what_is_compared_is_not_corrected_away(by: str, missing: str) -> None:
    reference, notices = common_conditions(
        [candidate(Conditions(1.6, 1.2, 12.0, None, 0.5))], by, metric_named("climb_per_ah_m")
    )
    assert getattr(reference, missing) is None
    assert any(f"part of the {by}" in notice.message for notice in notices)


def test_what_is_not_known_of_every_run_is_not_corrected_and_said() -> None:
    flown = [candidate(Conditions(1.6, None, 12.0, None, 0.5)), candidate(Conditions(1.6, None, None, None, 0.5))]
    reference, notices = common_conditions(flown, "propeller", metric_named("climb_per_ah_m"))
    assert reference == Reference(mass_kg=1.6)
    messages = " ".join(notice.message for notice in notices)
    assert "air density: no setup or log gives it" in messages
    assert "pack voltage: it is not known of 1 of 2 climbs" in messages


def test_the_furthest_condition_is_named() -> None:
    name, share = furthest_from(Conditions(1.7, 1.2, 9.0, None, 0.5), REFERENCE)
    assert name == "pack voltage"
    assert share == pytest.approx(0.25)


def test_an_unknown_metric_names_the_known_ones() -> None:
    with pytest.raises(OptionError, match="climb_per_ah_m"):
        metric_named("height")


def test_a_lost_climb_rate_still_corrects_the_current() -> None:
    conditions = replace(flown_in(DRIVE, 11.4, 1.2, 1.6), sink_rate_m_s=0.0)
    value = corrected(METRICS["climb_rate_m_s"], 5.0, conditions, REFERENCE, climb_rate_m_s=None, default_sag=0.12)
    assert value > 5.0
