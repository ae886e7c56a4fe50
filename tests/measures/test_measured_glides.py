from __future__ import annotations

import numpy as np
import pytest
from measures.made_traces import cut, made_log

from analyzer.measures import measure
from analyzer.measures.glides import robust_mean


def glide_log(**channels):
    """A motor run to 100 m, a zoom of 6 m in 4 s, 120 s at 0.45 m/s, landing."""
    time = np.arange(0.0, 200.0, 0.1)
    height = np.interp(time, [0, 30, 50, 54, 174, 200], [0.0, 0.0, 100.0, 106.0, 52.0, 52.0])
    segmentation = cut(
        ("ground", 0.0, 30.0), ("motor_run", 30.0, 50.0), ("glide", 50.0, 174.0), ("ground", 174.0, 199.9)
    )
    return made_log(time, height, **channels), segmentation


def test_sink_leaves_the_zoom_out_and_height_loss_does_not():
    log, segmentation = glide_log()
    (glide,) = measure(log, segmentation).glides
    assert (glide.start_s, glide.end_s) == (50.0, 174.0)
    assert glide.sink_rate_m_s == pytest.approx(0.45, abs=0.01)
    # The corner at the motor stop, which no aircraft flies, is fitted to two metres.
    assert glide.height_loss_m == pytest.approx(48.0, abs=2.5)


def test_without_a_motor_run_before_it_the_whole_glide_counts():
    log, _ = glide_log()
    segmentation = cut(("ground", 0.0, 50.0), ("glide", 50.0, 174.0), ("ground", 174.0, 199.9))
    (glide,) = measure(log, segmentation).glides
    assert glide.sink_rate_m_s == pytest.approx(48.0 / 124.0, abs=0.02)


@pytest.mark.parametrize("glide_s", [0.2, 0.5, 1.0, 3.0])
def test_a_glide_of_a_moment_between_motor_and_lift_has_a_sink(glide_s):
    log, _ = glide_log()
    lift = ("thermal_climb", 50.0 + glide_s, 90.0)
    pieces = (("motor_run", 30.0, 50.0), ("glide", 50.0, 50.0 + glide_s), lift, ("glide", 90.0, 90.0 + glide_s))
    segmentation = cut(("ground", 0.0, 30.0), *pieces, ("motor_run", 90.0 + glide_s, 199.9))
    for glide in measure(log, segmentation).glides:
        assert abs(glide.sink_rate_m_s) < 2.0 + glide.sink_rate_se_m_s


def test_sink_is_the_best_linear_unbiased_estimate_under_a_random_walk():
    # Generalised least squares (Aitken 1935) of h = h0 - s t with errors that are sums of independent steps.
    time = np.sort(np.random.default_rng(1).uniform(0.0, 60.0, 25))
    height = 90.0 - 0.5 * time + np.cumsum(np.random.default_rng(2).normal(0.0, 0.4, 25))
    covariance = 1e6 + np.minimum.outer(time - time[0], time - time[0]) + 1e-9 * np.eye(25)
    design = np.column_stack((np.ones(25), -time))
    weighted = np.linalg.solve(covariance, design)
    slope = np.linalg.solve(design.T @ weighted, weighted.T @ height)[1]
    assert slope == pytest.approx((height[0] - height[-1]) / (time[-1] - time[0]), rel=1e-4)


def test_airspeed_is_averaged_after_the_zoom():
    time = np.arange(0.0, 200.0, 0.1)
    log, segmentation = glide_log(airspeed_m_s=np.interp(time, [50.0, 54.0], [15.0, 9.0]))
    (glide,) = measure(log, segmentation).glides
    assert glide.mean_airspeed_m_s == pytest.approx(9.0, abs=0.1)


def test_a_glide_in_one_mode_names_it_and_has_no_parts():
    log, segmentation = glide_log(flight_mode=np.full(2000, "cruise", dtype=object))
    summary = measure(log, segmentation)
    assert summary.glides[0].flight_mode == "cruise"
    assert summary.glide_parts == ()


def test_a_glide_in_several_modes_stays_whole_and_has_parts():
    time = np.arange(0.0, 200.0, 0.1)
    height = np.interp(time, [0, 30, 50, 110, 114, 174, 200], [0.0, 0.0, 100.0, 76.0, 74.0, 14.0, 14.0])
    modes = np.where(time < 112.0, "thermal", "speed").astype(object)
    segmentation = cut(
        ("ground", 0.0, 30.0), ("motor_run", 30.0, 50.0), ("glide", 50.0, 174.0), ("ground", 174.0, 199.9)
    )
    summary = measure(made_log(time, height, flight_mode=modes), segmentation)
    (glide,) = summary.glides
    assert glide.flight_mode is None
    thermal, speed = summary.glide_parts
    assert (thermal.flight_mode, speed.flight_mode) == ("thermal", "speed")
    assert thermal.sink_rate_m_s == pytest.approx(0.4, abs=0.04)
    assert speed.sink_rate_m_s == pytest.approx(1.0, abs=0.03)


