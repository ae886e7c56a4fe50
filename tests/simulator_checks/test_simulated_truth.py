"""The truth is what the vocabulary says, and adds up."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from itertools import pairwise

import numpy as np
import pytest
from simulator import SimulatedFlight, scenario_for, simulate
from simulator.flight import STEP_S
from simulator.scenario import Defects, Phase, ThermalSpec
from simulator.truth import joined_rises, smooth_over_circle, sustained_rises

Fly = Callable[..., SimulatedFlight]


@pytest.fixture(scope="module", params=[("normal", 4), ("hard", 2), ("hard", 8)])
def flight(request: pytest.FixtureRequest) -> SimulatedFlight:
    difficulty, seed = request.param
    return simulate(scenario_for(difficulty, seed), seed)


def test_segments_cover_the_log_in_order(flight: SimulatedFlight) -> None:
    segments = flight.truth.segments
    assert segments[0].start_s == 0.0
    assert segments[-1].end_s == pytest.approx(flight.truth.duration_s)
    assert all(a.end_s == b.start_s and a.kind != b.kind for a, b in pairwise(segments))


def test_figures_belong_to_segments(flight: SimulatedFlight) -> None:
    truth = flight.truth
    for kind, records in (
        ("motor_run", truth.motor_runs), ("glide", truth.glides), ("thermal_climb", truth.thermal_climbs),
    ):  # fmt: skip
        spans = [(s.start_s, s.end_s) for s in truth.segments if s.kind == kind]
        assert np.allclose([(r.start_s, r.end_s) for r in records], spans)


def test_thermal_climbs_are_long_and_high_enough(flight: SimulatedFlight) -> None:
    for climb in flight.truth.thermal_climbs:
        assert climb.end_s - climb.start_s >= 20.0
        assert climb.energy_gain_m > 9.0  # 10 m of smoothed energy


def test_run_charge_and_energy_are_the_integrals_over_the_trace(flight: SimulatedFlight) -> None:
    trace, totals = flight.trace, flight.truth.totals
    runs = flight.truth.motor_runs
    motor_ah = float(trace["motor_a"].sum() * STEP_S / 3600)
    assert sum(run.charge_ah for run in runs) == pytest.approx(motor_ah)
    used = (trace["charge"].iloc[0] - trace["charge"].iloc[-1]) * flight.scenario.pack.capacity_ah
    assert totals.charge_ah == pytest.approx(used, rel=2e-3)
    assert all(run.climb_per_ah_m == pytest.approx(run.height_gain_m / run.charge_ah) for run in runs)


def test_flights_hold_everything_that_is_airborne(flight: SimulatedFlight) -> None:
    for segment in flight.truth.segments:
        if segment.kind in ("glide", "thermal_climb"):
            assert any(a <= segment.start_s and segment.end_s <= b + 1e-6 for a, b in flight.truth.flights)


def test_strong_thermal_is_one_climb_though_modulated(fly_calm: Fly) -> None:
    spec = ThermalSpec(core_m_s=3.0, radius_m=28.0, offset_m=16.0, ring=0.2)
    truth = fly_calm(Phase("glide", 15.0), Phase("thermal", 80.0, bank_deg=25.0, thermal=spec)).truth
    assert len(truth.thermal_climbs) == 1
    assert truth.thermal_climbs[0].end_s - truth.thermal_climbs[0].start_s > 70.0


def test_bump_shorter_than_a_circle_is_part_of_the_glide(fly_calm: Fly) -> None:
    spec = ThermalSpec(core_m_s=3.0, radius_m=18.0, offset_m=0.0)
    flight = fly_calm(Phase("glide", 10.0), Phase("bump", 12.0, thermal=spec), Phase("glide", 20.0))
    assert flight.trace["air_vertical_m_s"].max() > 2.0
    assert not flight.truth.thermal_climbs


def test_motor_in_the_hand_is_a_run_that_is_not_airborne() -> None:
    flight = simulate(scenario_for("normal", 4), 4)
    plan = (Phase("wait", 5.0), Phase("hold", 4.0, throttle=0.8), Phase("hold", 5.0), *flight.scenario.plan)
    truth = simulate(replace(flight.scenario, plan=plan), 4).truth
    assert [s.kind for s in truth.segments[:3]] == ["ground", "motor_run", "ground"]
    assert not truth.motor_runs[0].airborne
    assert truth.motor_runs[0].start_s == pytest.approx(5.0, abs=2 * STEP_S)
    assert truth.motor_runs[0].end_s == pytest.approx(9.0, abs=2 * STEP_S)


def test_recorder_that_starts_late_counts_time_from_its_first_moment(fly_calm: Fly) -> None:
    glide = Phase("glide", 40.0)
    whole, part = fly_calm(glide), fly_calm(glide, defects=Defects(starts_late_s=30.0))
    assert part.truth.duration_s == pytest.approx(whole.truth.duration_s - 30.0, abs=STEP_S)
    assert part.truth.segments[0].kind == "glide"
    assert part.truth.segments[-1].end_s + 30.0 == pytest.approx(whole.truth.segments[-1].end_s, abs=2 * STEP_S)


def test_smoothing_over_a_circle_removes_the_circle_and_keeps_the_slope() -> None:
    time = np.arange(0.0, 120.0, STEP_S)
    period = np.full(len(time), 12.0)
    smooth = smooth_over_circle(0.8 * time + 5 * np.sin(2 * np.pi * time / 12.0), period)
    middle = slice(300, -300)
    assert np.allclose(smooth[middle], 0.8 * time[middle], atol=0.05)


@pytest.mark.parametrize(("rate_m_s", "seconds", "climbs"), [(1.0, 30.0, 1), (1.0, 15.0, 0), (0.3, 30.0, 0)])
def test_rise_counts_from_20_s_and_10_m(rate_m_s: float, seconds: float, climbs: int) -> None:
    time = np.arange(0.0, 120.0, STEP_S)
    rate = np.where((time > 40.0) & (time < 40.0 + seconds), rate_m_s, -0.5)
    energy = np.cumsum(rate) * STEP_S
    assert len(sustained_rises(energy, np.full(len(time), np.nan), 0)) == climbs


@pytest.mark.parametrize("ripple_m_s", [0.0, 0.02])
def test_a_ripple_in_a_short_dip_parts_no_climb(ripple_m_s: float) -> None:
    time = np.arange(0.0, 160.0, STEP_S)
    rate = np.where((time > 40.0) & (time < 120.0), 1.0, -0.5)
    rate[(time > 78.0) & (time < 82.0)] = -0.5
    rate[(time > 79.8) & (time < 80.2)] = ripple_m_s
    energy = np.cumsum(rate) * STEP_S
    joined = joined_rises(energy, np.full(len(time), 9.0))
    assert sum(energy[last] - energy[first] >= 10.0 for first, last in joined) == 1
