"""The whole stage on simulated flights: what it finds, what it sets aside, what it says is missing."""

from dataclasses import replace
from itertools import pairwise

import numpy as np
import pandas as pd
import pytest
from simulator import scenario_for, simulate
from simulator.scenario import Sensor

from analyzer.conditioning import condition
from analyzer.export.thermals_text import thermals_answers
from analyzer.measures import measure
from analyzer.records import Log
from analyzer.segmentation import segment
from analyzer.setup_file import Setup
from analyzer.soaring.report import soar

PLACE = Sensor(noise=1e-5, quantum=1e-6, rate_hz=5.0, lag_s=0.3)
AIRSPEED = Sensor(noise=0.3, quantum=0.1, lag_s=0.2)


@pytest.fixture(scope="module")
def flight():
    """A normal flight with position and airspeed."""
    scenario = scenario_for("normal", 3)
    sensors = {**scenario.recorder.sensors, "latitude_deg": PLACE, "longitude_deg": PLACE, "airspeed_m_s": AIRSPEED}
    return simulate(replace(scenario, recorder=replace(scenario.recorder, sensors=sensors)), 3)


def _report(frame, setup=None):
    log = condition(Log("flight.csv", "", frame.drop_duplicates("time_s").reset_index(drop=True)))
    cut = segment(log, setup)
    return soar(log, cut, measure(log, cut, setup), setup)


def test_of_a_log_that_shows_no_motor_no_climb_is_called_a_thermal(flight):
    launched_s = flight.truth.motor_runs[1].end_s  # the first was in the hand; without it nothing shows a motor's climb
    in_the_air = flight.log[flight.log["time_s"] > launched_s]
    report = _report(in_the_air[["time_s", "altitude_m"]].assign(time_s=in_the_air["time_s"] - launched_s))
    seen = _report(flight.log)
    assert report.motor_unknown
    assert not seen.motor_unknown
    assert "of which the motor may be part" in thermals_answers(report, "metric")[0]
    assert "thermal climb" in thermals_answers(seen, "metric")[0]


def _codes(report):
    return {notice.code for notice in report.notices}


def _longest(report):
    return max(report.thermals, key=lambda thermal: thermal.climb.end_s - thermal.climb.start_s)


def test_the_180th_meridian_may_run_through_the_field(flight):
    usual = flight.log.copy()
    usual["longitude_deg"] -= _longest(_report(usual)).circling.centre_longitude_deg
    across = usual.assign(longitude_deg=np.where(usual["longitude_deg"] < 0.0, 180.0, -180.0) + usual["longitude_deg"])
    plain, crossing = _report(usual), _report(across)
    assert len(plain.thermals) == len(crossing.thermals) > 0
    for one, other in zip(plain.thermals, crossing.thermals, strict=True):
        here, there = one.circling, other.circling
        assert there.radius_m == pytest.approx(here.radius_m, rel=1e-3)
        assert there.drift_m_s == pytest.approx(here.drift_m_s, rel=1e-3)
        assert -180.0 <= there.centre_longitude_deg <= 180.0
        turned = np.remainder(there.centre_longitude_deg - here.centre_longitude_deg, 360.0)
        assert turned == pytest.approx(180.0, abs=1e-6)


def test_with_position_and_airspeed_everything_is_there(flight):
    report = _report(flight.log)
    thermal = _longest(report)
    assert report.airspeed_source == "airspeed"
    assert thermal.circling.source == "track"
    assert thermal.circling.direction in ("left", "right")
    assert thermal.circling.centre_latitude_deg == pytest.approx(flight.log["latitude_deg"].median(), abs=0.01)
    assert thermal.netto.netto_m_s > thermal.climb.climb_rate_m_s
    assert thermal.profile
    assert report.wind.speed_m_s == pytest.approx(flight.truth.thermal_climbs[0].wind_m_s, abs=0.6)
    assert report.glide.polars
    assert all(first.end_s <= second.start_s for first, second in pairwise(report.searches))
    assert report.starts
    assert _codes(report) == set()


def test_without_airspeed_the_ground_velocity_serves(flight):
    report = _report(flight.log.drop(columns="airspeed_m_s"))
    assert report.airspeed_source == "ground speed and wind"
    assert "airspeed-from-ground" in _codes(report)
    assert _longest(report).netto is not None


def test_with_height_alone_it_says_what_is_missing(flight):
    frame = flight.log[["time_s", "altitude_m", "voltage_v", "current_a", "rpm"]]
    report = _report(frame)
    assert report.airspeed_source == "none"
    assert {"no-total-energy", "no-polar"} <= _codes(report)
    assert report.wind is None
    assert report.glide.polars == ()
    assert _longest(report).netto.basis == "glides of this log"


def test_a_setup_gives_drag_coefficients_and_a_polar(flight):
    setup = Setup.model_validate(flight.setup)
    known = _report(flight.log, setup)
    assert known.glide.polars[0].zero_lift_drag_coefficient == pytest.approx(0.02, abs=0.01)
    frame = flight.log[["time_s", "altitude_m", "voltage_v", "current_a", "rpm"]]
    assert _longest(_report(frame, setup)).netto.basis == "polar of the setup"


def test_frozen_and_jumping_positions_are_set_aside(flight):
    frame = flight.log.copy()
    start = int(np.searchsorted(frame["time_s"], _longest(_report(frame)).climb.start_s))
    rows = slice(start - 400, start - 100)
    for name in ("latitude_deg", "longitude_deg"):
        frame.loc[frame.index[rows], name] = frame[name].iloc[start - 400]
    frame.loc[frame.index[start + 50 : start + 60], "latitude_deg"] += 0.05
    report = _report(frame)
    assert {"position-frozen", "position-jump"} <= _codes(report)
    assert report.wind.speed_m_s == pytest.approx(_report(flight.log).wind.speed_m_s, abs=0.3)


def test_a_compass_without_calibration_is_set_aside(flight):
    frame = flight.log.copy()
    angle = np.interp(frame["time_s"], flight.trace["time_s"], np.unwrap(flight.trace["heading_rad"]))
    frame["heading_deg"] = np.degrees(np.arctan2(np.sin(angle), np.cos(angle) + 1.6)) % 360.0
    assert "compass-uncalibrated" in _codes(_report(frame))
    frame["heading_deg"] = (np.degrees(angle) + 35.0) % 360.0
    assert "compass-offset" in _codes(_report(frame))
    frame["heading_deg"] = np.degrees(angle) % 360.0
    assert not {"compass-uncalibrated", "compass-offset"} & _codes(_report(frame))


def test_a_log_without_flight_has_no_answer_but_no_trouble():
    time = np.arange(0.0, 60.0, 0.2)
    report = _report(pd.DataFrame({"time_s": time, "altitude_m": 0.05 * np.sin(time)}))
    assert report.thermals == report.searches == report.lift_passed == report.starts == ()
