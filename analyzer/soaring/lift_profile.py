"""How the lift was over the height of a climb, and how long it took to centre it."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, Final

import numpy as np

from analyzer.robust_fit import complete
from analyzer.soaring.records import ProfileBand

if TYPE_CHECKING:
    from analyzer.arrays import Array


BAND_STEPS_M: Final = (10.0, 20.0, 25.0, 50.0, 100.0, 200.0, 500.0)
"""Round heights of bands; the smallest that takes at least one circle to climb through is used."""
UNKNOWN_PERIOD_S: Final = 10.0
"""A model's circle, where the log does not show the period: 9 m/s at 30 degrees of bank."""
CENTRED_SHARE: Final = 0.8
"""A climb is centred once a whole circle gives this share of its upper-quartile circle."""


def lift_profile(
    time_s: Array, height_m: Array, climb_m_s: Array, period_s: float | None = None
) -> tuple[ProfileBand, ...]:
    """Mean climb by band of height.

    Parameters
    ----------
    time_s, height_m, climb_m_s : ndarray, shape (n,)
        Samples of one climb; NaN is left out.
    period_s : float, optional
        Time of one circle [s].

    Returns
    -------
    tuple of ProfileBand
        From bottom to top; bands in which less than half a circle was spent are left out.

    Notes
    -----
    The standard error takes each circle in a band as one observation, so it is None with fewer than two.
    """
    time, height, climb = complete(time_s, height_m, climb_m_s)
    if time.size < 3:
        return ()
    period = period_s or UNKNOWN_PERIOD_S
    step_m = _band_step_m(max(float(climb.mean()), 0.1) * period)
    weight = np.gradient(time)
    band = np.floor(height / step_m).astype(int)
    bands = (
        _band(float(level) * step_m, step_m, weight[band == level], climb[band == level], period)
        for level in np.unique(band)
    )
    return tuple(found for found in bands if found.time_s >= 0.5 * period)


def time_to_centre_s(time_s: Array, height_m: Array, period_s: float | None = None) -> float | None:
    """Time from the start of a climb until whole circles give nearly what its good circles give.

    Parameters
    ----------
    time_s, height_m : ndarray, shape (n,)
        Samples of one climb; NaN is left out.
    period_s : float, optional
        Time of one circle [s].

    Returns
    -------
    float or None
        Start of the first circle that climbs at least `CENTRED_SHARE` of the upper quartile of all circles, counted
        from the climb's first sample; None where the climb is shorter than three circles, or none.
    """
    time, height = complete(time_s, height_m)
    period = period_s or UNKNOWN_PERIOD_S
    if time.size < 3 or time[-1] - time[0] < 3.0 * period:
        return None
    starts = time[time <= time[-1] - period]
    rate = (np.interp(starts + period, time, height) - np.interp(starts, time, height)) / period
    good = np.flatnonzero(rate >= CENTRED_SHARE * float(np.quantile(rate, 0.75)))
    return float(starts[good[0]] - time[0]) if good.size else None


def _band_step_m(circle_gain_m: float) -> float:
    return next((step for step in BAND_STEPS_M if step >= circle_gain_m), BAND_STEPS_M[-1])


def _band(low_m: float, step_m: float, weight: Array, climb: Array, period_s: float) -> ProfileBand:
    time_s = float(weight.sum())
    mean = float(np.average(climb, weights=weight))
    circles = time_s / period_s
    spread = math.sqrt(float(np.average((climb - mean) ** 2, weights=weight)))
    return ProfileBand(low_m, low_m + step_m, time_s, mean, spread / math.sqrt(circles) if circles >= 2.0 else None)
