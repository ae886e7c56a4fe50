from __future__ import annotations

import numpy as np
import pytest
from measures.made_traces import cut, made_log

from analyzer.constants import STANDARD_GRAVITY_M_S2
from analyzer.measures import measure
from analyzer.measures.kink import lagged
from analyzer.measures.thermal_climbs import best_climb_m_s
from analyzer.measures.traces import traces_of
from analyzer.records import Segment

METRES_PER_DEGREE = 111_195.0
"""Of latitude on a sphere of 6371 km (mean earth radius, IUGG 1980)."""

PERIOD_S, RADIUS_M = 12.0, 18.0
CLIMB = cut(("ground", 0.0, 30.0), ("glide", 30.0, 60.0), ("thermal_climb", 60.0, 180.0), ("glide", 180.0, 239.9))


def climb_log(position=True, wind=(3.0, 0.0), beat=0.0):
    """Two minutes of circling at 1.2 m/s, with 20 s at 2.5 m/s in it, drifting with the wind (towards east, north)."""
    time = np.arange(0.0, 240.0, 0.2)
    climb = np.where((time >= 60.0) & (time < 180.0), 1.2, -0.5)
    climb = np.where(time < 30.0, 0.0, climb)
    climb = np.where((time >= 100.0) & (time < 120.0), 2.5, climb)
    climb = climb + beat * np.sin(2.0 * np.pi * time / PERIOD_S) * ((time >= 60.0) & (time < 180.0))
    height = 40.0 + np.concatenate(([0.0], np.cumsum(np.diff(time) * climb[:-1])))
    channels = {}
    if position:
        angle = 2.0 * np.pi * time / PERIOD_S
        east = RADIUS_M * np.sin(angle) + wind[0] * time
        north = RADIUS_M * np.cos(angle) + wind[1] * time
        channels["latitude_deg"] = 47.0 + north / METRES_PER_DEGREE
        channels["longitude_deg"] = 8.0 + east / METRES_PER_DEGREE / np.cos(np.radians(47.0))
    return made_log(time, height, climb_m_s=climb, **channels)


def measured(log):
    (climb,) = measure(log, CLIMB).thermal_climbs
    return climb


def test_gain_rate_and_best_stretch_in_closed_form():
    climb = measured(climb_log())
    assert climb.height_gain_m == pytest.approx(100.0 * 1.2 + 20.0 * 2.5, abs=1.5)
    assert climb.climb_rate_m_s == pytest.approx(climb.height_gain_m / 120.0)
    assert climb.best_20s_climb_m_s == pytest.approx(2.5, abs=0.05)
    assert climb.exit_altitude_m - climb.entry_altitude_m == pytest.approx(climb.height_gain_m)


def test_circles_and_drift_come_from_position():
    climb = measured(climb_log())
    assert climb.circle_period_s == pytest.approx(PERIOD_S, rel=0.02)
    assert climb.drift_m_s == pytest.approx(3.0, rel=0.05)
    # Drifting towards the east is drifting from the west.
    assert climb.drift_from_deg == pytest.approx(270.0, abs=3.0)


@pytest.mark.parametrize(("east", "north", "from_deg"), [(0.0, 2.0, 180.0), (-2.0, 0.0, 90.0), (1.5, -1.5, 315.0)])
def test_drift_is_named_after_where_it_comes_from(east, north, from_deg):
    climb = measured(climb_log(wind=(east, north)))
    assert climb.drift_from_deg == pytest.approx(from_deg, abs=4.0)


def test_without_position_the_beat_of_the_climb_shows_the_period():
    climb = measured(climb_log(position=False, beat=1.0))
    assert climb.circle_period_s == pytest.approx(PERIOD_S, rel=0.1)
    assert climb.drift_m_s is None
    assert climb.drift_from_deg is None


def test_without_any_sign_of_circling_there_is_no_period_and_that_is_said():
    summary = measure(climb_log(position=False), CLIMB)
    assert summary.thermal_climbs[0].circle_period_s is None
    (said,) = (notice.message for notice in summary.log.notices if notice.code == "no-circles")
    assert "the thermal climb at 1:00" in said
    assert "no-circles" not in [notice.code for notice in measure(climb_log(), CLIMB).log.notices]


def test_a_climb_shorter_than_twenty_seconds_has_no_best_twenty():
    segmentation = cut(("glide", 0.0, 60.0), ("thermal_climb", 60.0, 75.0), ("glide", 75.0, 239.9))
    (climb,) = measure(climb_log(), segmentation).thermal_climbs
    assert climb.best_20s_climb_m_s is None