def test_modes_switched_for_a_moment_make_no_part():
    time = np.arange(0.0, 200.0, 0.1)
    modes = np.where((time > 100.0) & (time < 103.0), "speed", "cruise").astype(object)
    log, segmentation = glide_log(flight_mode=modes)
    assert [part.flight_mode for part in measure(log, segmentation).glide_parts] == ["cruise", "cruise"]


def bumped(bump_m, time=None):
    """A steady glide at 0.5 m/s with one bump of lift in it."""
    time = np.arange(0.0, 200.0, 0.1) if time is None else time
    return 150.0 - 0.5 * time + bump_m / (1.0 + np.exp(-(time - 100.0) / 2.0))


def test_the_typical_sink_is_robust_to_a_bump_and_the_mean_is_not():
    time = np.arange(0.0, 200.0, 0.1)
    log = made_log(time, bumped(12.0))
    (glide,) = measure(log, cut(("glide", 0.0, 199.9))).glides
    assert glide.typical_sink_m_s == pytest.approx(0.5, abs=0.01)
    assert glide.sink_rate_m_s == pytest.approx(0.5 - 12.0 / 200.0, abs=0.005)


def test_with_airspeed_the_typical_sink_is_that_of_total_energy():
    time = np.arange(0.0, 200.0, 0.1)
    height = 150.0 - 0.5 * time
    log = made_log(time, height, energy_height_m=150.0 - 0.6 * time)
    (glide,) = measure(log, cut(("glide", 0.0, 199.9))).glides
    assert glide.typical_sink_m_s == pytest.approx(0.6, abs=0.005)


def test_a_glide_too_short_to_tell_has_no_typical_sink():
    log = made_log(np.arange(0.0, 200.0, 0.1), bumped(0.0))
    summary = measure(log, cut(("ground", 0.0, 50.0), ("glide", 50.0, 60.0), ("ground", 60.0, 199.9)))
    (glide,) = summary.glides
    assert glide.typical_sink_m_s is None
    assert glide.sink_rate_m_s == pytest.approx(0.5, abs=0.02)
    (said,) = (notice.message for notice in summary.log.notices if notice.code == "no-typical-sink")
    assert "1 glide, the first at 0:50" in said


def test_a_glide_in_a_silence_of_the_altimeter_has_no_typical_sink():
    log = made_log(np.arange(0.0, 200.0, 0.1), bumped(0.0))
    silent = log.frame["time_s"].between(45.0, 95.0)
    log.frame.loc[silent, ["altitude_m", "altitude_reading_m", "height_m", "height_se_m", "climb_m_s"]] = np.nan
    (glide,) = measure(log, cut(("ground", 0.0, 50.0), ("glide", 50.0, 90.0), ("ground", 90.0, 199.9))).glides
    assert glide.typical_sink_m_s is None
    assert glide.sink_rate_m_s is not None
    assert glide.sink_rate_m_s == pytest.approx(0.5, abs=2.0 * glide.sink_rate_se_m_s)


def test_the_robust_mean_of_normal_values_is_nearly_their_mean():
    values = np.random.default_rng(7).normal(3.0, 1.0, 4000)
    location, error = robust_mean(values)
    assert location == pytest.approx(values.mean(), abs=0.01)
    assert error == pytest.approx(1.0 / np.sqrt(4000.0), rel=0.1)


def test_the_error_of_the_robust_mean_allows_for_neighbours_that_are_alike():
    # First-order autoregression with coefficient 0.6: the mean's variance is (1 + r)/(1 - r) = 4 times that of
    # independent values (G.E.P. Box, G.M. Jenkins, Time Series Analysis, 1976, section 2.1.5: from memory).
    rng = np.random.default_rng(11)
    inside, errors, means = 0, [], []
    for _ in range(300):
        noise = rng.normal(0.0, np.sqrt(1.0 - 0.36), 120)
        series = np.empty(120)
        series[0] = rng.normal()
        for index in range(1, 120):
            series[index] = 0.6 * series[index - 1] + noise[index]
        location, error = robust_mean(series)
        inside += abs(location) <= 2.0 * error
        errors.append(error)
        means.append(location)
    assert np.mean(errors) == pytest.approx(np.std(means), rel=0.15)
    assert inside / 300.0 >= 0.9


def test_the_robust_mean_of_equal_values_is_certain():
    assert robust_mean(np.full(6, 0.4)) == (0.4, 0.0)
