from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from scipy.signal import lsim
from scipy.stats import multivariate_normal, truncnorm

from analyzer.measures.altimeter import Usual, estimate_altimeter, height_at_stop
from analyzer.measures.kink import GRID_S, KinkModel, _responses, fit_kink, lagged

ONE = KinkModel(sensors=((0.3, 0.0),), motions=((1.5, 3.0),), offsets=(0.0,), wash_fades=((True, 0.0),))
USUAL = Usual(lag_s=0.4, lag_spread_s=0.4, manner_s=0.0, manner_spread_s=0.0, wash_m=1.5)
"""These pilots push over as the motor stops."""


def test_the_lag_of_a_ramp_is_its_time_constant():
    # Closed form of tau y' + y = t from rest: y = t - tau (1 - exp(-t/tau)).
    time = np.arange(0.0, 6.0, GRID_S)
    expected = time + 0.4 * np.expm1(-time / 0.4)
    np.testing.assert_allclose(lagged(time[:, None], 0.4, GRID_S)[:, 0], expected, atol=1e-12)


def test_the_lag_agrees_with_a_general_simulation_of_linear_systems():
    rng = np.random.default_rng(3)
    time = np.arange(0.0, 20.0, GRID_S)
    signal = np.cumsum(rng.normal(size=time.size))
    _, expected, _ = lsim(([1.0], [0.7, 1.0]), signal - signal[0], time)
    np.testing.assert_allclose(lagged(signal[:, None], 0.7, GRID_S)[:, 0] - signal[0], expected, atol=1e-9)


def test_no_lag_changes_nothing():
    values = np.arange(12.0).reshape(6, 2)
    np.testing.assert_array_equal(lagged(values, 0.0, GRID_S), values)


def test_fit_is_the_gaussian_posterior_of_the_same_model_written_out():
    # The same model as one joint normal distribution, evaluated by a general library.
    rng = np.random.default_rng(8)
    time = np.sort(rng.uniform(-4.0, 5.0, 30))
    reading = rng.normal(50.0, 3.0, 30)
    variance = rng.uniform(0.01, 0.2, 30)
    strength, wash = 0.8, 1.3
    fit = fit_kink(time, reading, variance, 0.0, strength, ONE)

    responses = _responses(ONE)
    grid = responses.start_s + GRID_S * np.arange(responses.tables.shape[1])
    table = np.column_stack([np.interp(time, grid, column) for column in responses.tables[0].T])
    motion, slipstream = table[:, :-3], strength * table[:, -3]
    prior = np.concatenate((responses.spread**2, 1.5**2 * responses.step_s, [3.0**2]))
    covariance = motion @ np.diag(prior) @ motion.T + np.diag(variance)
    centred = reading - reading.mean() - wash * slipstream
    density = multivariate_normal(np.zeros(30), covariance).logpdf(centred)
    level = fit.level[0, 0, 0] + wash * fit.pull[0, 0, 0, 0] - 0.5 * wash**2 * fit.weight[0, 0, 0, 0]
    assert level - 0.5 * (np.log(variance).sum() + 30 * np.log(2 * np.pi)) == pytest.approx(density, rel=1e-8)

    gain = prior[0] * motion[:, 0] @ np.linalg.inv(covariance)
    assert fit.height_m[0, 0, 0] - wash * fit.tilt[0, 0, 0, 0] == pytest.approx(
        reading.mean() + gain @ centred, abs=1e-6
    )
    assert fit.variance_m2[0, 0, 0] == pytest.approx(prior[0] - gain @ motion[:, 0] * prior[0], rel=1e-4)


def flown(rng, lag=0.35, wash=1.2, rate=10.0, noise=0.1, climb=7.0, settle=0.6):
    """One motor stop after a steady climb: the acceleration jumps and dies away; true height at the stop is 100 m."""
    grid = np.arange(-14.0, 7.0, GRID_S)
    sink, after = -0.5, np.maximum(grid, 0.0)
    fade = settle * -np.expm1(-after / settle)
    height = 100.0 + climb * np.minimum(grid, 0.0) + sink * after + (climb - sink) * fade
    seen = lagged((height + wash * (grid < 0.0))[:, None], lag, GRID_S)[:, 0]
    time = np.arange(-4.5, 5.5, 1.0 / rate) + rng.uniform(0.0, 1.0 / rate)
    return time, np.interp(time, grid, seen) + noise * rng.normal(size=time.size)


def stops(count, seed, model=None, fade_s=None, **conditions):
    rng = np.random.default_rng(seed)
    model = model or KinkModel()
    fits = []
    for _ in range(count):
        time, reading = flown(rng, climb=rng.uniform(4.0, 11.0), settle=fade_s or rng.uniform(0.3, 1.2), **conditions)
        fits.append(fit_kink(time, reading, np.full(time.size, 0.01), 0.05, 1.0, model))
    return fits


def test_lag_and_wash_are_read_off_the_stops():
    fits = stops(6, seed=1, lag=0.4, wash=1.5)
    altimeter = estimate_altimeter(fits, KinkModel(), USUAL)
    assert altimeter.lag_s == pytest.approx(0.4, abs=0.12)
    assert altimeter.wash_m == pytest.approx(1.5, abs=0.5)
    assert abs(altimeter.lag_s - 0.4) <= 2.5 * altimeter.lag_se_s


