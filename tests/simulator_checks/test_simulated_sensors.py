"""The log is the trace seen through its sensors, with the defects asked for and no others."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

import numpy as np
import pytest
from simulator import SimulatedFlight
from simulator.scenario import Defects, Phase, Recorder, Sensor

from simulator_checks.calm import PERFECT

Fly = Callable[..., SimulatedFlight]
GLIDE = Phase("glide", 30.0)


def with_sensor(name: str, sensor: Sensor, **changes: object) -> Recorder:
    """The perfect recorder with one sensor exchanged."""
    return replace(PERFECT, sensors={**PERFECT.sensors, name: sensor}, **changes)


def test_perfect_sensors_show_the_trace(fly_calm: Fly) -> None:
    flight = fly_calm(GLIDE)
    rows = np.round(flight.log["time_s"] / 0.05).astype(int)
    assert np.allclose(flight.log["altitude_m"], flight.trace["altitude_m"].to_numpy()[rows])
    total = (flight.trace["motor_a"] + flight.trace["avionics_a"]).to_numpy()[rows]
    assert np.allclose(flight.log["current_a"], total)


def test_lag_delays_a_steady_climb_by_itself(fly_calm: Fly) -> None:
    plain = fly_calm(GLIDE)
    lagged = fly_calm(GLIDE, recorder=with_sensor("altitude_m", Sensor(lag_s=0.8)))
    at = plain.log["time_s"].between(24.0, 27.0)
    climb = float(np.gradient(plain.log["altitude_m"][at], plain.log["time_s"][at]).mean())
    late = float((plain.log["altitude_m"][at] - lagged.log["altitude_m"][at]).mean())
    assert late == pytest.approx(0.8 * climb, rel=0.1)


def test_a_late_sensor_shows_what_was(fly_calm: Fly) -> None:
    plain = fly_calm(GLIDE).log
    late = fly_calm(GLIDE, recorder=with_sensor("altitude_m", Sensor(late_s=0.5))).log
    after = plain["time_s"] > 1.0
    before = np.interp(plain["time_s"][after] - 0.5, plain["time_s"], plain["altitude_m"])
    assert np.allclose(late["altitude_m"][after], before, atol=0.02)


def test_filtered_noise_keeps_its_size_and_swings_slowly(fly_calm: Fly) -> None:
    plain = fly_calm(GLIDE).log["altitude_m"]
    filtered = fly_calm(GLIDE, recorder=with_sensor("altitude_m", Sensor(noise=0.3, noise_s=0.25))).log["altitude_m"]
    noise = (filtered - plain).to_numpy()
    assert noise.std() == pytest.approx(0.3, rel=0.25)
    assert np.corrcoef(noise[1:], noise[:-1])[0, 1] == pytest.approx(np.exp(-0.05 / 0.25), abs=0.08)


def test_wash_at_once_knows_no_lag(fly_calm: Fly) -> None:
    lagging = with_sensor("altitude_m", Sensor(lag_s=0.8), propwash_m=2.0)
    plain = fly_calm(GLIDE, recorder=replace(lagging, propwash_m=0.0)).log
    shown = {at_once: fly_calm(GLIDE, recorder=replace(lagging, wash_at_once=at_once)).log for at_once in (True, False)}
    stopped = np.flatnonzero((plain["rpm"].to_numpy()[1:] == 0.0) & (plain["rpm"].to_numpy()[:-1] > 0.0))[-1] + 1
    left = {at_once: (log["altitude_m"] - plain["altitude_m"]).iloc[stopped] for at_once, log in shown.items()}
    assert left[True] == pytest.approx(0.0, abs=0.01)
    assert left[False] > 0.2


def test_quantum_gain_and_offset(fly_calm: Fly) -> None:
    sensor = Sensor(gain=1.02, offset=0.4, quantum=0.1)
    flight = fly_calm(GLIDE, recorder=with_sensor("current_a", sensor))
    plain = fly_calm(GLIDE).log["current_a"]
    assert np.allclose(flight.log["current_a"], 1.02 * plain + 0.4, atol=0.051)
    assert np.allclose(flight.log["current_a"] * 10, np.round(flight.log["current_a"] * 10))


def test_slow_sensor_is_held_or_left_empty(fly_calm: Fly) -> None:
    slow = with_sensor("altitude_m", Sensor(rate_hz=2.0))
    held = fly_calm(GLIDE, recorder=slow).log["altitude_m"]
    sparse = fly_calm(GLIDE, recorder=slow, defects=Defects(sparse=True)).log["altitude_m"]
    climbing = held.iloc[300:500]
    assert climbing.nunique() == pytest.approx(200 / 10, abs=2)
    assert sparse.notna().mean() == pytest.approx(0.1, abs=0.02)


def test_propwash_lifts_the_altitude_while_the_motor_runs(fly_calm: Fly) -> None:
    plain = fly_calm(GLIDE).log
    washed = fly_calm(GLIDE, recorder=replace(PERFECT, propwash_m=2.0)).log
    shift = washed["altitude_m"] - plain["altitude_m"]
    assert shift[plain["rpm"] > 0.9 * plain["rpm"].max()].between(1.5, 2.01).all()
    assert np.allclose(shift[plain["rpm"] == 0.0], 0.0)


def test_gap_in_a_motor_run_takes_rows_out_of_it(fly_calm: Fly) -> None:
    flight = fly_calm(GLIDE, defects=Defects(gaps=1, gap_s=(4.0, 4.0), gap_in_motor_run=True))
    step = np.diff(flight.log["time_s"])
    assert step.max() == pytest.approx(4.0, abs=0.2)
    at = float(flight.log["time_s"].iloc[int(np.argmax(step))])
    run = flight.truth.motor_runs[0]
    assert run.start_s < at
    assert at + step.max() < run.end_s


def test_repeated_stamps_spikes_and_dropouts_come_as_asked(fly_calm: Fly) -> None:
    clean = fly_calm(GLIDE).log
    assert (np.diff(clean["time_s"]) > 0).all()
    assert clean.notna().all().all()
    broken = fly_calm(GLIDE, defects=Defects(repeats_per_min=5.0, spikes_per_min=5.0, dropouts_per_min=5.0)).log
    assert (np.diff(broken["time_s"]) == 0).any()
    assert (np.diff(broken["time_s"]) >= 0).all()
    assert broken["altitude_m"].isna().any()
    assert (np.abs(np.diff(broken["current_a"].dropna())) > 20.0).sum() > (
        np.abs(np.diff(clean["current_a"])) > 20.0
    ).sum()
