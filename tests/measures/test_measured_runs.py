from __future__ import annotations

import numpy as np
import pytest
from measures.made_traces import cut, made_log

from analyzer.measures import measure
from analyzer.setup_file import Setup

MASS_KG = 1.6


def climb_log(**changes):
    """Half a minute at 36 A, 11 V and 5 m/s to 150 m, a zoom of 4 m, and a glide at 0.5 m/s."""
    time = np.arange(0.0, 400.0, 0.1)
    motor = (time >= 60.0) & (time < 90.0)
    height = np.interp(time, [0.0, 60.0, 90.0, 93.0, 400.0], [0.0, 0.0, 150.0, 154.0, 154.0 - 0.5 * 307.0])
    channels = {
        "current_a": np.where(motor, 36.5, 0.5),
        "voltage_v": np.where(motor, 11.0, 12.4),
        "rpm": np.where(motor, 7000.0, 0.0),
        "throttle": np.where(motor, 0.9, 0.0),
    }
    channels.update(changes)
    kept = {name: values for name, values in channels.items() if values is not None}
    segmentation = cut(("ground", 0.0, 60.0), ("motor_run", 60.0, 90.0), ("glide", 90.0, 399.9))
    return made_log(time, height, **kept), segmentation


def setup(**sections):
    return Setup.model_validate({"name": "made", "airframe": {"mass_kg": MASS_KG}, **sections})


def test_figures_of_a_climb_in_closed_form():
    log, segmentation = climb_log()
    (run,) = measure(log, segmentation, setup()).motor_runs
    charge, energy = 36.0 * 30.0 / 3600.0, 36.0 * 11.0 * 30.0 / 3600.0
    assert run.charge_ah == pytest.approx(charge, rel=0.005)
    assert run.energy_wh == pytest.approx(energy, rel=0.005)
    assert run.mean_current_a == pytest.approx(36.0, rel=0.005)
    assert run.max_current_a == pytest.approx(36.0, abs=0.01)
    assert run.mean_power_w == pytest.approx(396.0, rel=0.005)
    assert run.min_voltage_v == pytest.approx(11.0)
    assert run.mean_rpm == pytest.approx(7000.0, rel=0.01)
    assert run.mean_throttle == pytest.approx(0.9, rel=0.01)
    assert run.interpolated_charge_share == 0.0
    # What remains of the corner at the stop, which no aircraft flies, is the fit's: 1.5 m.
    assert run.height_gain_m == pytest.approx(150.0, abs=1.5)
    assert run.climb_rate_m_s == pytest.approx(run.height_gain_m / 30.0)
    assert run.climb_per_ah_m == pytest.approx(run.height_gain_m / run.charge_ah)
    assert run.climb_per_wh_m == pytest.approx(run.height_gain_m / run.energy_wh)
    assert run.zoom_gain_m == pytest.approx(4.0, abs=1.6)
    assert not run.blip
    assert not run.on_ground


def test_efficiency_is_potential_energy_over_electrical():
    log, segmentation = climb_log()
    (run,) = measure(log, segmentation, setup()).motor_runs
    # m g h / E with g = 9.80665 m/s2 (CGPM 1901).
    assert run.climb_efficiency == pytest.approx(1.6 * 9.80665 * run.height_gain_m / (run.energy_wh * 3600.0))
    assert run.climb_efficiency_se == pytest.approx(
        run.climb_efficiency * run.climb_per_wh_m_se / run.climb_per_wh_m, rel=1e-9
    )
    (without,) = measure(log, segmentation).motor_runs
    assert without.climb_efficiency is None


def test_errors_of_quotients_add_up_in_squares():
    log, segmentation = climb_log()
    (run,) = measure(log, segmentation).motor_runs
    relative = np.hypot(run.height_gain_m_se / run.height_gain_m, run.charge_ah_se / run.charge_ah)
    assert run.climb_per_ah_m_se / run.climb_per_ah_m == pytest.approx(relative, rel=1e-9)


