"""Planted parameters are found again; what climbs cannot tell stays open; and another routine agrees."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from match_planted import offsets, planted_runs, planted_setup, table_setup
from scipy.optimize import least_squares

from analyzer.match.choice import _hedged, best_estimate, flown_point
from analyzer.match.climb_model import climb_model, conditions_of
from analyzer.match.estimate import Posterior, _covariance, estimate
from analyzer.match.prior import priors
from analyzer.match.problem import problem
from analyzer.match.steady import Reading
from analyzer.match.tuning import TUNING
from analyzer.power_system.calibrated import MAKE, SHARED, basis_curves, own_names
from analyzer.power_system.coefficients import setup_propeller
from analyzer.power_system.family_model import family_curves, mean_curves
from analyzer.power_system.propeller import Propeller
from analyzer.power_system.system import power_system


def fitted(runs, setup=None) -> Posterior:
    setup = setup or planted_setup()
    return best_estimate(setup, power_system(setup), runs, (), TUNING)


def value(found: Posterior, name: str) -> float:
    return float(found.belief.of(name).mean[0])


def test_what_was_planted_is_found() -> None:
    truth = offsets(power=0.10, thrust=0.08, pack_resistance=0.5, speed_constant=-0.02)
    found = fitted(planted_runs(planted_setup(), truth, count=8))
    assert value(found, "12x6.5 power") == pytest.approx(0.10, abs=0.02)
    assert value(found, "12x6.5 thrust") == pytest.approx(0.08, abs=0.03)
    assert value(found, "pack_resistance") == pytest.approx(0.5, abs=0.03)
    assert value(found, "speed_constant") == pytest.approx(-0.02, abs=0.01)


def test_nothing_planted_nothing_found() -> None:
    found = fitted(planted_runs(planted_setup(), offsets(), count=6))
    for name in ("12x6.5 power", "pack_resistance", "speed_constant", "zero_lift_drag"):
        assert value(found, name) == pytest.approx(0.0, abs=0.01)
    assert found.air_run_m_s < TUNING.air_run_m_s


def test_a_propeller_that_is_as_its_table_says_is_found_so(tmp_path) -> None:
    """A quarter less thrust than the family's mean: the fit moved the propeller back towards that."""
    setup = table_setup(tmp_path, thrust_factor=0.75, power_factor=1.0)
    curves = basis_curves(setup_propeller(setup), "table", setup)
    found = fitted(planted_runs(setup, offsets(), count=3, airspeeds=False, curves=curves), setup)
    for name in own_names("12x6.5"):
        assert value(found, name) == pytest.approx(0.0, abs=0.02)


def test_a_steep_climb_without_a_logged_airspeed_is_not_taken_for_a_fast_one() -> None:
    """Slower or faster than the best climb, it climbs as weakly: the search from the usual airspeed found the fast one,
    and with it a propeller that takes 20 % more power.
    """
    found = fitted(planted_runs(planted_setup(), offsets(), count=4, airspeeds=False, pace=0.6))
    assert value(found, "12x6.5 power") == pytest.approx(0.0, abs=0.03)
    np.testing.assert_allclose(found.airspeed_ratio, 0.6, atol=0.05)


def test_the_intervals_hold_what_was_planted() -> None:
    rng = np.random.default_rng(11)
    setup, names = planted_setup(), ("power", "pack_resistance", "speed_constant")
    spreads = {"power": 0.12, "thrust": 0.12, "pack_resistance": 0.3, "speed_constant": 0.025}
    scores = []
    for _ in range(16):
        drawn = {name: float(rng.normal(0.0, spread)) for name, spread in spreads.items()}
        drawn["thrust"] = drawn["power"] + rng.normal(0.0, 0.02)
        found = fitted(planted_runs(setup, offsets(**drawn), count=5, airspeeds=bool(rng.integers(2)), rng=rng))
        for name in names:
            fitted_name = f"12x6.5 {name}" if name == "power" else name
            scores.append((value(found, fitted_name) - drawn[name]) / found.belief.spread(fitted_name))
    assert np.mean(np.abs(scores) < 1.96) >= 0.85


@pytest.mark.parametrize("resistance_ohm", [0.018, 0.025, 0.050])
def test_the_pack_resistance_is_the_sag_over_the_current(resistance_ohm: float) -> None:
    """Whatever the setup says (0.025 ohm), and whether or not it agrees: rest voltage less U, over I."""
    runs = planted_runs(planted_setup("0.025       # as", f"{resistance_ohm} # as"), offsets(), count=4)
    sagging = [
        replace(
            run,
            rest_v=Reading(12.2, 0.003),
            voltage_v=Reading(12.2 - resistance_ohm * run.current_a.value, 0.003),
        )
        for run in runs
    ]
    assert 0.025 * np.exp(value(fitted(sagging), "pack_resistance")) == pytest.approx(resistance_ohm, rel=0.03)


def test_climbs_do_not_tell_what_they_cannot() -> None:
    found = fitted(planted_runs(planted_setup(), offsets(), count=6))
    for name in ("gearbox_efficiency", "motor_resistance", "zero_lift_drag"):
        assert found.belief.spread(name) > 0.7 * found.usual.spread(name)
    assert found.belief.spread("12x6.5 power") < 0.3 * found.usual.spread("12x6.5 power")


def test_without_airspeed_the_propeller_is_known_less_well() -> None:
    with_probe, without = (
        fitted(planted_runs(planted_setup(), offsets(), airspeeds=airspeeds)).belief.spread("12x6.5 power")
        for airspeeds in (True, False)
    )
    assert without > 1.2 * with_probe


