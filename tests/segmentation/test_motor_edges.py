"""Where motor runs begin and end, and what is no motor: small signals with known answers."""

import numpy as np
import pandas as pd
import pytest

from analyzer.records import Log
from analyzer.segmentation.motion import motion_of
from analyzer.segmentation.motor import motor_runs
from analyzer.segmentation.tuning import SEGMENTATION

RNG = np.random.default_rng(3)


def conditioned(time_s, **columns):
    """A conditioned log in which only the motor matters."""
    still = {"height_m": 0.0, "height_se_m": 0.1, "climb_m_s": 0.0, "climb_se_m_s": 0.1}
    frame = pd.DataFrame({"time_s": time_s, **still, **columns})
    return Log("invented", "", frame)


def runs_of(log):
    return motor_runs(log, motion_of(log, SEGMENTATION), SEGMENTATION)[0]


def idle(count):
    return 0.4 + RNG.normal(0.0, 0.1, count)


@pytest.mark.parametrize("rate_hz", [1.0, 2.0, 5.0, 20.0])
@pytest.mark.parametrize("offset", [0.0, 0.3, 0.7])
def test_edges_lie_within_half_a_sample(rate_hz, offset):
    time_s = np.arange(0.0, 120.0, 1.0 / rate_hz) + offset / rate_hz
    on = (time_s >= 40.0) & (time_s < 62.0)
    runs = runs_of(conditioned(time_s, current_a=idle(len(time_s)) + 30.0 * on))
    assert len(runs) == 1
    assert runs[0] == pytest.approx((40.0, 62.0), abs=0.51 / rate_hz)


@pytest.mark.parametrize("exponent", [1.0, 2.0, 3.0])
def test_a_soft_start_is_carried_back_to_its_onset(exponent):
    time_s = np.arange(0.0, 100.0, 0.1)
    ramp = np.clip((time_s - 30.0) / 3.0, 0.0, 1.0) ** exponent * (time_s < 60.0)
    runs = runs_of(conditioned(time_s, current_a=idle(len(time_s)) + 30.0 * ramp))
    assert runs[0][0] == pytest.approx(30.0, abs=0.4)


def test_rpm_shows_the_onset_better_than_current():
    time_s = np.arange(0.0, 100.0, 0.1)
    duty = np.clip((time_s - 30.0) / 3.0, 0.0, 1.0) * (time_s < 60.0)
    runs = runs_of(conditioned(time_s, current_a=idle(len(time_s)) + 30.0 * duty**3, rpm=np.round(9000.0 * duty)))
    assert runs[0] == pytest.approx((30.0, 60.0), abs=0.1)


def test_a_current_sensor_that_lags_does_not_move_the_stop():
    time_s = np.arange(0.0, 100.0, 0.1)
    on = (time_s >= 30.0) & (time_s < 60.0)
    lagging = 30.0 * np.where(time_s < 60.0, on, np.exp(-(time_s - 60.0) / 0.4))
    runs = runs_of(conditioned(time_s, current_a=idle(len(time_s)) + lagging, throttle=1.0 * on))
    assert runs[0] == pytest.approx((30.0, 60.0), abs=0.11)


def test_a_current_that_freezes_is_not_believed_against_the_shaft():
    time_s = np.arange(0.0, 100.0, 0.2)
    on = (time_s >= 30.0) & (time_s < 60.0)
    current = idle(len(time_s)) + 30.0 * on
    stuck = (time_s >= 59.0) & (time_s < 64.0)
    current[stuck] = current[np.flatnonzero(stuck)[0]]
    assert runs_of(conditioned(time_s, current_a=current, rpm=9000.0 * on))[0][1] == pytest.approx(60.0, abs=0.2)


def test_a_dip_in_power_with_the_shaft_turning_is_no_stop():
    time_s = np.arange(0.0, 100.0, 0.2)
    on = (time_s >= 30.0) & (time_s < 60.0)
    dip = (time_s >= 45.0) & (time_s < 46.0)
    current = idle(len(time_s)) + 30.0 * (on & ~dip)
    rpm = 9000.0 * on - 7000.0 * dip
    assert len(runs_of(conditioned(time_s, current_a=current, rpm=rpm))) == 1
    assert len(runs_of(conditioned(time_s, current_a=current, rpm=9000.0 * (on & ~dip)))) == 2


def test_power_beyond_doubt_is_the_motor_s_though_rpm_fails():
    time_s = np.arange(0.0, 200.0, 0.2)
    on = ((time_s >= 30.0) & (time_s < 60.0)) | ((time_s >= 120.0) & (time_s < 150.0))
    rpm = 9000.0 * (on & (time_s < 100.0))
    current = idle(len(time_s)) + on * (30.0 + RNG.normal(0.0, 0.3, len(time_s)))
    assert len(runs_of(conditioned(time_s, current_a=current, rpm=rpm))) == 2


def test_a_windmilling_propeller_is_no_motor_run():
    time_s = np.arange(0.0, 200.0, 0.2)
    on = (time_s >= 30.0) & (time_s < 60.0)
    turning = 9000.0 * on + 3000.0 * ((time_s >= 60.0) & (time_s < 150.0))
    runs = runs_of(conditioned(time_s, current_a=idle(len(time_s)) + 30.0 * on, rpm=turning))
    assert len(runs) == 1
    assert runs[0][1] == pytest.approx(60.0, abs=0.25)


@pytest.mark.parametrize("offset_a", [-0.4, 0.0, 0.7])
def test_the_sensor_s_offset_does_not_matter(offset_a):
    time_s = np.arange(0.0, 100.0, 0.2)
    on = (time_s >= 30.0) & (time_s < 60.0)
    runs = runs_of(conditioned(time_s, current_a=idle(len(time_s)) + offset_a + 20.0 * on))
    assert runs[0] == pytest.approx((30.0, 60.0), abs=0.11)


def test_a_log_of_idle_alone_has_no_run():
    time_s = np.arange(0.0, 300.0, 0.2)
    assert runs_of(conditioned(time_s, current_a=idle(len(time_s)))) == []


def test_a_log_that_begins_and_ends_with_the_motor_on():
    time_s = np.arange(0.0, 60.0, 0.2)
    off = (time_s >= 20.0) & (time_s < 40.0)
    runs = runs_of(conditioned(time_s, current_a=idle(len(time_s)) + 25.0 * ~off))
    assert runs[0] == pytest.approx((0.0, 20.0), abs=0.11)
    assert runs[1] == pytest.approx((40.0, time_s[-1]), abs=0.11)
