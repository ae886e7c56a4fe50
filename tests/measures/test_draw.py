from __future__ import annotations

import numpy as np
import pandas as pd
import pytest
from measures.made_traces import cut, made_log, made_traces

from analyzer.conditioning import condition
from analyzer.measures import measure
from analyzer.measures.draw import CounterDraw, current_draw, power_draw
from analyzer.measures.kink import lagged
from analyzer.measures.traces import traces_of
from analyzer.measures.tuning import TUNING
from analyzer.records import Log


def run_of(length_s: float, start_s: float = 30.0):
    return cut(
        ("ground", 0.0, start_s), ("motor_run", start_s, start_s + length_s), ("glide", start_s + length_s, 120.0)
    )


def square(time, level, start, end, idle=0.0):
    return np.where((time >= start) & (time < end), level, 0.0) + idle


def frame_of(time, current):
    return pd.DataFrame({"time_s": time, "altitude_m": np.zeros(time.size), "current_a": current})


def drawn(time, current, segmentation, tuning=TUNING, **channels):
    runs = segmentation.of_kind("motor_run")
    draw = current_draw(made_traces(time, np.zeros(time.size), current_a=current, **channels), runs, tuning)
    assert draw is not None
    return draw.of_run(runs[0])


def energy(time, current, voltage, segmentation):
    runs = segmentation.of_kind("motor_run")
    traces = made_traces(time, np.zeros(time.size), current_a=current, voltage_v=voltage)
    draw = power_draw(traces, runs, TUNING, current_draw(traces, runs, TUNING))
    assert draw is not None
    return draw.of_run(runs[0])


def test_offset_and_avionics_are_taken_out_of_a_run():
    time = np.arange(0.0, 120.0, 0.1)
    result = drawn(time, square(time, 36.0, 30.0, 50.0, idle=0.7), run_of(20.0))
    assert result.value == pytest.approx(0.2, rel=1e-6)


def test_a_negative_offset_is_put_back():
    time = np.arange(0.0, 120.0, 0.1)
    result = drawn(time, square(time, 36.0, 30.0, 50.0, idle=-0.3), run_of(20.0))
    assert result.value == pytest.approx(0.2, rel=1e-6)


@pytest.mark.parametrize("step", [0.05, 0.2, 0.5, 1.0])
def test_where_the_samples_fall_is_an_error_that_is_stated(step):
    rng = np.random.default_rng(5)
    errors, stated = [], []
    for _ in range(150):
        time = np.arange(0.0, 120.0, step) + rng.uniform(0.0, step)
        length = rng.uniform(24.0, 26.0)
        current = square(time, 40.0, 30.0, 30.0 + length, idle=0.4)
        result = drawn(time, current, run_of(length), TUNING)
        errors.append(result.value - 40.0 * length / 3600.0)
        stated.append(result.se)
    assert abs(np.mean(errors)) < 3.0 * np.std(errors) / np.sqrt(150.0)
    assert np.mean(np.abs(errors) <= 2.0 * np.array(stated)) >= 0.93
    assert np.std(errors) == pytest.approx(np.mean(stated), rel=0.25)


@pytest.mark.parametrize("period", [0.5, 1.0, 2.0])
def test_a_held_current_errs_by_its_own_step_and_says_so(period):
    # Rectangles of 40 A, sensed every `period`, held in a table of 10 Hz: at either edge the error is uniform over a
    # step of the sensor's, variance (I d)²/12 each.
    rng = np.random.default_rng(12)
    errors, stated = [], []
    for _ in range(60):
        time, length = np.arange(0.0, 120.0, 0.1), rng.uniform(9.0, 11.0)
        sensed = np.floor(time / period) * period + rng.uniform(-period, 0.0)
        current = square(sensed, 40.0, 30.0, 30.0 + length, idle=0.4)
        current += 0.05 * np.sin(977.0 * sensed)
        conditioned = traces_of(condition(Log("made.csv", "0" * 64, frame_of(time, current))))
        runs = run_of(length).of_kind("motor_run")
        result = current_draw(conditioned, runs, TUNING).of_run(runs[0])
        errors.append(result.value - 40.0 * length / 3600.0)
        stated.append(result.se)
    assert np.mean(stated) == pytest.approx(40.0 * period * np.sqrt(2.0 / 12.0) / 3600.0, rel=0.25)
    assert np.mean(np.abs(errors) <= 2.0 * np.array(stated)) >= 0.9


