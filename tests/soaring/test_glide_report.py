"""The glide of one log: landmarks, sea level, coefficients, modes and logs compared."""

import numpy as np
import pytest

from analyzer.errors import NoAnswerError
from analyzer.records import Glide
from analyzer.setup_file import Airframe
from analyzer.soaring.air_motion import AirMotion
from analyzer.soaring.glide_report import fit_polars, glide_report, usual_sink
from analyzer.soaring.glide_stretches import Stretch
from analyzer.soaring.polar import Polar
from analyzer.soaring.polar_comparison import compare_all, compare_polars
from analyzer.soaring.polar_fit import PolarFit

POLAR = Polar(2.2e-4, 2.1)


def _fit(polar=POLAR, error=0.03, slowest=7.0, fastest=14.0):
    values = np.array([polar.parasite_s2_m2, polar.induced_m2_s2])
    return PolarFit(polar, np.diag((error * values) ** 2), slowest, fastest, 600.0, 0.1)


def _report(fit, density=1.1, **more):
    return glide_report({None: fit}, (), density, **more).polars[0]


def test_sea_level_is_slower_and_sinks_less_by_the_root_of_the_density():
    polar = _report(_fit())
    stretch = np.sqrt(1.1 / 1.225)
    assert polar.at_sea_level.least_sink_m_s == pytest.approx(stretch * polar.flown.least_sink_m_s)
    assert polar.at_sea_level.best_glide_speed_m_s == pytest.approx(stretch * polar.flown.best_glide_speed_m_s)
    assert polar.at_sea_level.best_glide_ratio == pytest.approx(polar.flown.best_glide_ratio)


def test_drag_coefficients_come_back_from_the_airframe():
    """Round trip of CD0 0.016 and k = 1/(pi 0.85 15) through the speed polar of an invented model."""
    frame = Airframe(mass_kg=1.6, wing_area_m2=0.6)
    loading = 1.6 * 9.80665 / 0.6
    factor = 1.0 / (np.pi * 0.85 * 15.0)
    polar = _report(_fit(Polar(0.5 * 1.1 * 0.016 / loading, 2.0 * factor * loading / 1.1)), airframe=frame)
    assert polar.zero_lift_drag_coefficient == pytest.approx(0.016)
    assert polar.induced_drag_factor == pytest.approx(factor)
    assert polar.flown.mass_kg == 1.6


def test_chosen_climbs_join_the_table_of_speeds():
    speeds = _report(_fit(), next_climbs_m_s=(1.2,)).speeds_to_fly
    climbs = [speed.expected_climb_m_s for speed in speeds]
    assert climbs == sorted(climbs)
    assert 1.2 in climbs
    assert [speed.airspeed_m_s for speed in speeds] == sorted(speed.airspeed_m_s for speed in speeds)


def _glide(start_s, end_s, sink, error, mode):
    return Glide(start_s, end_s, sink * (end_s - start_s), sink, error, mode, None, sink, error)


def test_sinks_by_mode_are_weighted_by_time():
    glides = (
        _glide(0, 100, 0.5, 0.1, "cruise"),
        _glide(200, 500, 0.7, 0.1, "cruise"),
        _glide(600, 650, 1.0, 0.2, "speed"),
    )
    sinks = glide_report({}, glides, 1.2).sinks
    assert [(sink.flight_mode, sink.time_s) for sink in sinks] == [("cruise", 400.0), ("speed", 50.0)]
    assert sinks[0].sink_rate_m_s == pytest.approx(0.65)
    assert sinks[0].sink_rate_se_m_s == pytest.approx(np.hypot(100 * 0.1, 300 * 0.1) / 400)


def test_two_states_are_compared_with_their_interval():
    plain, heavy = _report(_fit()), _report(_fit(POLAR.in_air(1.0 / 1.5)))  # as good as half as much mass again
    differences = compare_polars(plain, heavy)
    assert differences[0].sink_difference_m_s > 0.0  # heavy sinks more when slow
    assert differences[0].is_shown
    assert differences[-1].sink_difference_m_s < differences[0].sink_difference_m_s
    assert not any(item.is_shown for item in compare_polars(plain, plain))


def test_the_same_aircraft_in_thin_and_thick_air_is_the_same():
    thick, thin = _report(_fit(), density=1.2), _report(_fit(POLAR.in_air(1.0 / 1.2)), density=1.0)
    assert all(abs(item.sink_difference_m_s) < 0.01 for item in compare_polars(thick, thin))


def test_nothing_in_common_nothing_to_compare():
    slow, fast = _report(_fit(fastest=9.0)), _report(_fit(slowest=10.0))
    with pytest.raises(NoAnswerError, match="different speeds"):
        compare_polars(slow, fast)
    assert compare_all({"slow": slow, "fast": fast}) == ()


def test_too_many_to_read():
    polar = _report(_fit())
    assert len(compare_all({"a": polar, "b": polar, "c": polar})) == 3
    assert compare_all({str(number): polar for number in range(5)}) == ()


def _motion(source="airspeed"):
    time = np.arange(0.0, 400.0, 0.5)
    speed = 9.0 + 3.0 * np.sin(time / 20.0)
    return AirMotion(time, speed, np.ones(time.size), -POLAR.sink_m_s(speed), source)


def test_the_usual_sink_is_that_of_most_of_the_glide():
    time = np.arange(0.0, 400.0, 0.5)
    climb = np.where((time > 100.0) & (time < 150.0), 2.0, -0.6)
    motion = AirMotion(time, np.full(time.size, np.nan), np.ones(time.size), climb, "none")
    assert usual_sink(motion, (Stretch(0.0, 390.0, None),))[0] == pytest.approx(0.6)
    assert usual_sink(motion, ()) is None


def test_a_polar_for_each_mode_the_longest_first():
    stretches = (Stretch(0.0, 150.0, "thermal"), Stretch(160.0, 390.0, "cruise"))
    fits, notices = fit_polars(_motion(), stretches)
    assert list(fits) == ["cruise", "thermal"]
    assert notices == ()
    assert fits["cruise"].polar.best_glide_speed_m_s == pytest.approx(POLAR.best_glide_speed_m_s, rel=1e-6)


def test_why_there_is_no_polar():
    _, notices = fit_polars(_motion("none"), (Stretch(0.0, 150.0, None),))
    assert "neither airspeed nor positions" in notices[0].message
    _, notices = fit_polars(_motion(), (Stretch(0.0, 30.0, "speed"),))
    assert "in speed" in notices[0].message
