from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from measures.made_traces import cut, made_traces

from analyzer.measures.drift import drift_m_per_root_s
from analyzer.measures.edge_heights import heights_of
from analyzer.measures.kink import lagged
from analyzer.measures.notices import altimeter_notice
from analyzer.measures.readings import Readings, readings_of
from analyzer.measures.slipstream import slipstream_of
from analyzer.measures.tuning import TUNING
from analyzer.records import Segment

FINE_S = 0.02


def flown(
    lag_s, wash_m, noise_m, seed=0, rate_hz=10.0, late_s=0.0, filter_s=0.0, stalls=False, through=True, held_up_s=0.0
):
    """Two climbs of 30 s at 7 m/s with glides between, as an altimeter with lag and wash reads them.

    After the motor the model goes on climbing until the pilot pushes over, `late_s` later (before it, where that is
    negative), or it stalls and recovers.
    The altimeter's noise is white, or has gone through a filter of its own. The wash goes through the altimeter's lag
    as the height does, or not; and the readings may be held up on their way by a fixed time, a negative one where it is
    the motor's channels that are.
    """
    grid = np.arange(0.0, 300.0, FINE_S)
    motor = ((grid >= 20.0) & (grid < 50.0)) | ((grid >= 150.0) & (grid < 180.0))
    pushed = np.roll(motor, round(late_s / FINE_S))
    held = motor | pushed if late_s >= 0.0 else motor & pushed
    wanted = np.where(held, 7.0, np.where(grid < 20.0, 0.0, -0.5))
    climb = lagged(wanted[:, None], 0.7, FINE_S)[:, 0]
    for stop in (50.0, 180.0) if stalls else ():
        fallen = (grid >= stop) & (grid < stop + 4.0)
        climb[fallen] = np.interp(grid[fallen] - stop, [0.0, 1.7, 2.6, 4.0], [7.0, -4.5, 1.0, -0.5])
    height = np.cumsum(climb) * FINE_S
    seen = lagged((height + through * wash_m * motor)[:, None], lag_s, FINE_S)[:, 0]
    seen = np.interp(grid - held_up_s, grid, seen + (not through) * wash_m * motor)
    time = np.arange(0.0, 299.0, 1.0 / rate_hz)
    rng = np.random.default_rng(seed)
    noise = lagged(rng.normal(size=(time.size, 1)), filter_s, 1.0 / rate_hz)[:, 0]
    reading = np.interp(time, grid, seen) + noise_m * noise / noise.std()
    width = 5
    smooth = np.convolve(np.pad(reading, width, mode="edge"), np.ones(2 * width + 1) / (2 * width + 1), "valid")
    rpm = np.where(np.interp(time, grid, motor.astype(float)) > 0.5, 6000.0, 0.0)
    traces = made_traces(time, reading, height_m=smooth, climb_m_s=np.gradient(smooth, time), rpm=rpm)
    segmentation = cut(
        ("ground", 0.0, 20.0),
        ("motor_run", 20.0, 50.0),
        ("glide", 50.0, 150.0),
        ("motor_run", 150.0, 180.0),
        ("glide", 180.0, 298.9),
    )
    return traces, segmentation, lambda at: float(np.interp(at, grid, height))


def gains(heights, segmentation, true):
    """The gain of each motor run, and the true one."""
    runs = segmentation.of_kind("motor_run")
    return [(heights.gain(run.start_s, run.end_s), true(run.end_s) - true(run.start_s)) for run in runs]


def share_held(**how):
    """Share of the gains of eight flights that are within two of their standard errors."""
    found = []
    for seed in range(8):
        traces, segmentation, true = flown(seed=seed, **how)
        found += gains(heights_of(traces, segmentation, TUNING), segmentation, true)
    return np.mean([abs(gain.value_m - exact) <= 2.0 * gain.se_m for gain, exact in found])


