from __future__ import annotations

import numpy as np
import pytest
from measures.made_traces import cut, made_log

from analyzer.measures import measure
from analyzer.setup_file import Setup

RATED = {
    "name": "made",
    "pack": {"cells": 3, "min_cell_v": 3.3},
    "speed_controller": {"continuous_current_a": 30.0, "burst_current_a": 45.0},
    "motor": {"max_current_a": 35.0, "max_rpm": 40_000.0},
    "gearbox": {"ratio": 5.0},
    "receiver_supply": {"min_v": 4.8},
}


def checked(setup=None, **changes):
    """A run of 30 s at 28 A with 3 s at 40 A in it, idle 0.5 A."""
    time = np.arange(0.0, 120.0, 0.1)
    motor, peak = (time >= 40.0) & (time < 70.0), (time >= 45.0) & (time < 48.0)
    channels = {
        "current_a": np.where(peak, 40.5, np.where(motor, 28.5, 0.5)),
        "voltage_v": np.where(peak, 9.6, np.where(motor, 10.5, 12.3)),
        "rpm": np.where(motor, 7000.0, 0.0),
        "receiver_voltage_v": np.where((time > 100.0) & (time < 100.55), 4.5, 5.2),
    }
    channels.update(changes)
    kept = {name: values for name, values in channels.items() if values is not None}
    segmentation = cut(("ground", 0.0, 40.0), ("motor_run", 40.0, 70.0), ("glide", 70.0, 119.9))
    log = made_log(time, np.interp(time, [0, 40, 70, 120], [0, 0, 150, 120]), **kept)
    summary = measure(log, segmentation, Setup.model_validate(setup or RATED))
    return {check.name: check for check in summary.power_system.limits}


def test_a_burst_inside_its_rating_may_exceed_the_continuous_one():
    limits = checked()
    continuous, burst = limits["controller current, continuous"], limits["controller current, burst"]
    # Ten seconds that hold the three of 40 A: (3 * 40 + 7 * 28) / 10 = 31.6 A.
    assert continuous.measured == pytest.approx(31.6, abs=0.05)
    assert continuous.ok is False
    assert continuous.margin == pytest.approx(-1.6, abs=0.05)
    assert 38.0 <= continuous.at_s <= 45.2
    assert burst.measured == pytest.approx(40.0)
    assert burst.ok is True
    assert burst.margin == pytest.approx(5.0)
    assert 45.0 <= burst.at_s <= 47.1


def test_a_sensor_at_its_end_shows_that_a_limit_was_passed_but_none_that_was_kept():
    """It reads 32 A at the most, of 40 A and more, above noise of 0.1 A: over 30 A, but who knows about 35 and 45."""
    time = np.arange(0.0, 120.0, 0.1)
    noise = np.random.default_rng(2).normal(0.5, 0.1, time.size)
    driven = (time >= 40.0) & (time < 70.0)
    limits = checked(current_a=np.minimum((noise + 41.0 * driven).round(1), 32.0))
    assert limits["controller current, continuous"].ok is False
    for unknown in ("controller current, burst", "motor current"):
        assert limits[unknown].ok is None
        assert limits[unknown].measured is None
    assert limits["motor rpm"].ok is True


def test_the_motor_s_own_limits():
    limits = checked()
    assert limits["motor current"].ok is False
    assert limits["motor rpm"].measured == pytest.approx(7000.0)
    assert limits["motor rpm"].ok is True


def test_rpm_of_the_propeller_is_geared_up():
    limits = checked({**RATED, "telemetry": {"rpm_measured_at": "propeller"}, "motor": {"max_rpm": 30_000.0}})
    assert limits["motor rpm"].measured == pytest.approx(35_000.0)
    assert limits["motor rpm"].ok is False


def test_cells_share_the_voltage_under_load():
    cell = checked()["cell voltage under load"]
    assert cell.measured == pytest.approx(3.2)
    assert cell.margin == pytest.approx(-0.1)
    assert cell.ok is False
    assert cell.unit == "V"


def test_a_short_dip_of_the_receiver_counts_with_the_motor_off_too():
    receiver = checked()["receiver voltage"]
    assert receiver.measured == pytest.approx(4.5)
    assert receiver.ok is False
    assert receiver.at_s == pytest.approx(100.1, abs=0.2)


def test_a_limit_that_is_met_exactly_is_kept():
    limits = checked({**RATED, "speed_controller": {"burst_current_a": 40.0}})
    assert limits["controller current, burst"].ok is True


def test_what_is_not_logged_is_not_judged():
    limits = checked(current_a=None, voltage_v=None, rpm=None, receiver_voltage_v=None)
    assert len(limits) == 6
    assert all(check.measured is None and check.ok is None and check.margin is None for check in limits.values())


def test_what_the_setup_does_not_give_is_not_checked():
    assert set(checked({"name": "bare"})) == set()


def test_cell_voltage_needs_the_number_of_cells():
    limits = checked({"name": "no cells", "pack": {"min_cell_v": 3.3}})
    assert limits["cell voltage under load"].ok is None
