"""Where motor runs begin and end, and what is no motor: small signals with known answers."""

import numpy as np
import pandas as pd
import pytest
from segmentation.invented_flight import InventedFlight, cut, spans

from analyzer.records import Log
from analyzer.segmentation.motion import motion_of
from analyzer.segmentation.motor import motor_runs
from analyzer.segmentation.tuning import SEGMENTATION

RNG = np.random.default_rng(3)
START = RNG.bit_generator.state


@pytest.fixture(autouse=True)
def same_noise():
    """Each test draws the same noise, whichever ran before it."""
    RNG.bit_generator.state = START


def conditioned(time_s, **columns):
    """A conditioned log in which only the motor matters."""
    still = {"height_m": 0.0, "height_se_m": 0.1, "climb_m_s": 0.0, "climb_se_m_s": 0.1}
    frame = pd.DataFrame({"time_s": time_s, **still, **columns})
    return Log("invented", "", frame)


def runs_of(log):
    return motor_runs(log, motion_of(log, SEGMENTATION.lift), SEGMENTATION.motor)[0]


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


@pytest.mark.parametrize("part_a", [8.0, 12.0])
@pytest.mark.parametrize("held_s", [1.0, 2.0])
def test_a_throttle_that_is_opened_in_two_steps_starts_the_run_at_the_first(part_a, held_s):
    time_s = np.arange(0.0, 100.0, 0.1)
    opened_s = 30.1 + held_s
    current = np.interp(time_s, [30.0, 30.1, opened_s, opened_s + 1.5], [0.0, part_a, part_a, 30.0]) * (time_s < 60.0)
    runs = runs_of(conditioned(time_s, current_a=idle(len(time_s)) + current))
    assert runs[0][0] == pytest.approx(30.0, abs=0.2)


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


@pytest.mark.parametrize("rate_hz", [2.0, 5.0, 10.0])
def test_a_lagging_current_alone_tells_the_stop_by_its_first_fall(rate_hz):
    time_s = np.arange(0.0, 100.0, 1.0 / rate_hz) + 0.3 / rate_hz
    on = (time_s >= 30.0) & (time_s < 60.0)
    lagging = 30.0 * np.where(time_s < 60.0, on, np.exp(-(time_s - 60.0) / 0.5))
    runs = runs_of(conditioned(time_s, current_a=idle(len(time_s)) + lagging))
    assert runs[0] == pytest.approx((30.0, 60.0), abs=max(0.6 / rate_hz, 0.1))


@pytest.mark.parametrize("rate_hz", [1.0, 5.0, 10.0])
@pytest.mark.parametrize("throttled_back_s", [0.0, 2.5])
@pytest.mark.parametrize("witness", [False, True])
def test_a_shaft_that_spins_down_is_driven_no_more(rate_hz, throttled_back_s, witness):
    """Beside it, a current that is the mean since its last reading, as many sensors give it."""
    time_s = np.arange(0.0, 100.0, 1.0 / rate_hz) + 0.3 / rate_hz
    speed = np.where(time_s < 60.0 - throttled_back_s, 9000.0, 7000.0) * (time_s >= 30.0)
    rpm = speed * np.exp(-np.maximum(time_s - 60.0, 0.0) / 0.35)
    current = 30.0 * (speed / 9000.0) ** 3 * np.clip((60.0 - time_s) * rate_hz + 1.0, 0.0, 1.0)
    columns = {"current_a": idle(len(time_s)) + current} if witness else {}
    runs = runs_of(conditioned(time_s, rpm=np.round(rpm, -1), **columns))
    assert len(runs) == 1
    assert runs[0] == pytest.approx((30.0, 60.0), abs=max(0.6 / rate_hz, 0.1))


