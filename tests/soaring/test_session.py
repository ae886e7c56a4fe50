"""Thermals of several logs together."""

from dataclasses import replace

import pytest
from made_flight import made_summary

from analyzer.export.thermals_text import session_text
from analyzer.records import Notice, ThermalClimb
from analyzer.soaring.session import session_of


def _climb(start_s, end_s, entry, gain):
    return ThermalClimb(start_s, end_s, gain, gain / (end_s - start_s), None, entry, entry + gain, None, None, None)


def _summary(*climbs, started_at=None, thermal=100.0, motor=300.0):
    made = made_summary()
    return replace(
        made,
        log=replace(made.log, started_at=started_at),
        thermal_climbs=climbs,
        totals=replace(made.totals, thermal_gain_m=thermal, motor_gain_m=motor),
    )


def test_sums_and_share():
    session = session_of([_summary(_climb(0, 100, 50, 100)), _summary(_climb(10, 60, 100, 50), thermal=50.0)])
    assert session.logs == 2
    assert session.climb_time_s == 150.0
    assert session.thermal_gain_m == 150.0
    assert session.lift_share == pytest.approx(150.0 / 750.0)


def test_height_bands_hold_all_gain_and_time():
    session = session_of([_summary(_climb(0, 100, 50, 100), _climb(200, 250, 120, 100))])
    assert sum(band.gain_m for band in session.by_height) == pytest.approx(200.0)
    assert sum(band.time_s for band in session.by_height) == pytest.approx(150.0)
    low = session.by_height[0]
    assert (low.low_m, low.climbs, low.climb_rate_m_s) == (50.0, 1, pytest.approx(1.0))
    assert session.by_height[-1].climb_rate_m_s == pytest.approx(2.0)


@pytest.mark.parametrize("started", ["2026-05-02T13:50:00", "2026-05-02T13:50:00+02:00"])
def test_time_of_day_is_that_of_the_log(started):
    session = session_of([_summary(_climb(0, 100, 50, 100), _climb(900, 1000, 50, 50), started_at=started)])
    assert [(hour.hour, hour.climbs, hour.gain_m) for hour in session.by_hour] == [(13, 1, 100.0), (14, 1, 50.0)]
    assert session.climbs[1].began_at.startswith("2026-05-02T14:05:00")


def test_unknown_values_do_not_spoil_the_rest():
    nothing = replace(_climb(0, 100, 50, 100), height_gain_m=None)
    session = session_of([_summary(nothing, _climb(200, 300, 50, 80), thermal=None)])
    assert len(session.climbs) == 2
    assert session.thermal_gain_m == 80.0
    assert session.lift_share is None
    assert session.by_hour == ()


def test_a_log_that_shows_no_motor_says_nothing_of_the_share_of_lift():
    known = _summary(_climb(0, 100, 50, 100))
    untold = replace(_summary(_climb(0, 100, 50, 500), thermal=500.0, motor=0.0), motor_runs=())
    session = session_of([known, untold.with_notices([Notice("motor-unknown", "no motor runs are told")])])
    assert session.motor_unknown_logs == 1
    assert session.lift_share == pytest.approx(100.0 / 400.0)
    assert "2 climbs in" in (said := " ".join(session_text(session).split()))
    assert "600 m (in 1 log the motor may be part)" in said


def test_an_empty_session():
    session = session_of([])
    assert (session.climbs, session.by_height, session.by_hour, session.lift_share) == ((), (), (), None)