@pytest.mark.parametrize(("lag_s", "wash_m"), [(0.1, 0.0), (0.4, 0.0), (0.2, 2.0), (0.6, -1.5)])
def test_climbs_are_right_whatever_the_altimeter_does(lag_s, wash_m):
    traces, segmentation, true = flown(lag_s, wash_m, noise_m=0.1)
    for gain, exact in gains(heights_of(traces, segmentation, TUNING), segmentation, true):
        assert abs(gain.value_m - exact) <= 2.0 * gain.se_m
        assert gain.value_m == pytest.approx(exact, rel=0.02)


@pytest.mark.parametrize(
    "altimeter",
    [
        {"lag_s": 0.5, "wash_m": 1.5, "through": False},
        {"lag_s": 0.5, "wash_m": -1.5, "through": False},
        {"lag_s": 0.0, "wash_m": 0.0, "held_up_s": 0.45},
        {"lag_s": 0.0, "wash_m": 1.0, "held_up_s": 0.6},
    ],
)
def test_wash_that_ends_at_once_and_readings_that_come_late_are_told_from_lag(altimeter):
    for seed in range(4):
        traces, segmentation, true = flown(noise_m=0.08, seed=seed, **altimeter)
        for gain, exact in gains(heights_of(traces, segmentation, TUNING), segmentation, true):
            assert abs(gain.value_m - exact) <= 2.0 * gain.se_m
            assert gain.value_m == pytest.approx(exact, rel=0.015)


@pytest.mark.parametrize("drive_late_s", [0.6, 0.9, 1.2])
def test_a_motor_whose_channels_come_late_is_told_by_the_kinks_that_come_before(drive_late_s):
    for seed in range(4):
        traces, segmentation, true = flown(0.3, 1.0, noise_m=0.08, seed=seed, held_up_s=-drive_late_s)
        heights = heights_of(traces, segmentation, TUNING)
        assert heights.altimeter.late_drive_s == pytest.approx(drive_late_s, abs=0.3)
        assert "motor-channels-late" in {notice.code for notice in altimeter_notice(heights.altimeter, TUNING)}
        assert heights.altimeter.lag_s == pytest.approx(TUNING.usual_lag_s, abs=0.1)
        for gain, exact in gains(heights, segmentation, true):
            assert abs(gain.value_m - exact) <= 2.0 * gain.se_m
            assert gain.value_m == pytest.approx(exact, rel=0.015)


@pytest.mark.parametrize("early_s", [0.6, 1.0, 2.0])
def test_a_pilot_who_levels_out_before_he_stops_the_motor_has_no_late_channels(early_s):
    for seed in range(4):
        traces, segmentation, true = flown(0.4, 0.0, noise_m=0.08, seed=seed, late_s=-early_s)
        heights = heights_of(traces, segmentation, TUNING)
        assert heights.altimeter.late_drive_s == 0.0
        for run in segmentation.of_kind("motor_run"):
            gain = heights.gain(run.start_s, run.end_s)
            assert abs(gain.value_m - true(run.end_s) + true(run.start_s)) <= 2.0 * gain.se_m


@pytest.mark.parametrize("late_s", [0.05, 0.1, 0.15])
def test_a_pilot_who_always_pushes_over_a_little_late_is_within_the_stated_error(late_s):
    assert share_held(lag_s=0.2, wash_m=0.0, noise_m=0.05, late_s=late_s) >= 0.9


@pytest.mark.parametrize("stalls", [False, True])
def test_noise_that_the_altimeter_has_filtered_is_not_taken_for_motion(stalls):
    # It swings slowly, as no motion seen through a long lag could: it would speak for a short one.
    assert share_held(lag_s=0.7, wash_m=0.0, noise_m=0.15, rate_hz=20.0, filter_s=0.2, stalls=stalls) >= 0.85


def test_the_error_of_a_gain_is_never_less_than_the_climb_times_what_stops_share():
    traces, segmentation, _ = flown(0.6, 0.0, noise_m=0.01, rate_hz=50.0)
    heights = heights_of(traces, segmentation, TUNING)
    run = segmentation.of_kind("motor_run")[1]
    assert heights.gain(run.start_s, run.end_s).se_m >= 0.85 * 7.0 * TUNING.manner_spread_s
    assert heights.altimeter.lag_se_s >= 0.85 * TUNING.manner_spread_s