@pytest.mark.parametrize(
    ("absent", "missing", "code"),
    [
        (
            {"current_a": None},
            ["charge_ah", "energy_wh", "climb_per_ah_m", "climb_per_wh_m", "max_current_a"],
            "no-current",
        ),
        ({"voltage_v": None}, ["energy_wh", "climb_per_wh_m", "min_voltage_v", "mean_power_w"], "no-voltage"),
        ({"voltage_v": None, "current_a": None}, ["min_voltage_v", "mean_voltage_v"], "no-voltage"),
        ({"rpm": None}, ["mean_rpm"], "no-rpm"),
        ({"throttle": None}, ["mean_throttle"], "not-logged"),
    ],
)
def test_what_a_missing_channel_takes_away_is_none_and_said(absent, missing, code):
    log, segmentation = climb_log(**absent)
    summary = measure(log, segmentation, setup())
    (run,) = summary.motor_runs
    assert all(getattr(run, name) is None for name in missing)
    assert run.height_gain_m == pytest.approx(150.0, abs=1.5)
    assert [notice.code for notice in summary.log.notices].count(code) == 1


def test_without_a_mass_there_is_no_climb_efficiency_and_that_is_said():
    log, segmentation = climb_log()
    with_mass, without = (
        [notice.code for notice in measure(log, segmentation, known).log.notices] for known in (setup(), None)
    )
    assert measure(log, segmentation).motor_runs[0].climb_efficiency is None
    assert "no-mass" in without
    assert "no-mass" not in with_mass


def test_a_run_on_the_ground_has_a_cost_and_no_climb():
    time = np.arange(0.0, 200.0, 0.1)
    motor = (time >= 20.0) & (time < 25.0)
    log = made_log(time, np.zeros(time.size), current_a=np.where(motor, 20.0, 0.0), voltage_v=np.full(time.size, 12.0))
    (run,) = measure(log, cut(("ground", 0.0, 20.0), ("motor_run", 20.0, 25.0), ("ground", 25.0, 199.0))).motor_runs
    # A motor run alone makes no flight.
    assert run.charge_ah == pytest.approx(100.0 / 3600.0, rel=0.03)


def test_a_run_outside_all_flights_is_on_the_ground():
    from analyzer.records import Flight, Segment, Segmentation

    time = np.arange(0.0, 200.0, 0.1)
    current = np.where((time >= 20.0) & (time < 25.0), 20.0, 0.0)
    segments = (
        Segment("ground", 0.0, 20.0, 0.0, 0.0),
        Segment("motor_run", 20.0, 25.0, 0.0, 0.0),
        Segment("ground", 25.0, 100.0, 0.0, 0.0),
        Segment("glide", 100.0, 199.0, 0.0, 0.0),
    )
    log = made_log(time, np.zeros(time.size), current_a=current)
    summary = measure(log, Segmentation((Flight(100.0, 199.0),), segments))
    (run,) = summary.motor_runs
    assert run.on_ground
    assert run.climb_rate_m_s is None
    assert run.climb_per_ah_m is None
    assert run.charge_ah is not None
    assert summary.totals.motor_gain_m == 0.0


def test_blips_are_marked():
    log, _ = climb_log()
    segmentation = cut(("ground", 0.0, 60.0), ("motor_run", 60.0, 62.0), ("glide", 62.0, 399.9), blips=(1,))
    (run,) = measure(log, segmentation).motor_runs
    assert run.blip


def test_a_gap_in_a_run_is_told():
    log, segmentation = climb_log()
    frame = log.frame.copy()
    lost = (frame["time_s"] > 70.0) & (frame["time_s"] < 76.0)
    frame.loc[lost, ["current_a", "power_w"]] = np.nan
    summary = measure(log.then("a gap", frame), segmentation)
    assert summary.motor_runs[0].interpolated_charge_share == pytest.approx(0.2, abs=0.02)
    assert [notice for notice in summary.log.notices if notice.code == "gap-in-motor-run" and "20%" in notice.message]