@pytest.mark.parametrize(("lag_s", "late_s"), [(0.2, 0.0), (1.0, 0.0), (2.0, 0.0), (0.0, 0.5), (0.0, 1.5), (0.5, 0.5)])
def test_a_slow_or_late_sensor_loses_no_charge(lag_s, late_s):
    time = np.arange(0.0, 120.0, 0.05)
    late = square(time - late_s, 40.0, 30.0, 50.0)
    shown = lagged(late[:, None], lag_s, 0.05)[:, 0]
    assert drawn(time, shown, run_of(20.0)).value == pytest.approx(40.0 * 20.0 / 3600.0, rel=0.006)


def test_a_sensor_that_is_stuck_after_the_stop_does_not_lengthen_the_run():
    time = np.arange(0.0, 120.0, 0.1)
    assert drawn(time, square(time, 40.0, 30.0, 53.0), run_of(20.0)).value == pytest.approx(40.0 / 180.0, rel=0.01)


def test_close_runs_share_what_lies_between_them():
    time = np.arange(0.0, 120.0, 0.05)
    current = square(time, 30.0, 30.0, 40.0) + square(time, 30.0, 40.6, 50.6)
    segmentation = cut(
        ("ground", 0.0, 30.0),
        ("motor_run", 30.0, 40.0),
        ("glide", 40.0, 40.6),
        ("motor_run", 40.6, 50.6),
        ("glide", 50.6, 120.0),
    )
    runs = segmentation.of_kind("motor_run")
    draw = current_draw(made_traces(time, np.zeros(time.size), current_a=current), runs, TUNING)
    assert [draw.of_run(run).value for run in runs] == pytest.approx([300.0 / 3600.0] * 2, rel=0.01)


def test_a_gap_inside_a_run_is_bridged_and_told():
    time = np.arange(0.0, 120.0, 0.1)
    current = square(time, 36.0, 30.0, 50.0)
    current[(time > 38.0) & (time < 42.0)] = np.nan
    result = drawn(time, current, run_of(20.0))
    assert result.value == pytest.approx(0.2, rel=1e-3)
    assert result.interpolated_share == pytest.approx(0.2, abs=0.02)
    assert result.se >= 0.1 * 0.2 * 0.19


@pytest.mark.parametrize("idle", [-0.3, 0.0, 0.3])
def test_of_a_run_without_any_reading_nothing_is_known_and_of_the_others_it_is(idle):
    time = np.arange(0.0, 240.0, 0.1)
    current = square(time, 36.0, 30.0, 50.0, idle)
    current[time > 100.0] = np.nan
    segmentation = cut(
        ("ground", 0.0, 30.0),
        ("motor_run", 30.0, 50.0),
        ("glide", 50.0, 140.0),
        ("motor_run", 140.0, 160.0),
        ("glide", 160.0, 239.0),
    )
    summary = measure(made_log(time, np.zeros(time.size), current_a=current), segmentation)
    known, lost = summary.motor_runs
    assert known.charge_ah == pytest.approx(0.2, rel=0.01)
    assert lost.charge_ah is None
    assert lost.climb_per_ah_m is None
    assert "charge and energy are missing" in next(
        notice.message for notice in summary.log.notices if notice.code == "gap-in-motor-run"
    )


@pytest.mark.parametrize("reads", [0.0, 0.3])
def test_a_current_that_does_not_see_the_motor_gives_no_charge(reads):
    time = np.arange(0.0, 120.0, 0.1)
    channels = {"current_a": np.full(time.size, reads), "voltage_v": np.full(time.size, 12.0)}
    summary = measure(made_log(time, np.zeros(time.size), **channels), run_of(20.0))
    (run,) = summary.motor_runs
    assert (run.charge_ah, run.energy_wh, summary.totals.charge_ah) == (None, None, None)
    assert "The current shows nothing" in next(
        notice.message for notice in summary.log.notices if notice.code == "no-current"
    )