def test_plain_differences_of_the_readings_would_not_be():
    traces, segmentation, true = flown(0.6, -1.5, noise_m=0.0)
    run = segmentation.of_kind("motor_run")[1]
    readings = np.interp([run.start_s, run.end_s], traces.time_s, traces.channels["altitude_m"])
    assert abs(np.diff(readings)[0] / (true(run.end_s) - true(run.start_s)) - 1.0) > 0.02


def test_in_a_steady_glide_the_lag_is_taken_out():
    # First-order response to a ramp of slope -0.5 m/s lags by 0.5 lag metres.
    traces, segmentation, true = flown(0.6, 0.0, noise_m=0.02)
    heights = heights_of(traces, segmentation, TUNING)
    height = heights.at(120.0)
    assert abs(height.value_m - true(120.0)) < 0.15
    assert abs(height.value_m - true(120.0)) <= 2.5 * height.se_m


def test_what_the_lag_is_off_by_cancels_in_a_steady_glide_and_not_in_a_climb():
    # h = y + lag dy/dt: an error of the lag moves both ends of a steady glide by the same height.
    traces, segmentation, _ = flown(0.4, 0.0, noise_m=0.0, rate_hz=20.0)
    heights = heights_of(traces, segmentation, replace(TUNING, usual_drift_m_per_root_s=1e-9))
    glide, turned = heights.gain(100.0, 140.0), heights.gain(170.0, 140.0)
    assert abs(glide.by_lag_m) < 0.02 * heights.altimeter.lag_se_s
    assert turned.by_lag_m == pytest.approx(-7.5 * heights.altimeter.lag_se_s, rel=0.05)  # from +7 to -0.5 m/s
    assert turned.se_m == pytest.approx(np.hypot(turned.own_se_m, turned.by_lag_m))


def test_a_height_in_a_gap_is_less_certain():
    traces, segmentation, _ = flown(0.2, 0.0, noise_m=0.05)
    lost = (traces.time_s > 90.0) & (traces.time_s < 100.0)
    for name in ("height_m", "altitude_reading_m", "climb_m_s", "height_se_m"):
        traces.channels[name] = np.where(lost, np.nan, traces.channels[name])
    heights = heights_of(traces, segmentation, TUNING)
    assert heights.at(95.0).se_m > heights.at(80.0).se_m + 3.0
    before, beside, after = (heights.at(time_s).value_m for time_s in (89.9, 90.5, 100.1))
    assert min(before, after) < beside < max(before, after)  # on the line over the gap, however near its edge


def test_a_stop_inside_a_gap_is_less_certain():
    traces, segmentation, true = flown(0.2, 0.0, noise_m=0.05)
    lost = (traces.time_s > 47.0) & (traces.time_s < 53.0)
    kept = made_traces(
        traces.time_s[~lost],
        traces.channels["height_m"][~lost],
        climb_m_s=traces.channels["climb_m_s"][~lost],
        rpm=traces.channels["rpm"][~lost],
    )
    heights = heights_of(kept, segmentation, TUNING)
    # the climb of 7 m/s ended anywhere in a gap of 6 s: standard deviation of an even distribution
    assert heights.at(50.0).se_m > 0.9 * 7.0 * 6.0 / np.sqrt(12.0)
    assert abs(heights.at(50.0).value_m - true(50.0)) <= 2.5 * heights.at(50.0).se_m


def test_an_altimeter_that_froze_at_a_stop_does_not_tell_its_lag_there():
    # A climb that stands still for a second and a half is no motion: it spoke for no lag, against the other stop.
    traces, segmentation, true = flown(0.8, 1.0, noise_m=0.15, rate_hz=4.0)
    time, channels = traces.time_s, traces.channels
    stuck = (time > 47.9) & (time < 49.4)
    reading = np.where(stuck, channels["altitude_reading_m"][stuck][0], channels["altitude_reading_m"])
    smooth, climb, rpm = channels["height_m"], channels["climb_m_s"], channels["rpm"]
    heights = heights_of(made_traces(time, reading, height_m=smooth, climb_m_s=climb, rpm=rpm), segmentation, TUNING)
    assert heights.altimeter.stops == 1
    for gain, exact in gains(heights, segmentation, true):
        assert abs(gain.value_m - exact) <= 2.0 * gain.se_m