def test_the_flown_point_is_that_of_the_throttle_found() -> None:
    """A throttle logged 7 % low is put right by current and rpm; the propeller's speed is then the logged one."""
    runs = planted_runs(planted_setup(), offsets(), count=6)
    low = [replace(run, throttle=Reading(0.93, 0.05)) for run in runs]
    assert fitted(low).speed_rev_s == pytest.approx(np.mean([run.speed_rev_s.value for run in runs]), rel=0.01)


def test_more_climbs_tell_more() -> None:
    few, many = (fitted(planted_runs(planted_setup(), offsets(), count=count)) for count in (2, 12))
    for name in ("12x6.5 power", "pack_resistance", "speed_constant"):
        assert many.belief.spread(name) < few.belief.spread(name)


def test_one_climb_in_lift_does_not_bend_the_thrust() -> None:
    runs = planted_runs(planted_setup(), offsets(), count=6)
    lifted = [replace(runs[0], climb_m_s=Reading(runs[0].climb_m_s.value + 2.5, 0.01)), *runs[1:]]
    plain, bent = fitted(runs), fitted(lifted)
    assert abs(value(bent, "12x6.5 thrust") - value(plain, "12x6.5 thrust")) < 0.03
    assert bent.air_run_m_s > plain.air_run_m_s


def test_a_general_purpose_routine_finds_the_same() -> None:
    setup = planted_setup()
    system, own = power_system(setup), setup_propeller(setup)
    runs = planted_runs(setup, offsets(power=0.1, thrust=0.08, pack_resistance=0.3), count=4)
    prior = priors(setup, system, own, flown_point(setup, system, runs, TUNING), TUNING)[0]
    names = own_names(own.name)
    model = climb_model(system, prior.curves, conditions_of(runs))
    asked = problem(
        model, runs, names, prior.belief.names, prior.belief.mean[prior.belief.rows((*names, *SHARED))], TUNING
    )
    found = estimate(system, prior, prior.belief, runs, (), TUNING)
    count = len(prior.belief.names)
    start = np.concatenate((prior.belief.mean, np.zeros(len(asked.names) - count)))
    root = np.linalg.inv(np.linalg.cholesky(_covariance(prior.belief, asked)))
    variance = asked.variance.copy()
    variance[:, 3] += found.air_run_m_s**2
    heavy = TUNING.gust_freedom

    def residuals(values: np.ndarray) -> np.ndarray:
        off = (asked.given - asked.modelled(values)[0]) / np.sqrt(variance)
        climb = np.sqrt((heavy + 1.0) * np.log1p(off[:, 3] ** 2 / heavy))  # Student's distribution, as squares
        return np.concatenate((off[:, :3].ravel(), climb, root @ (values - start)))

    reference = least_squares(residuals, start, x_scale=1.0 / np.linalg.norm(root, axis=0), xtol=1e-12, ftol=1e-12).x
    np.testing.assert_allclose(found.belief.mean, reference[:count], atol=2e-3)


def test_a_copy_of_the_measured_make_is_recognised() -> None:
    size = Propeller(14.0, 8.0)
    setup = planted_setup(
        "diameter_in = 12.0", "diameter_in = 14.0", "pitch_in = 6.5", "pitch_in = 8.0", "ratio = 1.2", "ratio = 2.0"
    )
    runs = planted_runs(setup, offsets(power=0.01, thrust=0.01), count=6, curves=family_curves(size))
    found = fitted(runs, setup)
    assert found.prior.as_measured
    assert found.prior.basis == "measured"
    assert found.belief.spread("make power") < 0.06


def test_another_make_is_not_taken_for_it() -> None:
    size = Propeller(14.0, 8.0)
    setup = planted_setup(
        "diameter_in = 12.0", "diameter_in = 14.0", "pitch_in = 6.5", "pitch_in = 8.0", "ratio = 1.2", "ratio = 2.0"
    )
    runs = planted_runs(setup, offsets(power=0.05, thrust=0.05), count=6, curves=mean_curves(size))
    found = fitted(runs, setup)
    assert not found.prior.as_measured
    assert found.prior.basis == "family"
    assert value(found, "14x8 power") == pytest.approx(0.05, abs=0.03)
    assert 0.0 < value(found, "make power") < 0.05


def test_what_doubt_is_left_counts_where_the_other_make_stands_too() -> None:
    """Draws of the other make scatter about its own mean, which the log has moved away from the measured one's."""
    size = Propeller(14.0, 8.0)
    setup = planted_setup(
        "diameter_in = 12.0", "diameter_in = 14.0", "pitch_in = 6.5", "pitch_in = 8.0", "ratio = 1.2", "ratio = 2.0"
    )
    system = power_system(setup)
    runs = planted_runs(setup, offsets(power=0.2, thrust=0.2), count=6, curves=family_curves(size))
    beliefs = priors(setup, system, size, flown_point(setup, system, runs, TUNING), TUNING)
    other, same = (estimate(system, prior, beliefs[0].belief, runs, (), TUNING) for prior in beliefs)
    of_size = 0.01 * np.eye(2)
    hedged = _hedged(same, other, 0.2, of_size).belief.of(*MAKE).covariance - same.belief.of(*MAKE).covariance
    there = other.belief.of(*MAKE)
    drawn = np.random.default_rng(3).multivariate_normal(there.mean, there.covariance + 2.0 * of_size, 100_000)
    away = drawn - same.belief.of(*MAKE).mean
    np.testing.assert_allclose(hedged, 0.2 * away.T @ away / len(away), rtol=0.05)
