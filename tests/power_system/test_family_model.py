"""The folding family against measured points (see measured_points.csv for their source).

The full study, with every measured point and every propeller left out in turn by a fit of its own, is
tests/accuracy/propeller_leave_one_out.py; its table stands in DEVELOPERS.md. Here: a few points a propeller, and a
propeller is left out by fitting mean and spread to the shipped coefficients of the other 33.
"""

from __future__ import annotations

from dataclasses import replace
from functools import cache
from typing import TYPE_CHECKING

import numpy as np
import pytest
from accuracy.propeller_family_fit import deviation_modes
from curve_spread import standard_deviations
from momentum_theory import ideal_efficiency, ideal_static_thrust_n

from analyzer.power_system.family_basis import (
    TUNNEL_VISCOSITY_M2_S,
    basis,
    log_reynolds,
    nominal_peaks,
    reynolds_number,
    trend_terms,
)
from analyzer.power_system.family_model import PropellerFamily, family_curves, folding_family, mean_curves
from analyzer.power_system.propeller import Propeller
from analyzer.power_system.propeller_curves import LOG_REYNOLDS_GRID, PropellerCurves
from analyzer.power_system.variants import student_95

if TYPE_CHECKING:
    import pandas as pd

FAMILY = folding_family()
SIZES = [Propeller(*size) for size in FAMILY.sizes_in.tolist()]


def errors_percent(curves: PropellerCurves, points: pd.DataFrame) -> tuple[np.ndarray, np.ndarray]:
    """|error| over the peak, per cent, and whether the 95 % interval holds it; shape (2, points)."""
    advance, speed = points["J"].to_numpy(float), points["rpm"].to_numpy(float) / 60.0
    log_re = log_reynolds(reynolds_number(advance, speed, curves.propeller.diameter_m, TUNNEL_VISCOSITY_M2_S))
    values = np.stack(curves.coefficients(advance, log_re))
    spread = np.stack(standard_deviations(curves, advance, log_re))
    off = np.abs(values - points[["CT", "CP"]].to_numpy(float).T)
    peaks = points[["peak_CT", "peak_CP"]].to_numpy(float).T
    return 100.0 * off / peaks, off <= student_95(curves.degrees_of_freedom) * spread


def of_size(points: pd.DataFrame, size: Propeller) -> pd.DataFrame:
    return points[points["propeller"] == f"folding_carbon_{size.name}"]


@cache
def without(left_out: int) -> PropellerFamily:
    kept = np.arange(len(SIZES)) != left_out
    terms = np.array([trend_terms(size.diameter_in, size.pitch_in) for size in SIZES])[kept]
    own = FAMILY.coefficients[kept]
    trend = np.linalg.lstsq(terms, own, rcond=None)[0]
    deviation = own - terms @ trend
    degrees = len(own) - terms.shape[1]
    modes = deviation_modes(deviation.T @ deviation / degrees, len(FAMILY.modes))
    return PropellerFamily(FAMILY.sizes_in[kept], own, trend, np.linalg.inv(terms.T @ terms), modes, float(degrees))


@pytest.mark.parametrize("size", SIZES, ids=lambda size: size.name)
def test_a_measured_size_is_reproduced(size: Propeller, measured_points: pd.DataFrame) -> None:
    curves = family_curves(size)
    assert curves.tier == "measured"
    off, _ = errors_percent(curves, of_size(measured_points, size))
    assert np.median(off, axis=1) == pytest.approx(0.0, abs=2.0)
    assert off.max() < 5.0


def test_left_out_propellers_are_predicted_and_held_by_the_interval(measured_points: pd.DataFrame) -> None:
    """Better than 6 % of the peak C_T and 8 % of the peak C_P (a plain radial-basis fit: 7.4 % and 10.1 %)."""
    medians, inside = [], []
    for index, size in enumerate(SIZES):
        off, held = errors_percent(mean_curves(size, without(index)), of_size(measured_points, size))
        medians.append(np.median(off, axis=1))
        inside.append(held.mean(axis=1))
    thrust, power = np.median(medians, axis=0)
    assert thrust < 6.0
    assert power < 8.0
    assert 0.92 <= np.mean(inside) <= 0.98


def test_an_interval_between_sizes_is_wider_than_at_a_measured_one() -> None:
    log_re = np.zeros(3)
    at = np.array([0.0, 0.3, 0.5])
    measured = np.array(standard_deviations(family_curves(Propeller(14.0, 8.0)), at, log_re))
    between = np.array(standard_deviations(family_curves(Propeller(14.0, 7.5)), at, log_re))
    rare = np.array(standard_deviations(mean_curves(Propeller(16.0, 18.0)), at, log_re))
    assert (measured < between).all()
    assert (between[0] < rare[0]).all()


@pytest.mark.parametrize("size", [*SIZES, Propeller(16.0, 10.0), Propeller(13.0, 6.5)], ids=lambda size: size.name)
def test_momentum_theory_is_never_beaten(size: Propeller) -> None:
    curves = family_curves(size)
    for log_re in LOG_REYNOLDS_GRID:
        thrust, power = curves.coefficients(np.linspace(0.0, curves.advance_scale, 101), log_re)
        # With rho = n = D = 1, thrust is C_T, power C_P and airspeed J.
        assert thrust[0] <= ideal_static_thrust_n(power[0], 1.0, 1.0)
        flying = (thrust > 0.0) & (np.arange(101) > 0)
        advance = np.linspace(0.0, curves.advance_scale, 101)[flying]
        efficiency = advance * thrust[flying] / power[flying]
        assert (efficiency <= ideal_efficiency(thrust[flying], advance, 1.0, 1.0)).all()


def test_straight_lines_between_the_nodes_are_near_the_fitted_curves() -> None:
    """In the middle between two Reynolds numbers that every size was measured at, all over powered flight."""
    log_re = float(LOG_REYNOLDS_GRID[3:5].mean())
    x = np.linspace(0.0, 1.0, 401)
    at = basis(x, np.full(x.size, log_re))
    for size, coefficients in zip(SIZES, FAMILY.coefficients, strict=True):
        curves = family_curves(size)
        fitted = np.array(nominal_peaks(size.pitch_ratio))[:, None] * (coefficients.reshape(2, -1) @ at.T)
        off = np.abs(curves.coefficients(x * curves.advance_scale, log_re) - fitted)
        assert (off.max(axis=1) < 0.01 * fitted.max(axis=1)).all()


def test_the_family_covers_two_blades_within_its_range() -> None:
    assert FAMILY.covers(Propeller(16.0, 10.0))
    assert not FAMILY.covers(Propeller(17.0, 12.0))
    assert not FAMILY.covers(Propeller(9.0, 5.0))
    assert not FAMILY.covers(Propeller(14.0, 8.0, blades=3))
    assert FAMILY.measured_row(Propeller(14.0, 8.0, blades=3)) is None


def test_curves_go_on_falling_past_the_measured_windmilling() -> None:
    curves = family_curves(Propeller(13.0, 7.0))
    thrust, power = curves.coefficients(np.linspace(1.1, 2.0, 50) * curves.advance_scale, 0.0)
    assert (np.diff(thrust) <= 0).all()
    assert (np.diff(power) <= 0).all()


def test_another_family_can_stand_in() -> None:
    larger = replace(FAMILY, coefficients=1.1 * FAMILY.coefficients)
    size = SIZES[0]
    ours, theirs = family_curves(size), family_curves(size, larger)
    np.testing.assert_allclose(theirs.thrust, 1.1 * ours.thrust)