@pytest.mark.parametrize("rate_hz", [2.0, 5.0, 10.0, 20.0])
@pytest.mark.parametrize("lag_s", [0.05, 0.3, 0.6])
@pytest.mark.parametrize("held_s", [2.5, 5.0])
@pytest.mark.parametrize("witness", [False, True])
def test_throttling_back_before_the_stop_is_still_the_run(rate_hz, lag_s, held_s, witness):
    time_s = np.arange(0.0, 100.0, 1.0 / rate_hz) + 0.3 / rate_hz
    full, part = 51.0, 31.0
    fallen = np.where(
        time_s < 60.0, part + (full - part) * np.exp(-np.maximum(time_s - 60.0 + held_s, 0.0) / lag_s), 0.0
    )
    current = np.where(time_s < 60.0, fallen, part * np.exp(-(np.maximum(time_s - 60.0, 0.0)) / lag_s))
    current = np.where(time_s < 30.0, 0.0, current) * (1.0 + RNG.normal(0.0, 0.02, len(time_s)))
    throttle = np.where(time_s < 60.0 - held_s, 1.0, 0.7) * ((time_s >= 30.0) & (time_s < 60.0))
    columns = {"throttle": throttle} if witness else {}
    runs = runs_of(conditioned(time_s, current_a=idle(len(time_s)) + current, **columns))
    assert len(runs) == 1
    assert runs[0] == pytest.approx((30.0, 60.0), abs=max(1.3 / rate_hz, 0.3))


def test_a_stop_in_a_gap_lies_in_its_middle_though_another_sensor_is_heard_first():
    time_s = np.arange(0.0, 120.0, 0.25)
    current = idle(len(time_s)) + 30.0 * ((time_s >= 30.0) & (time_s < 63.0))
    own = np.arange(len(time_s)) % 4 == 0
    kept = (time_s <= 60.0) | (time_s >= 66.6)
    log = conditioned(time_s[kept], current_a=np.where(own, current, np.nan)[kept])
    assert runs_of(log)[0] == pytest.approx((29.5, 63.5), abs=0.6)


def test_an_edge_lies_between_readings_not_between_interpolated_rows():
    time_s = np.arange(0.0, 100.0, 0.5)
    current = idle(len(time_s)) + 30.0 * ((time_s >= 30.6) & (time_s < 60.6))
    read = np.where(np.arange(len(time_s)) % 2 == 0, current, np.nan)
    table = np.interp(time_s, time_s[::2], read[::2])
    runs = runs_of(conditioned(time_s, current_a=table, current_reading_a=read))
    assert runs[0] == pytest.approx((30.5, 60.5), abs=0.15)


def test_a_shaft_filled_over_a_dropout_does_not_turn_yet():
    time_s = np.arange(0.0, 100.0, 0.5)
    on = (time_s >= 30.0) & (time_s < 60.0)
    read = np.where((time_s > 28.0) & (time_s < 30.2), np.nan, 9000.0 * on)
    known = np.isfinite(read)
    columns = {"rpm": np.interp(time_s, time_s[known], read[known]), "rpm_reading": read, "throttle": 1.0 * on}
    runs = runs_of(conditioned(time_s, current_a=idle(len(time_s)) + 30.0 * on, **columns))
    assert runs[0][0] == pytest.approx(29.75, abs=0.1)


@pytest.mark.parametrize("lasts_s", [1.0, 2.0, 5.0])
def test_what_comes_after_a_blip_tells_nothing_of_its_start(lasts_s):
    time_s = np.arange(0.0, 100.0, 1.0)
    blip = (time_s >= 30.0) & (time_s < 30.0 + lasts_s)
    level = 1.0 * ((time_s >= 60.0) & (time_s < 80.0)) + 0.8 * blip
    runs = runs_of(conditioned(time_s, current_a=idle(len(time_s)) + 30.0 * level, rpm=9000.0 * level))
    assert runs[0] == pytest.approx((29.5, 29.5 + lasts_s), abs=0.01)


@pytest.mark.parametrize("rate_hz", [5.0, 10.0, 20.0])
@pytest.mark.parametrize("lasts_s", [1.0, 1.5, 2.0])
@pytest.mark.parametrize("averaged", [False, True])
def test_a_blip_does_not_end_with_its_inrush(rate_hz, lasts_s, averaged):
    """Three times the current at the start, fading over half a second; some sensors give the mean since the last."""
    fine = np.arange(0.0, 80.0, 0.01)
    on = ((fine >= 30.0) & (fine < 30.0 + lasts_s)) | ((fine >= 55.0) & (fine < 70.0))
    since = np.where(fine < 55.0, fine - 30.0, fine - 55.0)
    exact = np.where(on, 20.0 + 40.0 * np.exp(-np.maximum(since, 0.0) / 0.5), 0.0)
    time_s = np.arange(1.0, 79.0, 1.0 / rate_hz) + 0.3 / rate_hz
    current = np.interp(time_s, fine, exact)
    if averaged:
        counted = np.append(0.0, np.cumsum(exact)[:-1] * 0.01)
        current = np.diff(np.interp(np.append(time_s[0] - 1.0 / rate_hz, time_s), fine, counted)) * rate_hz
    runs = runs_of(conditioned(time_s, current_a=idle(len(time_s)) + current))
    assert runs[0] == pytest.approx((30.0, 30.0 + lasts_s), abs=max(0.6 / rate_hz, 0.1))


