"""Several groups at once: the studentised range, so that all intervals of a comparison hold together.

Tukey (1949) and Kramer (1956, *Biometrics* 12, 307-310); for unequal numbers of runs the procedure errs on the safe
side (Hayter 1984, *Annals of Statistics* 12, 61-75).
"""

from __future__ import annotations

import math
from functools import lru_cache
from typing import TYPE_CHECKING, Final

import numpy as np

if TYPE_CHECKING:
    from analyzer.arrays import Array


_RANGE_NODES: Final = 64
_SCALE_NODES: Final = 96
_REACH: Final = 8.5
"""Standard deviations beyond which a normal density adds nothing in double precision."""
_TAIL: Final = 1e-13
"""Probability of the scale left out on each side."""
_MOST_DEGREES: Final = 1e6
"""Degrees of freedom that are as good as no limit (q is off by 1e-6); far beyond them all is rounding."""


def studentised_range_cdf(q: float, groups: int, degrees_of_freedom: float) -> float:
    """Probability that the studentised range stays below `q`.

    Parameters
    ----------
    q : float
        Range of `groups` independent means over the standard error of one mean.
    groups : int
        At least 2.
    degrees_of_freedom : float
        Of that standard error, >= 0.5.

    Notes
    -----
    ``P = E_s[ g * int phi(z) (Phi(z) - Phi(z - q s))^(g-1) dz ]`` with ``s^2 ~ chi^2_nu / nu``: the inner integral by
    Gauss-Legendre quadrature, the outer one by the trapezoidal rule in ``ln s``, where both tails vanish. Error below
    1e-8 for one or more degrees of freedom and up to ten groups.
    """
    from scipy.special import ndtr

    if q <= 0.0:
        return 0.0
    z, density = _normal_nodes()
    s, weight = _scale_nodes(min(float(degrees_of_freedom), _MOST_DEGREES))
    inside = ndtr(z)[None, :] - ndtr(z[None, :] - q * s[:, None])
    ranges = groups * (inside ** (groups - 1)) @ density
    return min(max(float(weight @ ranges), 0.0), 1.0)


@lru_cache(maxsize=4096)
def critical_t(groups: int, degrees_of_freedom: float, confidence: float) -> float:
    """Half-width of a simultaneous interval in standard errors of the difference (studentised range over sqrt 2).

    Parameters
    ----------
    groups : int
        Groups of which all pairs are compared, at least 2; with 2 it is Student's t.
    degrees_of_freedom : float
        >= 0.5.
    confidence : float
        Of all intervals together, as 0.95.
    """
    from scipy.special import stdtrit

    single = float(stdtrit(degrees_of_freedom, 0.5 + 0.5 * confidence))
    if groups == 2:
        return single
    from scipy.optimize import brentq

    # Bonferroni's t is never below Tukey's; a single pair's is never above.
    pairs = groups * (groups - 1) / 2
    bonferroni = float(stdtrit(degrees_of_freedom, 1.0 - 0.5 * (1.0 - confidence) / pairs))

    def excess(t: float) -> float:
        return studentised_range_cdf(t * math.sqrt(2.0), groups, degrees_of_freedom) - confidence

    root: float = brentq(excess, single, 1.001 * bonferroni, xtol=1e-9)
    return root


def adjusted_p_value(t: float, groups: int, degrees_of_freedom: float) -> float:
    """Chance that the largest of all pairs' |t| would reach `t` if no group differed."""
    from scipy.special import stdtr

    single = 2.0 * float(stdtr(degrees_of_freedom, -abs(t)))
    if groups == 2:
        return single
    # Far out, the complement of a probability near 1 is all rounding; the single pair's chance bounds it from below.
    together = 1.0 - studentised_range_cdf(abs(t) * math.sqrt(2.0), groups, degrees_of_freedom)
    return max(together, single)


@lru_cache(maxsize=1)
def _normal_nodes() -> tuple[Array, Array]:
    """Nodes over the normal distribution, and its density times their weight."""
    x, weight = np.polynomial.legendre.leggauss(_RANGE_NODES)
    z = _REACH * x
    return z, _REACH * weight * np.exp(-0.5 * z**2) / math.sqrt(2.0 * math.pi)


@lru_cache(maxsize=256)
def _scale_nodes(degrees_of_freedom: float) -> tuple[Array, Array]:
    """Nodes of s, evenly spaced in its logarithm, and their probabilities."""
    from scipy.special import gammainccinv, gammaincinv, gammaln

    half = degrees_of_freedom / 2.0
    low = 0.5 * math.log(max(float(gammaincinv(half, _TAIL)), 1e-12) / half)
    high = 0.5 * math.log(float(gammainccinv(half, _TAIL)) / half)
    x = np.linspace(low, high, _SCALE_NODES)
    log_density = math.log(2.0) + half * math.log(half) - float(gammaln(half)) + 2.0 * half * x - half * np.exp(2.0 * x)
    return np.exp(x), np.exp(log_density) * (x[1] - x[0])
