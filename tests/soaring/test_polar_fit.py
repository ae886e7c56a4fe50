"""The polar from glides with known polar, air and pilot."""

import numpy as np
import pytest

from analyzer.errors import NoAnswerError
from analyzer.soaring.polar import Polar
from analyzer.soaring.polar_fit import fit_polar, glide_blocks, joined

TRUE = Polar(2.2e-4, 2.1)  # least sink 0.37 m/s at 7.5 m/s


def _glide(minutes=10.0, low=6.5, high=13.0, unrest=0.15, seed=0, load=None, start_s=0.0):
    rng = np.random.default_rng(seed)
    time = np.arange(0.0, minutes * 60.0, 0.2)
    changes = np.arange(0.0, time[-1] + 30.0, 25.0)
    speed = np.interp(time, changes, rng.uniform(low, high, changes.size))
    decay = np.exp(-0.2 / 5.0)
    air = np.zeros(time.size)
    for index in range(1, time.size):
        air[index] = decay * air[index - 1] + unrest * np.sqrt(1.0 - decay**2) * rng.standard_normal()
    return start_s + time, air - TRUE.sink_m_s(speed, 1.0 if load is None else load), speed


def test_still_air_gives_the_polar_back():
    fit = fit_polar(glide_blocks(*_glide(unrest=0.0)))
    assert fit.polar.parasite_s2_m2 == pytest.approx(TRUE.parasite_s2_m2, rel=1e-6)
    assert fit.polar.induced_m2_s2 == pytest.approx(TRUE.induced_m2_s2, rel=1e-6)


def test_ten_minutes_are_enough():
    """Over 30 restless flights: least sink within 0.04 m/s and its speed within 0.5 m/s."""
    fits = [fit_polar(glide_blocks(*_glide(seed=seed))) for seed in range(30)]
    sink = np.array([float(fit.polar.sink_m_s(fit.least_sink_speed_m_s)) for fit in fits])
    speed = np.array([fit.least_sink_speed_m_s for fit in fits])
    true_speed = TRUE.least_sink_speed_m_s
    assert np.median(np.abs(sink - TRUE.sink_m_s(true_speed))) < 0.04
    assert np.median(np.abs(speed - true_speed)) < 0.5


def test_the_band_covers_the_polar():
    covered = []
    for seed in range(60):
        fit = fit_polar(glide_blocks(*_glide(seed=seed)))
        low, high = fit.band_m_s(9.0)
        covered.append(low < TRUE.sink_m_s(9.0) < high)
    assert np.mean(covered) > 0.85


def test_standard_errors_of_the_landmarks_have_the_right_size():
    fits = [fit_polar(glide_blocks(*_glide(seed=seed))) for seed in range(60)]
    glide = np.array([fit.best_glide_ratio for fit in fits])
    speed = np.array([fit.polar.best_glide_speed_m_s for fit in fits])
    assert np.median([fit.best_glide_ratio_se for fit in fits]) == pytest.approx(glide.std(), rel=0.5)
    assert np.median([fit.best_glide_speed_se_m_s for fit in fits]) == pytest.approx(speed.std(), rel=0.5)


def test_turns_are_allowed_for():
    time, climb, speed = _glide(unrest=0.0, load=1.2)
    banked = fit_polar(glide_blocks(time, climb, speed, np.full(time.size, 1.2)))
    assert banked.polar.induced_m2_s2 == pytest.approx(TRUE.induced_m2_s2, rel=1e-6)


def test_a_dive_within_a_block_does_not_bend_it():
    """The balance is over energy, so speed may change within a block."""
    time = np.arange(0.0, 600.0, 0.2)
    speed = 8.0 + 4.0 * np.sin(time / 2.0) + np.where(time > 300.0, 2.0, 0.0)
    fit = fit_polar(glide_blocks(time, -TRUE.sink_m_s(speed), speed))
    assert fit.polar.parasite_s2_m2 == pytest.approx(TRUE.parasite_s2_m2, rel=1e-6)


def test_a_patch_of_lift_does_not_count_in_full():
    time, climb, speed = _glide(seed=2)
    lifted = climb + np.where((time > 200.0) & (time < 230.0), 3.0, 0.0)
    robust, clean = (fit_polar(glide_blocks(time, c, speed)).polar for c in (lifted, climb))
    assert robust.sink_m_s(9.0) == pytest.approx(clean.sink_m_s(9.0), abs=0.03)


def test_never_slow_enough_for_the_least_sink():
    fit = fit_polar(glide_blocks(*_glide(low=9.0, high=16.0, unrest=0.05)))
    assert not fit.least_sink_reached
    assert fit.least_sink_speed_m_s == fit.slowest_m_s
    assert fit.least_sink_speed_se_m_s is None


def test_one_speed_or_too_short_is_refused():
    with pytest.raises(NoAnswerError, match="too alike"):
        fit_polar(glide_blocks(*_glide(low=8.0, high=8.3)))
    with pytest.raises(NoAnswerError, match="too few"):
        fit_polar(glide_blocks(*_glide(minutes=0.5)))
    with pytest.raises(NoAnswerError, match="too few"):
        fit_polar(joined([]))