def test_a_throttle_at_rest_tells_the_start_that_the_current_hides():
    time_s = np.arange(0.0, 100.0, 0.25)
    duty = np.clip((time_s - 30.0) / 3.0, 0.0, 1.0) * (time_s < 60.0)
    unloaded = np.clip(duty - 0.4, 0.0, 1.0) ** 2 / 0.36
    runs = runs_of(conditioned(time_s, current_a=idle(len(time_s)) + 30.0 * unloaded, throttle=duty))
    assert runs[0] == pytest.approx((30.0, 60.0), abs=0.2)


@pytest.mark.parametrize("voltage_v", [None, 8.0])
@pytest.mark.parametrize(("load_a", "runs"), [(2.6, 1), (9.0, 2)])
def test_servos_that_stall_for_a_second_are_no_blip(load_a, runs, voltage_v):
    time_s = np.arange(0.0, 100.0, 0.1)
    current = idle(len(time_s)) + 24.0 * ((time_s >= 30.0) & (time_s < 50.0))
    current[(time_s >= 70.0) & (time_s < 71.2)] += load_a
    power = {} if voltage_v is None else {"voltage_v": np.full(len(time_s), voltage_v), "power_w": voltage_v * current}
    assert len(runs_of(conditioned(time_s, current_a=current, **power))) == runs


@pytest.mark.parametrize("weak_a", [2.6, 4.0])
def test_a_weak_steady_run_in_a_noisy_current_is_a_run(weak_a):
    """Its mean is dozens of standard errors above idle, though most readings lie within servo loads."""
    time_s = np.arange(0.0, 120.0, 0.2)
    current = 0.4 + RNG.normal(0.0, 0.4, len(time_s)) + 24.0 * ((time_s >= 30.0) & (time_s < 50.0))
    current += weak_a * ((time_s >= 80.0) & (time_s < 95.0))
    runs = runs_of(conditioned(time_s, current_a=current))
    assert runs == [pytest.approx((30.0, 50.0), abs=0.3), pytest.approx((80.0, 95.0), abs=0.5)]


def test_a_blip_with_a_weak_tail_is_a_run_by_its_height():
    time_s = np.arange(0.0, 100.0, 0.5)
    current = idle(len(time_s)) + 30.0 * ((time_s >= 30.0) & (time_s < 50.0))
    current[140:145] += np.array([0.6, 10.0, 10.4, 0.9, 0.6])
    assert len(runs_of(conditioned(time_s, current_a=current))) == 2


@pytest.mark.parametrize("with_power", [False, True])
def test_a_current_that_freezes_is_not_believed_against_the_shaft(with_power):
    time_s = np.arange(0.0, 100.0, 0.2)
    on = (time_s >= 30.0) & (time_s < 60.0)
    current = idle(len(time_s)) + 30.0 * on
    for from_s, until_s in ((59.0, 64.0), (70.0, 90.0)):
        current[(time_s >= from_s) & (time_s < until_s)] = 25.0
    power = {"power_w": current * (12.0 + RNG.normal(0.0, 0.02, len(time_s)))} if with_power else {}
    runs = runs_of(conditioned(time_s, current_a=current, rpm=9000.0 * on, **power))
    assert runs == [pytest.approx((30.0, 60.0), abs=0.2)]