def test_a_stop_in_a_gap_is_uncertain_over_the_gap():
    # 40 A; the motor stops anywhere in a gap of 6 s, and the run is taken to end in its middle: variance (I d)²/12.
    rng = np.random.default_rng(3)
    errors, stated, shares = [], [], []
    for _ in range(100):
        time, stop = np.arange(0.0, 120.0, 0.1), rng.uniform(50.0, 56.0)
        current = square(time, 40.0, 30.0, stop, idle=0.4)
        current[(time > 50.0) & (time < 56.0)] = np.nan
        result = drawn(time, current, run_of(23.0))
        errors.append(result.value - 40.0 * (stop - 30.0) / 3600.0)
        stated.append(result.se)
        shares.append(result.interpolated_share)
    assert abs(np.mean(errors)) < 0.3 * np.std(errors)
    assert np.mean(stated) == pytest.approx(40.0 * 6.0 / np.sqrt(12.0) / 3600.0, rel=0.1)
    assert np.std(errors) == pytest.approx(np.mean(stated), rel=0.2)
    assert min(shares) > 0.08


def test_a_charge_counter_fills_the_gap():
    time = np.arange(0.0, 120.0, 0.1)
    full = square(time, 36.0, 30.0, 50.0) - square(time, 24.0, 38.5, 41.5)
    counter = np.concatenate(([0.0], np.cumsum(np.diff(time) * (full[1:] + full[:-1]) / 2.0))) / 3600.0
    current = full.copy()
    gap = (time > 38.0) & (time < 42.0)
    current[gap], counter[gap] = np.nan, np.nan
    with_counter = drawn(time, current, run_of(20.0), charge_ah=counter)
    without = drawn(time, current, run_of(20.0))
    exact = (36.0 * 20.0 - 24.0 * 3.0) / 3600.0
    assert with_counter.value == pytest.approx(exact, rel=2e-3)
    assert without.value > 1.08 * exact
    assert with_counter.interpolated_share == 0.0


def test_a_charge_counter_goes_on_where_the_current_falls_silent_for_good():
    time = np.arange(0.0, 120.0, 0.1)
    full = square(time, 36.0, 30.0, 50.0) - square(time, 24.0, 42.0, 50.0)
    counter = np.concatenate(([0.0], np.cumsum(np.diff(time) * (full[1:] + full[:-1]) / 2.0))) / 3600.0
    current = np.where(time < 41.95, full, np.nan)
    exact = (36.0 * 12.0 + 12.0 * 8.0) / 3600.0
    assert drawn(time, current, run_of(20.0), charge_ah=counter).value == pytest.approx(exact, rel=0.02)


def test_a_counter_that_was_reset_in_the_gap_is_not_believed():
    time = np.arange(0.0, 120.0, 0.1)
    current = square(time, 36.0, 30.0, 50.0)
    counter = np.where(time < 40.0, 1.5, 0.0)
    gap = (time > 38.0) & (time < 42.0)
    current[gap], counter[gap] = np.nan, np.nan
    assert drawn(time, current, run_of(20.0), charge_ah=counter).value == pytest.approx(0.2, rel=1e-3)


def test_without_current_the_counter_alone_gives_the_charge():
    time = np.arange(0.0, 120.0, 0.1)
    counter = np.round(np.cumsum(square(time, 36.0, 30.0, 50.0, idle=0.36)) * 0.1 / 3600.0, 3)
    runs = run_of(20.0).of_kind("motor_run")
    draw = current_draw(made_traces(time, np.zeros(time.size), charge_ah=counter), runs, TUNING)
    assert isinstance(draw, CounterDraw)
    result = draw.of_run(runs[0])
    assert result.value == pytest.approx(0.2, abs=0.0015)
    assert abs(result.value - 0.2) <= 2.0 * result.se
    assert draw.idle_level(runs[0]) == pytest.approx(0.36, abs=0.05)