def test_a_start_after_a_short_silence_is_known_from_both_sides_of_it():
    # Readings of the glide alone, carried on over the silence, left it open by 9 m.
    traces, segmentation, true = flown(0.2, 0.0, noise_m=0.15, rate_hz=2.0)
    kept = (traces.time_s < 147.5) | (traces.time_s > 149.9)
    columns = {name: values[kept] for name, values in traces.channels.items()}
    heights = heights_of(
        made_traces(traces.time_s[kept], columns.pop("altitude_reading_m"), **columns), segmentation, TUNING
    )
    start = heights.at(150.0)
    assert start.se_m < 2.5
    assert abs(start.value_m - true(150.0)) <= 2.0 * start.se_m


def test_strength_of_the_slipstream_follows_thrust():
    # Thrust grows with rpm squared; power with its cube, so thrust with power to 2/3.
    rpm = np.array([0.0, 3000.0, 6000.0, 6000.0])
    by_rpm, by_power = (
        slipstream_in(np.arange(4.0), (0.0, 3.0), **channel) for channel in ({"rpm": rpm}, {"power_w": rpm**3})
    )
    np.testing.assert_allclose(by_rpm, [0.0, 0.25, 1.0, 1.0], atol=0.02)
    np.testing.assert_allclose(by_power, by_rpm, atol=0.02)


def test_the_strongest_slipstream_is_that_of_the_motor_runs_however_short_they_are():
    # A receiver's draw for the rest of the log is no slipstream.
    time = np.arange(1000.0)
    power = np.where((time >= 500.0) & (time < 510.0), 250.0, 2.0)
    assert slipstream_in(time, (500.0, 509.0), power_w=power)[505] == pytest.approx(1.0)


def test_without_a_channel_of_the_motor_no_slipstream_is_known():
    traces = made_traces(np.arange(4.0), np.zeros(4))
    assert slipstream_of(traces, (Segment("motor_run", 0.0, 3.0, 0.0, 0.0),)) is None
    assert slipstream_of(traces, ()) is None


def slipstream_in(time, run, **channels):
    made = slipstream_of(made_traces(time, np.zeros(time.size), **channels), (Segment("motor_run", *run, 0.0, 0.0),))
    assert made is not None
    return [made.share(slice(row, row + 1)) for row in range(time.size)]


def test_noise_of_the_readings_comes_from_the_log():
    rng = np.random.default_rng(2)
    time = np.arange(0.0, 200.0, 0.2)
    glide = -0.5 * time + 0.3 * rng.normal(size=time.size)
    traces = made_traces(time, glide, climb_m_s=np.full(time.size, -0.5))
    readings = readings_of(traces, cut(("glide", 0.0, 199.0)), 0.2)
    assert np.sqrt(readings.noise_m2) == pytest.approx(0.3, rel=0.1)
    assert readings.stamp_error_s == 0.0


@pytest.mark.parametrize(("filter_s", "share"), [(0.0, 0.25), (0.2, 0.75)])
def test_averages_over_filtered_noise_gain_less_than_over_white(filter_s, share):
    # Means of four readings of an exponentially filtered noise, each keeping k = exp(-0.05 / 0.2) of the last:
    # variance (4 + 6 k + 4 k² + 2 k³) / 16 = 0.75; the fourth differences see at least two thirds of it.
    rng = np.random.default_rng(3)
    time = np.arange(0.0, 400.0, 0.05)
    noise = lagged(rng.normal(size=(time.size, 1)), filter_s, 0.05)[:, 0]
    traces = made_traces(time, -0.5 * time + 0.2 * noise / noise.std(), climb_m_s=np.full(time.size, -0.5))
    _, _, variance = readings_of(traces, cut(("glide", 0.0, 399.0)), 0.2).thinned(10.0, 20.0)
    assert 0.66 * share < variance.mean() / 0.04 < 1.25 * share


