"""The correction to common conditions against the exactly solved motor, and its limits."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest
from accuracy.simulated_days import Drive, drive_with, motor_run, sink_m_s, summary_of
from made_setup import made_setup

from analyzer.comparison.conditions import common_conditions, corrected, correction_errors, furthest_from
from analyzer.comparison.flights import Candidate, Conditions, LoggedFlight
from analyzer.comparison.metrics import METRICS, metric_named
from analyzer.comparison.records import Reference
from analyzer.comparison.tuning import TUNING
from analyzer.errors import OptionError
from analyzer.match.climb_model import Conditions as ClimbConditions
from analyzer.match.climb_model import climb_model
from analyzer.match.tuning import TUNING as MATCH
from analyzer.power_system.coefficients import propeller_curves
from analyzer.power_system.propeller import Propeller
from analyzer.power_system.system import power_system
from analyzer.power_system.variants import PARAMETERS

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


def flown_by(propeller: Propeller, mass_kg: float, density_ratio: float, rest_v: float, airspeed_m_s: float | None):
    """A full-throttle climb of the power system with a wind-tunnel propeller: airspeed, current, climb rate."""
    setup = made_setup("mass_kg = 2.1", f"mass_kg = {mass_kg}")
    state = ClimbConditions(np.array([rest_v]), np.ones(1), np.array([density_ratio]))
    model = climb_model(power_system(setup), propeller_curves(propeller), state)
    still = np.zeros(len(PARAMETERS))
    airspeed = model.usual_airspeed_m_s(still, MATCH) if airspeed_m_s is None else np.array([airspeed_m_s])
    made = model.fly(still[None], np.zeros(1, dtype=np.intp), airspeed[None], state.rest_v[None], state.throttle[None])
    return float(airspeed[0]), float(made.current_a[0, 0]), float(made.climb_m_s[0, 0])


CHANGES = {"mass": (2.4, 1.0, 12.0), "density": (2.1, 0.9, 12.0), "voltage": (2.1, 1.0, 11.4)}
MODEL_OHM = 0.025 + 0.003 + 0.025
"""Motor, controller and pack of the made setup."""


@pytest.mark.parametrize("source", list(CHANGES))
def test_the_stated_error_of_a_correction_is_what_wind_tunnel_propellers_show(source: str) -> None:
    """Outside the correction's own equations: the coupled solve with measured C_T and C_P over advance ratio."""
    mass_kg, ratio, rest_v = CHANGES[source]
    apart, stated = [], []
    for size in ((11.0, 6.0), (12.0, 6.0), (12.0, 8.0), (13.0, 7.0)):
        propeller = Propeller(*size)
        usual, _, _ = flown_by(propeller, 2.1, 1.0, 12.0, None)
        for airspeed_m_s in (0.8 * usual, 0.9 * usual, usual):
            _, current_a, climb_m_s = flown_by(propeller, 2.1, 1.0, 12.0, airspeed_m_s)
            truth = 3600.0 * climb_m_s / current_a
            faster = math.sqrt(mass_kg / 2.1 / ratio)  # at one lift coefficient
            _, current_a, climb_m_s = flown_by(propeller, mass_kg, ratio, rest_v, airspeed_m_s * faster)
            lost_v = MODEL_OHM * current_a
            flown = Conditions(mass_kg, 1.225 * ratio, rest_v, lost_v / (rest_v - lost_v), 0.4 * faster)
            reference = Reference(2.1, 1.225, 12.0)
            metric, as_flown = METRICS["climb_per_ah_m"], 3600.0 * climb_m_s / current_a
            value = corrected(metric, as_flown, flown, reference, climb_rate_m_s=climb_m_s, default_sag=0.12)
            apart.append(value / truth - 1.0)
            stated.append(math.hypot(*correction_errors(metric, 1.0, flown, reference, TUNING)))
    assert abs(np.mean(apart)) < 0.5 * np.mean(stated)
    assert 0.6 < math.sqrt(np.mean(np.square(np.array(apart) / stated))) < 1.2


def test_the_error_of_a_correction_is_shared_and_signed() -> None:
    high, low = (Conditions(1.6, 1.2, voltage, 0.1, 0.5) for voltage in (12.6, 11.4))
    metric = METRICS["climb_per_ah_m"]
    errors = [correction_errors(metric, 800.0, flown, REFERENCE, TUNING) for flown in (high, low)]
    assert errors[0][:2] == (0.0, 0.0)
    assert errors[0][2] == pytest.approx(800.0 * 0.3 * math.log(12.0 / 12.6))
    assert errors[0][2] < 0.0 < errors[1][2]
    assert correction_errors(METRICS["sink_rate_m_s"], 0.5, high, REFERENCE, TUNING) == (0.0, 0.0, 0.0)


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