@pytest.mark.parametrize("last_s", [25.0, 40.0])
def test_of_a_run_after_the_counter_fell_silent_nothing_is_known(last_s):
    time = np.arange(0.0, 120.0, 0.1)
    counter = np.cumsum(square(time, 36.0, 30.0, 50.0, idle=0.36)) * 0.1 / 3600.0
    runs = run_of(20.0).of_kind("motor_run")
    traces = made_traces(time, np.zeros(time.size), charge_ah=np.where(time < last_s, counter, np.nan))
    assert current_draw(traces, runs, TUNING).of_run(runs[0]) is None


def test_of_a_run_in_which_the_counter_began_anew_nothing_is_known():
    time = np.arange(0.0, 120.0, 0.1)
    counter = 0.8 + np.cumsum(square(time, 36.0, 30.0, 50.0)) * 0.1 / 3600.0
    counter[time > 40.0] -= counter[time > 40.0][0]
    runs = run_of(20.0).of_kind("motor_run")
    assert current_draw(made_traces(time, np.zeros(time.size), charge_ah=counter), runs, TUNING).of_run(runs[0]) is None


def test_without_current_power_over_voltage_gives_it():
    time = np.arange(0.0, 120.0, 0.1)
    current = square(time, 36.0, 30.0, 50.0)
    runs = run_of(20.0).of_kind("motor_run")
    traces = made_traces(time, np.zeros(time.size), power_w=12.0 * current, voltage_v=np.full(time.size, 12.0))
    assert current_draw(traces, runs, TUNING).of_run(runs[0]).value == pytest.approx(0.2, rel=1e-6)


def test_of_a_current_that_is_silent_in_every_run_nothing_is_known():
    """One that froze with the motor off keeps its first reading: its totals were 0 Ah."""
    time = np.arange(0.0, 120.0, 0.1)
    current = np.where(time == 0.0, 0.3, np.nan)
    traces, runs = made_traces(time, np.zeros(time.size), current_a=current), run_of(20.0).of_kind("motor_run")
    assert current_draw(traces, runs, TUNING) is None


def test_energy_of_a_run_at_falling_voltage():
    # i = 30 A, u = 16 - (t - 30)/10 over 20 s: 30 (16 * 20 - 20^2 / 20) = 9000 J = 2.5 Wh.
    time = np.arange(0.0, 120.0, 0.02)
    current = square(time, 30.0, 30.0, 50.0)
    voltage = np.where((time >= 30.0) & (time < 50.0), 16.0 - (time - 30.0) / 10.0, 16.0)
    assert energy(time, current, voltage, run_of(20.0)).value == pytest.approx(2.5, rel=1e-3)


def test_a_silent_voltage_sensor_costs_no_reading_of_the_current():
    time = np.arange(0.0, 120.0, 0.1)
    current, voltage = square(time, 30.0, 30.0, 50.0), np.full(time.size, 16.0)
    voltage[(time > 35.0) & (time < 45.0)] = np.nan
    result = energy(time, current, voltage, run_of(20.0))
    assert result.value == pytest.approx(30.0 * 16.0 * 20.0 / 3600.0, rel=1e-6)
    assert result.interpolated_share == 0.0


def test_a_log_that_is_all_motor_has_no_idle_level_and_a_larger_error():
    time = np.arange(0.0, 20.0, 0.1)
    segmentation = cut(("motor_run", 0.0, 19.9))
    result = drawn(time, np.full(time.size, 36.0), segmentation)
    assert result.value == pytest.approx(36.0 * 19.9 / 3600.0, rel=0.11)
    assert result.se >= TUNING.usual_idle_a * 19.9 / 3600.0


@pytest.mark.parametrize("offset", [-0.35, -0.2, 0.0])
def test_a_current_cut_off_at_zero_is_less_certain(offset):
    time = np.arange(0.0, 120.0, 0.1)
    cut_off = np.maximum(square(time, 3.0, 30.0, 60.0, idle=offset), 0.0)
    result = drawn(time, cut_off, run_of(30.0))
    assert abs(result.value - 3.0 * 30.0 / 3600.0) <= 2.0 * result.se
    assert result.se == pytest.approx(TUNING.usual_offset_a * 32.0 / 3600.0, rel=0.05)