@pytest.mark.parametrize("rate_hz", [1.0, 10.0, 100.0])
def test_however_few_readings_there_are_they_have_a_noise(rate_hz):
    for count in range(1, 130):
        time = np.arange(count) / rate_hz
        traces = made_traces(time, np.sin(time), climb_m_s=np.cos(time))
        assert readings_of(traces, cut(("glide", 0.0, float(time[-1]))), 0.2).noise_m2 > 0.0


def test_a_coarse_altimeter_is_never_better_than_its_step():
    # Rounding to steps of 1 m: standard deviation 1/sqrt(12) m.
    time = np.arange(0.0, 200.0, 0.2)
    coarse = np.round(-0.3 * time)
    traces = made_traces(time, coarse, climb_m_s=np.full(time.size, -0.3))
    readings = readings_of(traces, cut(("glide", 0.0, 199.0)), 0.2)
    assert readings.noise_m2 >= 1.0 / 12.0 - 1e-9


def test_late_stamps_show_in_the_climb():
    rng = np.random.default_rng(4)
    time = np.arange(0.0, 100.0, 0.2)
    motor = (time >= 30.0) & (time < 60.0)
    climb = np.where(motor, 8.0, -0.5)
    height = np.cumsum(climb) * 0.2 + climb * rng.normal(0.0, 0.08, time.size) + 0.05 * rng.normal(size=time.size)
    segmentation = cut(("glide", 0.0, 30.0), ("motor_run", 30.0, 60.0), ("glide", 60.0, 99.0))
    readings = readings_of(made_traces(time, height, climb_m_s=climb), segmentation, 0.2)
    assert readings.stamp_error_s == pytest.approx(0.08, rel=0.25)


def test_thinned_readings_keep_the_mean_and_gain_precision():
    time = np.arange(0.0, 50.0, 0.05)
    traces, glide = made_traces(time, 2.0 * time, climb_m_s=np.full(time.size, 2.0)), cut(("glide", 0.0, 49.0))
    (_, _, full), (at, height, variance) = (readings_of(traces, glide, s).thinned(10.0, 20.0) for s in (0.05, 0.1))
    assert np.diff(at).mean() == pytest.approx(0.1)
    np.testing.assert_allclose(height, 2.0 * at)
    assert variance[0] == pytest.approx(full[0] / 2.0)


def test_an_error_of_the_stamps_costs_as_much_height_as_was_climbed_meanwhile():
    climb = np.array([np.nan, 0.0, 3.0, 10.0])
    readings = Readings(np.arange(4.0), np.zeros(4), climb, noise_m2=0.04, stamp_error_s=0.1)
    _, _, variance = readings.thinned(0.0, 9.0)
    np.testing.assert_allclose(variance, [0.04, 0.04, 0.13, 1.04])


def grounds(levels):
    time = np.arange(0.0, 100.0 * len(levels), 1.0)
    height = np.repeat(np.asarray(levels, dtype=float), 100)
    pieces = []
    for index in range(len(levels)):
        pieces += [
            ("ground", 100.0 * index, 100.0 * index + 40.0),
            ("glide", 100.0 * index + 40.0, 100.0 * (index + 1)),
        ]
    return made_traces(time, height), cut(*pieces)


def test_drift_is_the_usual_where_the_ground_stays_level():
    drift = drift_m_per_root_s(*grounds([0.0, 0.3, 0.0]), TUNING)
    assert drift <= TUNING.usual_drift_m_per_root_s


def test_drift_grows_with_what_the_ground_level_wanders():
    small, large = (drift_m_per_root_s(*grounds([0.0, step, 0.0, step]), TUNING) for step in (2.0, 6.0))
    assert TUNING.usual_drift_m_per_root_s < small < large
    # Many changes of 6 m in 100 s outweigh the usual: 0.6 m per root second, lessened by two usual pairs.
    assert drift_m_per_root_s(*grounds([0.0, 6.0] * 20), TUNING) == pytest.approx(0.6, rel=0.06)


def test_a_landing_in_the_valley_is_no_drift():
    assert drift_m_per_root_s(*grounds([0.0, -120.0]), TUNING) == TUNING.usual_drift_m_per_root_s