@pytest.mark.parametrize(("rpm_in_dip", "runs"), [(8600.0, 1), (3500.0, 2), (0.0, 2)])
def test_a_dip_in_power_is_a_stop_if_the_shaft_loses_its_speed(rpm_in_dip, runs):
    time_s = np.arange(0.0, 100.0, 0.2)
    on = (time_s >= 30.0) & (time_s < 60.0)
    dip = (time_s >= 45.0) & (time_s < 46.0)
    current = idle(len(time_s)) + 30.0 * (on & ~dip)
    rpm = np.where(dip, rpm_in_dip, 9000.0 * on)
    assert len(runs_of(conditioned(time_s, current_a=current, rpm=rpm))) == runs


@pytest.mark.parametrize("columns", [("current_a",), ("current_a", "rpm")])
def test_a_stop_of_two_readings_is_told(columns):
    time_s = np.arange(0.0, 100.0, 1.0)
    on = (time_s >= 30.0) & (time_s < 60.0) & (time_s != 45.0) & (time_s != 46.0)
    every = {"current_a": idle(len(time_s)) + 30.0 * on, "rpm": 9000.0 * on}
    runs = runs_of(conditioned(time_s, **{name: every[name] for name in columns}))
    assert runs == [pytest.approx((29.5, 44.5), abs=0.6), pytest.approx((46.5, 59.5), abs=0.6)]


def test_one_low_reading_is_a_dropout_of_its_sensor_and_a_stop_when_the_shaft_agrees():
    time_s = np.arange(0.0, 100.0, 1.0)
    on, low = (time_s >= 30.0) & (time_s < 60.0), time_s == 45.0
    current = idle(len(time_s)) + 30.0 * (on & ~low)
    assert len(runs_of(conditioned(time_s, current_a=current))) == 1
    assert len(runs_of(conditioned(time_s, current_a=current, rpm=9000.0 * on))) == 1
    assert len(runs_of(conditioned(time_s, current_a=current, rpm=9000.0 * (on & ~low)))) == 2


def test_a_closed_throttle_is_a_stop_though_the_current_lags():
    time_s = np.arange(0.0, 100.0, 0.25)
    on, off = (time_s >= 30.0) & (time_s < 60.0), (time_s >= 45.0) & (time_s < 45.8)
    current, lagging = 0.0, []
    for wanted in 30.0 * (on & ~off):
        current += (wanted - current) * 0.34
        lagging.append(current)
    rpm = 9000.0 * on - 4000.0 * off
    columns = {"current_a": idle(len(time_s)) + lagging, "rpm": rpm}
    assert len(runs_of(conditioned(time_s, **columns))) == 1
    assert len(runs_of(conditioned(time_s, **columns, throttle=1.0 * (on & ~off)))) == 2


def test_a_throttle_that_does_not_belong_to_the_motor_is_not_believed():
    time_s = np.arange(0.0, 200.0, 0.25)
    duty = 1.0 * ((time_s >= 30.0) & (time_s < 60.0)) + 0.5 * ((time_s >= 80.0) & (time_s < 100.0))
    columns = {"current_a": idle(len(time_s)) + 30.0 * duty**3, "rpm": 9000.0 * duty}
    other = 1.0 * (time_s > 120.0)
    runs = runs_of(conditioned(time_s, **columns, throttle=other))
    assert runs == [pytest.approx((30.0, 60.0), abs=0.3), pytest.approx((80.0, 100.0), abs=0.3)]


def test_a_cruise_whose_power_hides_in_the_noise_is_one_run():
    time_s = np.arange(0.0, 300.0, 0.2)
    climb, cruise = (time_s >= 30.0) & (time_s < 60.0), (time_s >= 100.0) & (time_s < 220.0)
    noise = RNG.normal(0.0, 0.4, len(time_s))
    current = 0.4 + noise + 30.0 * climb + 1.6 * cruise
    rpm = 9000.0 * climb + 3000.0 * cruise
    runs = runs_of(conditioned(time_s, current_a=current, rpm=rpm))
    assert runs == [pytest.approx((30.0, 60.0), abs=0.3), pytest.approx((100.0, 220.0), abs=3.0)]
    windmilling = runs_of(conditioned(time_s, current_a=current - 1.2 * cruise, rpm=rpm))
    assert len(windmilling) == 1


def test_an_edge_in_a_silence_lies_in_its_middle_unless_it_is_long():
    time_s = np.arange(0.0, 100.0, 0.2)
    current = idle(len(time_s)) + 30.0 * ((time_s >= 33.0) & (time_s < 60.0))
    for silent_s, start_s in ((7.0, 33.5), (15.0, 45.0)):
        kept = (time_s < 30.0) | (time_s >= 30.0 + silent_s)
        assert runs_of(conditioned(time_s[kept], current_a=current[kept]))[0][0] == pytest.approx(start_s, abs=0.2)


