"""A propeller without a brake: the air turns it in every glide, which is no motor run."""

import numpy as np
import pandas as pd
import pytest

from analyzer.records import Log
from analyzer.segmentation.motion import motion_of
from analyzer.segmentation.motor import motor_runs
from analyzer.segmentation.tuning import SEGMENTATION

TIME_S = np.arange(0.0, 400.0, 0.2)
RUNS = ((30.0, 55.0), (200.0, 212.0))


def windmilling(per_m_s=170.0, part=0.0, *columns):
    """A log of two runs, the glides after them and a dive at 300 s; rpm follows the airspeed while the motor is off."""
    rng = np.random.default_rng(5)
    full = np.logical_or.reduce([(start <= TIME_S) & (end > TIME_S) for start, end in RUNS])
    driven = np.where((TIME_S >= 250.0) & (TIME_S < 262.0), part, full)
    flying = (TIME_S >= 30.0) & (TIME_S < 380.0)
    airspeed = np.where(
        flying, 9.0 + 6.0 * np.exp(-(((TIME_S - 300.0) / 5.0) ** 2)) + rng.normal(0.0, 0.3, len(TIME_S)), 0.0
    )
    rpm = np.where(driven > 0.0, 7000.0 * np.sqrt(driven), per_m_s * airspeed)
    still = np.zeros(len(TIME_S))
    frame = pd.DataFrame({
        "time_s": TIME_S, "height_m": still, "height_se_m": still + 0.1, "climb_se_m_s": still + 0.1,
        "climb_m_s": np.where(driven > 0.0, 6.0, np.where(flying, -0.6, 0.0)), "rpm": np.round(rpm, -1),
    })  # fmt: skip
    # A current that is clipped at 0, with single steps of its sensor above.
    current = np.where(rng.random(len(TIME_S)) < 0.1, 0.4, 0.0) + 12.0 * driven
    volts = 12.2 - 0.001 * TIME_S - 1.2 * driven + rng.normal(0.0, 0.02, len(TIME_S))
    every = {"current_a": current, "throttle": np.sqrt(driven), "voltage_v": volts.round(2)}
    return Log("invented", "", frame.assign(**{name: every[name] for name in columns}))


def runs_of(log):
    return motor_runs(log, motion_of(log, SEGMENTATION.lift), SEGMENTATION.motor)[0]


@pytest.mark.parametrize("per_m_s", [100.0, 170.0, 300.0])
@pytest.mark.parametrize("columns", [("current_a",), ()], ids=["with current", "rpm alone"])
def test_a_propeller_that_the_air_turns_is_no_motor_run(per_m_s, columns):
    runs = runs_of(windmilling(per_m_s, 0.0, *columns))
    assert len(runs) == len(RUNS)
    assert np.array(runs) == pytest.approx(np.array(RUNS), abs=0.3)


@pytest.mark.parametrize("witness", ["current_a", "throttle"])
def test_current_or_throttle_tell_a_run_at_a_speed_that_the_air_alone_could_turn(witness):
    # 7000 sqrt(0.1) = 2210 1/min, which the air reaches in the dive.
    runs = runs_of(windmilling(170.0, 0.1, witness))
    assert [round(start) for start, _ in runs] == [30, 200, 250]


def test_the_sag_of_the_pack_tells_a_run_in_level_flight_from_a_dive():
    log = windmilling(170.0, 0.3, "voltage_v")
    frame = log.frame.assign(climb_m_s=log.frame["climb_m_s"].where(~log.frame["time_s"].between(250.0, 262.0), 0.3))
    frame["rpm"] = frame["rpm"].where(~frame["time_s"].between(297.0, 303.0), 6000.0)
    assert [round(start) for start, _ in runs_of(Log("invented", "", frame))] == [30, 200, 250]
    coarse = frame.assign(voltage_v=frame["voltage_v"].round())
    assert len(runs_of(Log("invented", "", coarse))) == 3  # the dive for the level flight


@pytest.mark.parametrize("flips", [0.1, 0.3, 0.5])
@pytest.mark.parametrize("columns", [[], ["throttle"]])
def test_coarse_idle_beside_a_shaft_that_windmills_in_one_glide_is_no_run(flips, columns):
    # One row a second; the idle current flips between two steps of its sensor; the air turns the shaft in one glide.
    frame = windmilling(80.0, 0.0, "throttle").frame.iloc[::5].reset_index(drop=True)
    driven = frame["throttle"] > 0.0
    idle = np.where(np.random.default_rng(8).random(len(frame)) < flips, 1.0, 0.5)
    rpm = frame["rpm"].where(driven | frame["time_s"].between(120.0, 200.0), 0.0)
    frame = frame[[*frame.columns.drop("throttle"), *columns]]
    runs = runs_of(Log("invented", "", frame.assign(current_a=idle + 18.0 * driven, rpm=rpm)))
    assert np.array(runs) == pytest.approx(np.array(RUNS), abs=0.6)


