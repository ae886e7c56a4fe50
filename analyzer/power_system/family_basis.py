"""Coordinates and basis of the folding-propeller family model: shared by its fit and by its use.

A propeller's C_T and C_P are curves over two coordinates: the advance ratio over the nominal zero-thrust advance
ratio of its pitch, x = J/J0(pitch/diameter), and the logarithm of the Reynolds number. Both are written as one
linear combination of the same basis; C_T and C_P are first divided by a nominal peak, so that the scatter between
propellers is alike for small and large pitch.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

import numpy as np

if TYPE_CHECKING:
    from analyzer.arrays import Array, Floats


REFERENCE_CHORD: Final = 0.08
"""Chord over diameter at 75 % radius that the Reynolds number is formed with; typical of folding blades."""

REFERENCE_REYNOLDS: Final = 1.0e5

TUNNEL_VISCOSITY_M2_S: Final = 1.46e-5
"""Air of the standard atmosphere at sea level; the tests' own air is not in the table, and moves Re by 5 %."""

LOG_REYNOLDS_RANGE: Final = (-1.0, 0.7)
"""Range of ln(Re/1e5) that the measurements cover (37,000 to 200,000); beyond it the nearest end is used."""

ADVANCE_END: Final = 1.15
"""Largest x that the measurements cover: somewhat into windmilling."""

DEGREES: Final = (8, 4, 3)
"""Chebyshev degree in x of the curve, of its slope and of its curvature in ln(Re). Leave-one-out errors do not
move from (6, 2, 1) to (8, 4, 3); the larger basis reproduces the high pitches' stall better."""


def nominal_zero_thrust_advance(pitch_ratio: Floats) -> Floats:
    """J of zero thrust for a pitch/diameter: straight line through the 34 measured propellers (scatter 4 %)."""
    return 0.14 + 1.01 * pitch_ratio


def nominal_peaks(pitch_ratio: float) -> tuple[float, float]:
    """Nominal peak C_T and C_P for a pitch/diameter: the scale of the scatter, not a prediction."""
    return 0.11, 0.085 * pitch_ratio**1.3


def reynolds_number(
    advance_ratio: Floats, speed_rev_s: Floats, diameter_m: Floats, kinematic_viscosity_m2_s: float
) -> Floats:
    """Reynolds number at 75 % radius, without inflow, on the reference chord of `REFERENCE_CHORD`."""
    tip = np.sqrt((0.75 * np.pi) ** 2 + advance_ratio**2)
    return REFERENCE_CHORD * speed_rev_s * diameter_m**2 * tip / kinematic_viscosity_m2_s


def log_reynolds(reynolds: Floats) -> Array:
    """ln(Re/1e5), held inside the measured range."""
    return np.clip(np.log(np.maximum(reynolds, 1.0) / REFERENCE_REYNOLDS), *LOG_REYNOLDS_RANGE)


def basis(x: Array, log_re: Array) -> Array:
    """Basis functions at points.

    Parameters
    ----------
    x, log_re : array, shape (n,)
        Advance ratio over its nominal zero-thrust value (held inside 0 to `ADVANCE_END`); ln(Re/1e5).

    Returns
    -------
    array, shape (n, k)
        Chebyshev polynomials in x, then lower ones times ln(Re), then times ln(Re)^2.
    """
    from numpy.polynomial.chebyshev import chebvander

    curve, slope, curvature = DEGREES
    columns = chebvander(2.0 * np.clip(x, 0.0, ADVANCE_END) / ADVANCE_END - 1.0, curve)
    re = log_re[:, None]
    return np.hstack((columns, columns[:, : slope + 1] * re, columns[:, : curvature + 1] * re**2))


def trend_terms(diameter_in: float, pitch_in: float) -> Array:
    """Terms of the family mean for one size, shape (4,): 1, p, p^2, ln(D/12) with p = pitch/diameter."""
    ratio = pitch_in / diameter_in
    return np.array([1.0, ratio, ratio * ratio, np.log(diameter_in / 12.0)])
