"""Motor runs from sensors that report one after the other, and from coarse ones."""

import numpy as np
import pytest
from segmentation.invented_flight import InventedFlight, cut, spans


def flown(seed=0):
    return InventedFlight(seed).rest(20).run(20).glide(60).run(8).glide(60).land().rest(25)


def test_sensors_that_report_milliseconds_apart_lose_no_run():
    """Once a second, six sensors in a row: six stamps within 15 ms, as long tables give them."""
    log = flown().log(rate_hz=1.0, channels=("throttle",))
    rows = np.repeat(np.arange(len(log.frame)), 6)
    frame = log.frame.iloc[rows].reset_index(drop=True)
    frame["time_s"] += np.tile(np.arange(6) * 0.003, len(log.frame))
    found = spans(cut(log.then("each with a stamp of its own", frame)), "motor_run")
    assert [start for start, _ in found] == pytest.approx([20.0, 100.0], abs=1.0)
    assert [end for _, end in found] == pytest.approx([40.0, 108.0], abs=1.0)


def test_idle_that_flips_between_two_steps_of_a_coarse_sensor_is_no_motor_run():
    log = flown(1).log(rate_hz=2.0, channels=("current_a", "voltage_v"))
    rng = np.random.default_rng(1)
    current = log.frame["current_a"].to_numpy()
    flips = np.repeat(rng.random(len(current) // 6 + 1) < 0.25, 6)[: len(current)]
    pulled = current * (0.5 + 0.1 * rng.standard_normal(len(current)))
    coarse = np.where(current > 5.0, np.round(pulled), flips.astype(float))
    found = spans(cut(log.then("whole amperes", log.frame.assign(current_a=coarse))), "motor_run")
    assert [start for start, _ in found] == pytest.approx([20.0, 100.0], abs=0.6)