def test_energy_of_a_current_cut_off_at_zero_is_less_certain_by_as_many_amperes():
    time = np.arange(0.0, 120.0, 0.1)
    current, voltage = square(time, 3.0, 30.0, 60.0), np.full(time.size, 12.0)
    result = energy(time, current, voltage, run_of(30.0))
    assert result.se == pytest.approx(12.0 * TUNING.usual_offset_a * 32.0 / 3600.0, rel=0.05)


def test_a_current_that_idles_above_or_below_zero_hides_no_offset():
    time = np.arange(0.0, 120.0, 0.1)
    for offset in (-0.2, 0.1):
        assert drawn(time, square(time, 3.0, 30.0, 60.0, idle=offset), run_of(30.0)).se < 0.2 * 3.0 / 3600.0


def test_a_warming_sensor_is_followed_from_run_to_run():
    time = np.arange(0.0, 1200.0, 0.2)
    drift = time / 1200.0
    segmentation = cut(
        ("glide", 0.0, 100.0),
        ("motor_run", 100.0, 120.0),
        ("glide", 120.0, 1100.0),
        ("motor_run", 1100.0, 1120.0),
        ("glide", 1120.0, 1199.0),
    )
    current = square(time, 20.0, 100.0, 120.0) + square(time, 20.0, 1100.0, 1120.0) + drift
    runs = segmentation.of_kind("motor_run")
    draw = current_draw(made_traces(time, np.zeros(time.size), current_a=current), runs, TUNING)
    assert [draw.of_run(run).value for run in runs] == pytest.approx([400.0 / 3600.0] * 2, rel=0.003)


def test_a_level_that_no_noise_carries_over_the_sensors_steps_lies_anywhere_within_one():
    # Steps of 1 A: even distribution over the step, standard deviation 1/sqrt(12) A, over the run and its margins.
    time = np.arange(0.0, 120.0, 0.1)
    rng = np.random.default_rng(3)
    current = np.round(
        square(time, 20.0, 30.0, 60.0) + 2.0 * rng.normal(size=time.size) * square(time, 1.0, 30.0, 60.0)
    )
    level = 5.0  # neither zero nor below it
    coarse = drawn(time, current + level, run_of(30.0))
    fine = drawn(time, current + level + 0.2 * np.round(rng.normal(size=time.size), 1), run_of(30.0))
    assert coarse.se * 3600.0 > 30.0 / np.sqrt(12.0)
    assert fine.se < 0.5 * coarse.se


def test_energy_knows_the_steps_of_its_current_though_the_voltage_flickers():
    # Idle at 1.4 A reads 1 A, on and on; 19 A more at 12 V for 30 s. The step is an error of 12 V 1/sqrt(12) A.
    time = np.arange(0.0, 120.0, 0.1)
    rng = np.random.default_rng(3)
    voltage = 12.0 + rng.normal(0.0, 0.02, time.size)
    current = np.round(square(time, 19.0 + rng.normal(0.0, 1.0, time.size), 30.0, 60.0, idle=1.4))
    result = energy(time, current, voltage, run_of(30.0))
    assert result.se == pytest.approx(12.0 / np.sqrt(12.0) * 32.0 / 3600.0, rel=0.05)
    assert abs(result.value - 12.0 * 19.0 * 30.0 / 3600.0) <= 2.0 * result.se


def test_energy_has_the_idle_of_a_current_that_flips_between_two_steps():
    # A quarter of the readings with the motor off are 2 A, the others 1 A; 19 A more at 12 V for 30 s.
    time = np.arange(0.0, 120.0, 0.1)
    voltage = 12.0 + np.random.default_rng(3).normal(0.0, 0.02, time.size)
    current = square(time, 19.0, 30.0, 60.0, idle=1.0 + (np.arange(time.size) % 4 == 0))
    assert energy(time, current, voltage, run_of(30.0)).value == pytest.approx(12.0 * 19.0 * 30.0 / 3600.0, rel=1e-3)