def test_power_beyond_doubt_is_the_motor_s_though_rpm_fails():
    time_s = np.arange(0.0, 200.0, 0.2)
    on = ((time_s >= 30.0) & (time_s < 60.0)) | ((time_s >= 120.0) & (time_s < 150.0))
    rpm = 9000.0 * (on & (time_s < 100.0))
    current = idle(len(time_s)) + on * (30.0 + RNG.normal(0.0, 0.3, len(time_s)))
    assert len(runs_of(conditioned(time_s, current_a=current, rpm=rpm))) == 2


@pytest.mark.parametrize(("rate_hz", "shaft"), [(20.0, False), (20.0, True), (5.0, True)])
def test_a_few_wrong_readings_in_a_row_are_no_blip(rate_hz, shaft):
    time_s = np.arange(0.0, 100.0, 1.0 / rate_hz)
    on = (time_s >= 30.0) & (time_s < 50.0)
    current = idle(len(time_s)) + 30.0 * on
    wrong = np.searchsorted(time_s, 70.0) + np.arange(3)
    current[wrong] = (22.0, 48.0, 31.0)
    witness = {"rpm": 9000.0 * on} if shaft else {}
    assert len(runs_of(conditioned(time_s, current_a=current, **witness))) == 1


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


def test_a_sensor_whose_zero_is_far_off_is_told_from_a_motor_that_never_stops():
    time_s = np.arange(0.0, 400.0, 0.2)
    on = (time_s >= 30.0) & (time_s < 60.0)
    off_a = idle(len(time_s)) + 8.0
    glides = conditioned(time_s, current_a=off_a + 20.0 * on, climb_m_s=np.where(on, 6.0, -0.5))
    assert runs_of(glides) == [pytest.approx((30.0, 60.0), abs=0.11)]
    cruises = conditioned(time_s, current_a=off_a + 20.0 * on, climb_m_s=np.where(on, 6.0, 0.1))
    assert runs_of(cruises) == [pytest.approx((0.0, 399.8))]


def test_a_log_of_idle_alone_has_no_run():
    time_s = np.arange(0.0, 300.0, 0.2)
    assert runs_of(conditioned(time_s, current_a=idle(len(time_s)))) == []


@pytest.mark.parametrize(("level_a", "noise_a"), [(0.3, 0.3), (0.9, 0.2), (1.2, 0.1)])
@pytest.mark.parametrize("with_power", [False, True])
def test_a_log_of_servos_at_work_has_no_run(level_a, noise_a, with_power):
    time_s = np.arange(0.0, 900.0, 0.1)
    current = level_a + RNG.normal(0.0, noise_a, len(time_s))
    for start_s, take_a in zip(RNG.uniform(0.0, 900.0, 30), RNG.exponential(0.5, 30), strict=True):
        current[(time_s >= start_s) & (time_s < start_s + 0.8)] += take_a
    power = {"voltage_v": 24.0, "power_w": 24.0 * current} if with_power else {}
    assert runs_of(conditioned(time_s, current_a=np.round(current, 1), **power)) == []


@pytest.mark.parametrize(("level_a", "noise_a"), [(0.4, 0.1), (0.05, 0.15)])
def test_of_a_current_that_is_known_at_idle_alone_the_shaft_s_run_does_not_go_on(level_a, noise_a):
    time_s = np.arange(0.0, 600.0, 0.2)
    on = (time_s >= 30.0) & (time_s < 60.0)
    power = np.where(time_s < 100.0, np.nan, 25.0 * np.round(level_a + RNG.normal(0.0, noise_a, len(time_s)), 1))
    runs = runs_of(conditioned(time_s, voltage_v=25.0, power_w=power, rpm=9000.0 * on))
    assert runs == [pytest.approx((30.0, 60.0), abs=0.2)]