@pytest.mark.parametrize("servos_a", [1.0, 4.0])
@pytest.mark.parametrize("share", [0.02, 0.3])
def test_a_closed_throttle_tells_servo_work_beside_a_shaft_that_windmills_in_one_glide(servos_a, share):
    frame = windmilling(80.0, 0.0, "throttle").frame
    driven, rng = frame["throttle"] > 0.0, np.random.default_rng(1)
    work = np.repeat(rng.random(len(frame) // 4) < share, 4) * rng.random(len(frame))
    current = 0.5 + rng.normal(0.0, 0.1, len(frame)) + servos_a * work + 18.0 * driven
    rpm = frame["rpm"].where(driven | frame["time_s"].between(120.0, 200.0), 0.0)
    runs = runs_of(Log("invented", "", frame.assign(current_a=current, rpm=rpm)))
    assert np.array(runs) == pytest.approx(np.array(RUNS), abs=0.3)


@pytest.mark.parametrize("per_m_s", [80.0, 170.0])
def test_a_shaft_that_windmills_slowly_in_one_glide_is_not_driven_though_nothing_else_is_logged(per_m_s):
    frame = windmilling(per_m_s, 0.0, "throttle").frame
    turned = (frame["throttle"] > 0.0) | frame["time_s"].between(RUNS[0][1], 200.0)
    rpm = frame["rpm"].where(turned, 0.0)
    runs = runs_of(Log("invented", "", frame.assign(rpm=rpm).drop(columns="throttle")))
    assert np.array(runs) == pytest.approx(np.array(RUNS), abs=0.3)


def test_a_shaft_that_windmills_fast_in_one_glide_joins_no_runs_while_the_current_idles():
    frame = windmilling(330.0, 0.0, "current_a").frame
    drawn = frame["current_a"] > 6.0
    rpm = frame["rpm"].where(drawn | frame["time_s"].between(RUNS[0][1], 200.0), 0.0)
    runs = runs_of(Log("invented", "", frame.assign(rpm=rpm)))
    assert np.array(runs) == pytest.approx(np.array(RUNS), abs=0.3)


def test_a_shaft_at_full_speed_is_driven_though_the_current_reads_idle_for_long():
    frame = windmilling(0.0, 0.0, "current_a").frame
    lost = frame["time_s"].between(35.0, 50.0)
    rpm = frame["rpm"] * np.random.default_rng(4).normal(1.0, 0.01, len(frame))
    runs = runs_of(Log("invented", "", frame.assign(rpm=rpm, current_a=frame["current_a"].mask(lost, 0.1))))
    assert np.array(runs) == pytest.approx(np.array(RUNS), abs=0.3)


def test_a_closed_throttle_alone_tells_a_shaft_that_windmills_in_one_glide_from_a_run():
    frame = windmilling(120.0, 0.0, "throttle").frame
    rpm = frame["rpm"].where((frame["throttle"] > 0.0) | frame["time_s"].between(120.0, 200.0), 0.0)
    runs = runs_of(Log("invented", "", frame.assign(rpm=rpm)))
    assert np.array(runs) == pytest.approx(np.array(RUNS), abs=0.3)


def test_a_shaft_that_stands_in_glides_and_turns_slowly_in_one_is_driven_there():
    log = windmilling(per_m_s=0.0, part=0.1)
    assert [round(start) for start, _ in runs_of(log)] == [30, 200, 250]


def test_a_shaft_that_turns_slowly_for_a_while_after_a_run_and_then_stands_is_not_driven():
    log = windmilling(per_m_s=0.0)
    slow = (log.frame["rpm"] == 0.0) & log.frame["time_s"].between(RUNS[0][1], 110.0)
    runs = runs_of(Log("invented", "", log.frame.assign(rpm=log.frame["rpm"].mask(slow, 280.0))))
    assert np.array(runs) == pytest.approx(np.array(RUNS), abs=0.3)


def test_a_shaft_that_reads_nothing_at_rest_is_not_turned_by_the_air():
    """Some controllers send a speed only while the propeller turns; of a glide that leaves the spinning down."""
    log = windmilling(0.0, 0.3)
    rpm = log.frame["rpm"].where(log.frame["rpm"] > 0.0)
    for _, stop_s in RUNS:
        rpm[(stop_s <= TIME_S) & (stop_s + 0.6 > TIME_S)] = 5000.0
    assert [round(start) for start, _ in runs_of(Log("invented", "", log.frame.assign(rpm=rpm)))] == [30, 200, 250]


def test_a_log_that_is_all_run_is_no_windmilling_though_its_first_reading_seems_to_sink():
    frame = windmilling().frame.query("31 <= time_s < 54").reset_index(drop=True)
    frame.loc[0, "climb_m_s"] = -0.7
    rpm = np.where(frame.index == 0, 9000.0, frame["rpm"])  # the pack is fresh
    assert runs_of(Log("invented", "", frame.assign(rpm=rpm))) == [pytest.approx((31.0, 53.8))]