def test_heights_at_stops_hold_neither_lag_nor_wash_and_their_errors_are_honest():
    misses, naive = [], []
    for seed in range(12):
        rng = np.random.default_rng(100 + seed)
        lag, wash = rng.uniform(0.0, 0.8), rng.normal(0.0, 1.2)
        fits = stops(4, seed, lag=lag, wash=wash)
        altimeter = estimate_altimeter(fits, KinkModel(), USUAL)
        for fit in fits:
            height, error = height_at_stop(fit, altimeter, 7.0)
            misses.append(((height - 100.0), error))
            naive.append(abs(wash - lag * 7.0))
    misses = np.array(misses)
    assert np.median(np.abs(misses[:, 0])) < 0.6 * np.median(naive)
    assert np.mean(np.abs(misses[:, 0]) <= 2.0 * misses[:, 1]) >= 0.9


def test_without_stops_the_usual_is_assumed():
    altimeter = estimate_altimeter((), KinkModel(), USUAL)
    assert altimeter.stops == 0
    assert altimeter.lag_s == pytest.approx(0.47, abs=0.1)  # mean of the normal that begins at zero
    assert altimeter.wash_m == pytest.approx(0.0, abs=1e-6)
    assert altimeter.wash_se_m == pytest.approx(1.5, rel=0.05)


def test_lag_and_manner_share_a_delay_as_two_normal_variables_of_known_sum():
    # Far from zero: the usual of each, and the rest in proportion to the variances.
    usual = Usual(lag_s=0.6, lag_spread_s=0.3, manner_s=0.1, manner_spread_s=0.1, wash_m=1.5)
    lag, variance = usual.lag_of(np.array([0.7, 0.9]))
    np.testing.assert_allclose(lag, [0.6, 0.6 + 0.2 * 0.9], atol=1e-4)
    np.testing.assert_allclose(variance, 0.3**2 * 0.1**2 / (0.3**2 + 0.1**2), rtol=1e-3)


def test_a_lag_is_never_negative():
    # Truncated normal distribution against a general library.
    usual = Usual(lag_s=0.4, lag_spread_s=0.3, manner_s=0.15, manner_spread_s=0.15, wash_m=1.5)
    delay = np.array([0.0, 0.1, 0.3])
    middle, spread = 0.4 + 0.8 * (delay - 0.55), np.sqrt(0.8) * 0.15
    mean, variance = truncnorm.stats(-middle / spread, np.inf, middle, spread, moments="mv")
    lag, found = usual.lag_of(delay)
    np.testing.assert_allclose(lag, mean, rtol=1e-9)
    np.testing.assert_allclose(found, variance, rtol=1e-6)


def test_what_is_the_pilots_part_of_the_delay_is_not_the_altimeters():
    fits = stops(6, seed=1, lag=0.5)
    late = replace(USUAL, manner_s=0.1, manner_spread_s=0.1)
    prompt, usual = (estimate_altimeter(fits, KinkModel(), one) for one in (USUAL, late))
    assert 0.03 < prompt.lag_s - usual.lag_s < 0.15
    assert usual.lag_se_s >= 0.09
    climb = 7.0
    heights = [height_at_stop(fits[0], altimeter, climb) for altimeter in (prompt, usual)]
    assert heights[0][0] - heights[1][0] == pytest.approx(climb * (prompt.lag_s - usual.lag_s), rel=0.3)
    assert heights[1][1] >= 0.9 * climb * 0.1


def test_a_push_over_too_quick_to_see_leaves_the_lag_open_instead_of_small():
    # The speed leaps at the stop; through a lag of 0.7 s it dies away as if the altimeter were quick, the pilot slow.
    fits = stops(6, seed=5, lag=0.7, fade_s=0.01)
    calm = replace(KinkModel(), motions=((0.5, 1e-6), (1.5, 1e-6)))
    leaping, sure = (
        estimate_altimeter(fits, KinkModel(), USUAL),
        estimate_altimeter(stops(6, 5, calm, lag=0.7, fade_s=0.01), calm, USUAL),
    )
    assert abs(leaping.lag_s - 0.7) < abs(sure.lag_s - 0.7)
    assert abs(leaping.lag_s - 0.7) <= 2.0 * leaping.lag_se_s


def test_more_stops_of_one_pilot_never_claim_more_than_a_few():
    errors = [estimate_altimeter(stops(count, 4), KinkModel(), USUAL).lag_se_s for count in (4, 16)]
    assert errors[1] > 0.8 * errors[0]


def test_a_few_sensors_stand_for_all_that_were_tried():
    fits = stops(6, seed=2)
    model = KinkModel()
    altimeter = estimate_altimeter(fits, model, USUAL)
    few, narrow = altimeter.narrowed(model, 6)
    assert len(narrow.sensors) <= 6
    assert few.weights.sum() == pytest.approx(1.0)
    again = stops(6, seed=2, model=narrow)
    for some, all_tried in zip(again, fits, strict=True):
        height_m, error_m = height_at_stop(all_tried, altimeter, 7.0)
        assert height_at_stop(some, few, 7.0) == pytest.approx((height_m, error_m), abs=0.2 * error_m)