def test_a_thermal_that_begins_beside_a_gap_is_measured():
    time = np.arange(0.0, 240.0, 0.2)
    climb = np.where((time >= 60.0) & (time < 180.0), 1.2, -0.5)
    height = 40.0 + np.concatenate(([0.0], np.cumsum(np.diff(time) * climb[:-1])))
    kept = (time <= 51.0) | (np.abs(time - 60.0) < 0.1) | (time >= 69.0)
    log = made_log(time[kept], height[kept])
    (thermal,) = measure(log, CLIMB).thermal_climbs
    assert thermal.height_gain_m == pytest.approx(144.0, abs=2.0)
    assert thermal.height_gain_m_se > 0.0


def test_the_best_climb_of_stamps_that_are_rounded():
    # 20.2 - 0.2 is 20 in binary digits, and 20.2 - 20 is less than 0.2.
    time = np.array([0.2, 8.0, 15.0, 20.2])
    found = best_climb_m_s(traces_of(made_log(time, 2.0 * time)), Segment("thermal_climb", 0.2, 20.2, 0.0, 0.0), 20.0)
    assert found == pytest.approx(2.0)


LIFT_S = (60.0, 180.0)


def sought_climbs(count, gust_m_s, noise_m):
    """Lift for two minutes, gusts and noise of 2 s; its ends are sought where the reading is lowest and highest.

    Time, true height and reading, and the measured climb of each of so many.
    """
    time = np.arange(0.0, 240.0, 0.2)
    lift = np.interp(time, [0.0, 56.0, 64.0, 176.0, 184.0, 240.0], [-0.6, -0.6, 1.2, 1.2, -0.6, -0.6])
    for seed in range(count):
        gusts, noise = lagged(np.random.default_rng(seed).normal(size=(time.size, 2)), 2.0, 0.2).T
        climb = lift + gust_m_s * gusts / gusts.std()
        height = np.concatenate(([0.0], np.cumsum(climb[:-1] * 0.2)))
        reading = height + noise_m * noise / noise.std()
        start = time[250 + np.argmin(reading[250:350])]
        end = time[850 + np.argmax(reading[850:950])]
        pieces = cut(("glide", 0.0, start), ("thermal_climb", start, end), ("glide", end, 239.8))
        (measured_climb,) = measure(made_log(time, reading, climb_m_s=climb), pieces).thermal_climbs
        yield time, height, reading, measured_climb


def test_a_gain_between_the_extremes_of_a_noisy_reading_is_taken_back():
    over = {"gain": [], "extremes": []}
    for time, height, reading, climb in sought_climbs(40, gust_m_s=0.0, noise_m=0.4):
        true = np.ptp(height[250:950])
        over["gain"].append(climb.height_gain_m - true)
        over["extremes"].append(np.ptp(np.interp([climb.start_s, climb.end_s], time, reading)) - true)
    assert np.mean(over["extremes"]) > 0.5
    assert abs(np.mean(over["gain"])) < 0.75 * np.mean(over["extremes"])


def test_ends_told_from_total_energy_are_no_extremes_of_the_height():
    # The pilot swings between 8 and 12 m/s: at the ends of the lift the height may stand anywhere in its swing.
    time = np.arange(0.0, 240.0, 0.2)
    energy = np.interp(time, [0.0, 56.0, 64.0, 176.0, 184.0, 240.0], [36.0, 2.4, 0.0, 134.4, 132.0, 98.4])
    beyond_m = []
    for phase in np.arange(0.0, 2.0 * np.pi, 0.3):
        airspeed = 10.0 + 2.0 * np.sin(2.0 * np.pi * time / 9.0 + phase)
        height = energy - airspeed**2 / (2.0 * STANDARD_GRAVITY_M_S2)
        log = made_log(
            time,
            height,
            climb_m_s=np.gradient(height, time),
            airspeed_m_s=airspeed,
            energy_height_m=energy,
            energy_climb_m_s=np.gradient(energy, time),
        )
        pieces = cut(("glide", 0.0, 64.0), ("thermal_climb", 64.0, 176.0), ("glide", 176.0, 239.8))
        (climb,) = measure(log, pieces).thermal_climbs
        beyond_m.append(climb.height_gain_m - np.diff(np.interp([64.0, 176.0], time, height))[0])
    assert np.abs(beyond_m).max() < 0.25  # what an unknown lag is expected to be adds some


def test_a_climb_rate_is_no_surer_than_the_ends_of_the_climb():
    # Where the height turns, an end that is off by seconds changes the gain little, and the time all the same.
    known = []
    for time, height, _, climb in sought_climbs(40, gust_m_s=0.5, noise_m=0.0):
        true = np.diff(np.interp(LIFT_S, time, height))[0] / np.diff(LIFT_S)[0]
        known.append(abs(climb.climb_rate_m_s - true) <= 2.0 * climb.climb_rate_m_s_se)
    assert np.mean(known) >= 0.9