def test_a_log_that_begins_and_ends_with_the_motor_on():
    time_s = np.arange(0.0, 60.0, 0.2)
    off = (time_s >= 20.0) & (time_s < 40.0)
    runs = runs_of(conditioned(time_s, current_a=idle(len(time_s)) + 25.0 * ~off))
    assert runs[0] == pytest.approx((0.0, 20.0), abs=0.11)
    assert runs[1] == pytest.approx((40.0, time_s[-1]), abs=0.11)


def test_servos_that_work_for_seconds_all_the_time_are_no_runs():
    """Bursts of 1 to 3 A for 1 to 5 s over an idle of 0.4 A, in a flight on 25 A."""
    time_s = np.arange(0.0, 900.0, 0.1)
    rng = np.random.default_rng(4)
    on = ((time_s >= 20.0) & (time_s < 50.0)) | ((time_s >= 400.0) & (time_s < 415.0))
    work = np.zeros(time_s.size)
    for start in rng.uniform(60.0, 880.0, 60):
        working = (time_s >= start) & (time_s < start + rng.uniform(1.0, 5.0))
        work[working] = rng.uniform(1.0, 3.0) * rng.uniform(0.6, 1.0, np.count_nonzero(working))
    current = 0.4 + np.maximum(25.0 * on, work) + rng.normal(0.0, 0.05, time_s.size)
    runs = runs_of(conditioned(time_s, current_a=current.round(1), voltage_v=12.4 - 0.03 * current))
    assert [run for run in runs if run[1] - run[0] > 10.0] == [
        pytest.approx((20.0, 50.0), abs=0.3),
        pytest.approx((400.0, 415.0), abs=0.3),
    ]
    assert len(runs) <= 4


def test_a_small_model_s_motor_is_told_from_servos_by_its_climbs():
    flight = InventedFlight(53).rest(20).run(40, climb=4.5, current=2.5).glide(90).run(20, climb=4.5, current=2.5)
    found = cut(flight.glide(90).land().rest(20).log(channels=("current_a", "voltage_v")))
    assert spans(found, "motor_run") == [pytest.approx((20.0, 60.0), abs=0.5), pytest.approx((150.0, 170.0), abs=0.5)]


def two_runs_and_one_at_part_power(**columns):
    """At 5 Hz: runs at full power from 40 and from 120 s, one at a fifth of it from 160 s; power as a log has it."""
    time_s = np.arange(0.0, 220.0, 0.2)
    load = np.zeros(len(time_s))
    for start_s, end_s, share in ((40.0, 60.0, 1.0), (120.0, 140.0, 1.0), (160.0, 180.0, 0.2)):
        load[(time_s >= start_s) & (time_s < end_s)] = share
    current = idle(len(time_s)) + 30.0 * load
    rpm = np.round(9000.0 * np.cbrt(load), -1)
    return time_s, conditioned(
        time_s, current_a=current, rpm=rpm, throttle=np.cbrt(load), power_w=12.0 * current
    ).frame.assign(**{name: make(time_s, rpm, current) for name, make in columns.items()})


@pytest.mark.parametrize("dead_s", [100.0, 125.0])
def test_an_rpm_that_reads_zero_from_some_moment_on_hides_no_run_at_part_power(dead_s):
    """Power that leaves no doubt, while the shaft is said to stand: that it stands is no longer believed."""
    _, frame = two_runs_and_one_at_part_power(rpm=lambda time_s, rpm, _: np.where(time_s < dead_s, rpm, 0.0))
    runs = runs_of(Log("invented", "", frame))
    assert np.array(runs) == pytest.approx(np.array([(40, 60), (120, 140), (160, 180)]), abs=0.3)


def test_a_voltage_that_falls_silent_takes_no_run_with_it():
    """Power is missing from then on, but not the current; the air turns the shaft, which therefore tells nothing."""
    time_s, frame = two_runs_and_one_at_part_power(
        rpm=lambda time_s, rpm, _: np.where((rpm == 0.0) & (time_s > 60.0), 1200.0, rpm),
        power_w=lambda time_s, _, current: np.where(time_s < 100.0, 12.0 * current, np.nan),
    )
    frame = frame.drop(columns="throttle").assign(climb_m_s=np.where(time_s > 60.0, -0.7, 0.0))
    runs = runs_of(Log("invented", "", frame))
    assert np.array(runs) == pytest.approx(np.array([(40, 60), (120, 140), (160, 180)]), abs=0.3)
