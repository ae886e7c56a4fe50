"""The steady part of a climb, and the conditions it was flown in."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from match_flight import FIRST_S, IDLE_A, climbing_log, summary_of
from match_planted import planted_setup

from analyzer.match.steady import steady_runs
from analyzer.match.tuning import TUNING
from analyzer.power_system.air import air_state
from analyzer.records import Log


def found(log: Log, count: int = 3, setup=None, climb_s: float = 24.0):
    return steady_runs(summary_of(log, count, climb_s), setup or planted_setup(), log, TUNING)


def test_spooling_up_and_gaining_speed_are_cut_off() -> None:
    runs, _ = found(climbing_log(spool_s=2.0))
    spooled = FIRST_S + TUNING.spooled_share * 2.0
    assert runs[0].start_s == pytest.approx(spooled + TUNING.settle_s, abs=0.11)
    assert runs[0].end_s == pytest.approx(FIRST_S + 24.0 - TUNING.end_guard_s)


def test_means_of_the_steady_part() -> None:
    runs, _ = found(climbing_log())
    run = runs[1]
    assert run.current_a.value == pytest.approx(30.0, abs=1e-6)  # the idle current is not the motor's
    assert run.voltage_v.value == pytest.approx(11.0)
    assert run.climb_m_s.value == pytest.approx(6.0, rel=1e-6)
    assert run.speed_rev_s.value == pytest.approx(9000.0 / 1.2 / 60.0)  # through the gear
    assert run.airspeed_m_s is None


def test_rpm_of_the_propeller_is_not_geared_again() -> None:
    setup = planted_setup("[gearbox]", '[telemetry]\nrpm_measured_at = "propeller"\n[gearbox]')
    runs, _ = found(climbing_log(), setup=setup)
    assert runs[0].speed_rev_s.value == pytest.approx(150.0)


def test_rest_voltage_falls_with_the_charge_of_the_climb() -> None:
    runs, _ = found(climbing_log(rest_v=12.0))
    run = runs[0]
    drawn_ah = (30.0 + IDLE_A) * (0.5 * (run.start_s + run.end_s) - FIRST_S) / 3600.0
    # 4.00 V a cell lies between 70 % (3.95... 4.02 at 80 %): the table falls by 0.07 V over a tenth of 2.2 Ah
    expected = 12.0 - 3 * 0.7 * drawn_ah / 2.2
    assert run.rest_v.value == pytest.approx(expected, abs=0.01)
    assert run.rest_v.se >= 3 * TUNING.rest_error_cell_v


def test_without_voltage_the_charge_used_tells() -> None:
    log = climbing_log()
    blind = replace(log, frame=log.frame.drop(columns="voltage_v"))
    runs, _ = found(blind)
    assert runs[0].voltage_v is None
    assert 12.0 < runs[0].rest_v.value < 12.6
    assert runs[0].rest_v.se == pytest.approx(3 * TUNING.unknown_rest_cell_v)
    assert runs[2].rest_v.value < runs[0].rest_v.value


def test_the_air_is_that_of_the_height() -> None:
    runs, _ = found(climbing_log())
    heights = [70.0, 180.0]
    ratios = [air_state(height_above_field_m=height).density_kg_m3 / 1.225 for height in heights]
    assert ratios[1] < runs[0].density_ratio < 1.0
    assert runs[0].density_ratio == pytest.approx(ratios[0], abs=0.004)


def test_logged_pressure_tells_the_density_where_no_elevation_is_stated() -> None:
    """ISO 2533:1975 at 1000 m and at sea level: 1.111643 and 1.225 kg/m3."""
    log = climbing_log()
    runs, _ = found(replace(log, frame=log.frame.assign(pressure_pa=89_874.56)))
    assert runs[0].density_ratio == pytest.approx(1.111643 / 1.225, rel=1e-5)


def test_full_throttle_is_assumed_where_none_is_logged() -> None:
    log = climbing_log()
    frame = log.frame.copy()
    last = frame["time_s"] > FIRST_S + 180.0
    frame.loc[last, "current_a"] *= 0.5
    runs, notices = found(replace(log, frame=frame))
    assert [run.throttle is not None for run in runs] == [True, True, False]
    assert [notice.code for notice in notices] == ["full-throttle-assumed"]


def test_part_throttle_is_less_certain() -> None:
    full, _ = found(climbing_log(throttle=0.98))
    part, notices = found(climbing_log(throttle=0.7))
    assert full[0].throttle.value == 1.0
    assert full[0].throttle.se == 0.0
    assert part[0].throttle.value == pytest.approx(0.7)
    assert part[0].throttle.se == pytest.approx(0.7 * TUNING.part_throttle, rel=0.01)
    assert not notices


def test_short_climbs_and_gaps_are_told() -> None:
    runs, notices = found(climbing_log(climb_s=7.0), climb_s=7.0)
    assert not runs
    assert notices[0].code == "runs-not-matched"
    log = climbing_log()
    frame = log.frame.copy()
    gap = frame["time_s"].between(FIRST_S + 6.0, FIRST_S + 18.0)
    frame.loc[gap, "current_a"] = np.nan
    runs, notices = found(replace(log, frame=frame))
    assert len(runs) == 2
    assert "1 of 3 climbs" in notices[0].message
