"""An rpm that contradicts the speed constant names what would explain it."""

from __future__ import annotations

from dataclasses import replace

import pytest
from match_planted import offsets, planted_runs, planted_setup

from analyzer.match.speed_check import speed_contradiction
from analyzer.match.steady import Reading
from analyzer.power_system.system import power_system

GEARED = ("ratio = 1.2", "ratio = 5.2")


def contradiction(factor: float, *changes: str):
    """Of climbs whose rpm is logged times a factor."""
    setup = planted_setup(*changes)
    true = planted_setup(*[part.replace('"propeller"', '"motor"') for part in changes]) if changes else setup
    runs = planted_runs(true, offsets(), count=3)
    wrong = [replace(run, speed_rev_s=Reading(run.speed_rev_s.value * factor, 0.1)) for run in runs]
    return speed_contradiction(setup, power_system(setup), wrong)


def test_a_right_rpm_contradicts_nothing() -> None:
    assert contradiction(1.0) is None
    assert contradiction(1.05) is None


def test_the_propellers_rpm_taken_for_the_motors() -> None:
    found = contradiction(1.0 / 5.2, *GEARED)
    assert found.factor == pytest.approx(1.0 / 5.2, rel=0.02)
    assert 'rpm_measured_at = "propeller"' in found.explanations[0]


def test_the_motors_rpm_taken_for_the_propellers() -> None:
    at_propeller = ("[gearbox]", '[telemetry]\nrpm_measured_at = "propeller"\n[gearbox]')
    found = contradiction(5.2, *GEARED, *at_propeller)
    assert 'rpm_measured_at = "motor"' in found.explanations[0]


@pytest.mark.parametrize(("factor", "words"), [(1.5, "three blades"), (2 / 3, "two blades")])
def test_blades_of_an_optical_sensor(factor: float, words: str) -> None:
    at_propeller = ("[gearbox]", '[telemetry]\nrpm_measured_at = "propeller"\n[gearbox]')
    assert any(words in said for said in contradiction(factor, *at_propeller).explanations)


@pytest.mark.parametrize(
    ("factor", "words"),
    [(7.0, "7 times too low"), (1 / 7, "7 times too high"), (7 / 6, "set to 6 where 7")],
)
def test_pole_pairs(factor: float, words: str) -> None:
    assert any(words in said for said in contradiction(factor).explanations)


def test_another_gear() -> None:
    at_propeller = ("[gearbox]", '[telemetry]\nrpm_measured_at = "propeller"\n[gearbox]')
    found = contradiction(5.2 / 6.7, *GEARED, *at_propeller)
    assert any("6.7:1 instead of 5.2:1" in said for said in found.explanations)


def test_what_nothing_explains_is_said_as_a_speed_constant() -> None:
    found = contradiction(4.5)
    assert not found.explanations
    assert "4950 rpm/V" in found.said(1100.0)


def test_without_rpm_nothing_is_said() -> None:
    setup = planted_setup()
    runs = [replace(run, speed_rev_s=None) for run in planted_runs(setup, offsets(), count=3)]
    assert speed_contradiction(setup, power_system(setup), runs) is None
