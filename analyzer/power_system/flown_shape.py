"""A propeller's curves where a flight has fixed their level: what is left open is the shape away from there."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING, Final

import numpy as np

from analyzer.power_system.family_basis import log_reynolds, reynolds_number
from analyzer.power_system.propeller_curves import PropellerCurves, interpolate

if TYPE_CHECKING:
    from analyzer.arrays import Array

    FlownPoint = tuple[float, float, float]
    """Advance ratio, speed in rev/s, and kinematic viscosity of the air in m2/s."""


LEAST_COEFFICIENT: Final = 1e-3
"""Of a propeller that is said to have flown a climb: what its curves have less of there, another setup flew."""


def levels(curves: PropellerCurves, point: FlownPoint) -> Array:
    """Logarithms of C_P and C_T at a flown point, shape (2,)."""
    thrust, power = curves.coefficients(point[0], _log_reynolds(curves, point))
    logarithms: Array = np.log(np.maximum((power, thrust), LEAST_COEFFICIENT))
    return logarithms


def mode_ratios(curves: PropellerCurves, point: FlownPoint) -> Array:
    """Each deviation mode at a flown point, as a share of the coefficients there, shape (2, m): of C_P, then of C_T."""
    x, log_re = np.array(point[0] / curves.advance_scale), _log_reynolds(curves, point)
    rows = np.arange(len(curves.power_modes))
    modes = np.stack([interpolate(modes, rows, x, log_re) for modes in (curves.power_modes, curves.thrust_modes)])
    shares: Array = modes / np.exp(levels(curves, point))[:, None]
    return shares


def _log_reynolds(curves: PropellerCurves, point: FlownPoint) -> Array:
    advance_ratio, speed_rev_s, viscosity = point
    return log_reynolds(reynolds_number(advance_ratio, speed_rev_s, curves.propeller.diameter_m, viscosity))


def level_covariance(curves: PropellerCurves, point: FlownPoint) -> Array:
    """Covariance of ln C_P and ln C_T at a flown point, as the curves' modes have it, shape (2, 2).

    Student's distribution of nu degrees of freedom has nu/(nu - 2) times the variance of its scale.
    """
    ratios, nu = mode_ratios(curves, point), curves.degrees_of_freedom
    wider = nu / (nu - 2.0) if np.isfinite(nu) else 1.0
    covariance: Array = wider * ratios @ ratios.T
    return covariance


def held_at(curves: PropellerCurves, point: FlownPoint) -> PropellerCurves:
    """Curves whose modes vanish at a flown point: the part of the spread that says nothing about the level there.

    With z the standard normal coordinates of the modes and A their shares at the point, these are the modes of z
    given A z = 0: an orthonormal basis of the null space of A.
    """
    _, singular, right = np.linalg.svd(mode_ratios(curves, point))
    fixed = int(np.sum(singular > 1e-9 * singular.max(initial=0.0)))
    free = right[fixed:]
    return replace(
        curves,
        thrust_modes=np.einsum("fm,mxr->fxr", free, curves.thrust_modes),
        power_modes=np.einsum("fm,mxr->fxr", free, curves.power_modes),
    )
