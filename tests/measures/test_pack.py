from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from measures.made_traces import cut, made_traces

from analyzer.measures import TUNING
from analyzer.measures.pack import measure_pack


def loaded(current, voltage, time, *runs, tuning=TUNING):
    segmentation = cut(*(("motor_run", start, end) for start, end in runs))
    traces = made_traces(time, np.zeros(time.size), current_a=current, voltage_v=voltage)
    return measure_pack(traces, segmentation.segments, tuning)


def test_two_load_method_of_iec_61960_3():
    # DC internal resistance (U1 - U2) / (I2 - I1): 0.2 It for 10 s, then 1 It for 1 s (IEC 61960-3; the load sequence
    # read on a secondary page, the standard itself not read).
    # Invented 3 Ah pack: 0.6 A 12.42 V, 3.0 A 12.30 V, 50 mohm.
    time = np.arange(0.0, 11.0, 0.1)
    high = time >= 10.0
    found = loaded(
        np.where(high, 3.0, 0.6),
        np.where(high, 12.30, 12.42),
        time,
        (10.0, 11.0),
        tuning=replace(TUNING, least_step_a=1.0, pack_settle_s=0.2),
    )
    assert found.pack_resistance_ohm == pytest.approx(0.0500, rel=1e-9)
    assert found.pack_rest_voltage_v == pytest.approx(12.42 + 0.6 * 0.05)


def flights(rng, resistance=0.045, slope_v_s=0.004, noise_v=0.02, relaxation_v=0.0):
    """Five runs from a pack that runs down, and relaxes after each run."""
    time = np.arange(0.0, 500.0, 0.1)
    runs = [(start, start + 15.0) for start in (40.0, 130.0, 220.0, 310.0, 400.0)]
    current = np.full(time.size, 0.4)
    sag = np.zeros(time.size)
    for start, end in runs:
        inside = (time >= start) & (time < end)
        current[inside] = rng.uniform(20.0, 40.0)
        after = time >= end
        sag[inside] += relaxation_v * -np.expm1(-(time[inside] - start) / 25.0)
        sag[after] += relaxation_v * 0.45 * np.exp(-(time[after] - end) / 25.0)
    voltage = 12.6 - slope_v_s * time / 5.0 - resistance * current - sag
    return time, current, voltage + noise_v * rng.normal(size=time.size), runs


def test_resistance_and_rest_voltage_of_a_pack_that_runs_down():
    rng = np.random.default_rng(3)
    time, current, voltage, runs = flights(rng)
    found = loaded(current, voltage, time, *runs)
    assert found.pack_resistance_ohm == pytest.approx(0.045, rel=0.02)
    assert found.pack_rest_voltage_v == pytest.approx(12.6 - 0.004 * 40.0 / 5.0, abs=0.03)


def test_slow_relaxation_hardly_touches_it():
    rng = np.random.default_rng(4)
    time, current, voltage, runs = flights(rng, relaxation_v=0.4)
    # 0.4 V at 30 A would be 13 mohm; four seconds of a relaxation of 25 s let a tenth of it in.
    assert loaded(current, voltage, time, *runs).pack_resistance_ohm == pytest.approx(0.045, abs=0.002)


def test_its_error_is_honest():
    inside = 0
    for seed in range(80):
        time, current, voltage, runs = flights(np.random.default_rng(seed), noise_v=0.1)
        found = loaded(current, voltage, time, *runs)
        inside += abs(found.pack_resistance_ohm - 0.045) <= 2.0 * found.pack_resistance_ohm_se
    assert inside / 80.0 >= 0.88


@pytest.mark.parametrize("absent", ["voltage_v", "current_a"])
def test_without_voltage_or_current_nothing_is_found(absent):
    time, current, voltage, runs = flights(np.random.default_rng(1))
    channels = {"current_a": current, "voltage_v": voltage}
    del channels[absent]
    traces = made_traces(time, np.zeros(time.size), **channels)
    assert measure_pack(traces, cut(*(("motor_run", *run) for run in runs)).segments, TUNING) is None


def test_a_voltage_that_rises_under_load_is_no_pack():
    time, current, voltage, runs = flights(np.random.default_rng(1))
    assert loaded(current, 20.0 - voltage, time, *runs) is None


def test_a_step_too_small_says_nothing():
    time = np.arange(0.0, 60.0, 0.1)
    current = np.where((time > 20.0) & (time < 40.0), 1.0, 0.3)
    assert loaded(current, 12.0 - 0.05 * current, time, (20.0, 40.0)) is None
