"""The unit and sign of a logged vertical speed, told by the height that it should add up to."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

import numpy as np

from analyzer.units import Unit, unit_of

if TYPE_CHECKING:
    from numpy.typing import NDArray

SPAN_S: Final = 10.0
"""Heights are compared over this time: long against a variometer's lag, short against a flight."""

MIN_CORRELATION: Final = 0.8
"""Below this, the two do not belong together well enough to tell a unit by."""

TOLERANCE: Final = 1.35
"""Factor within which the slope has to meet a unit; the closest two, cm/s and ft/min, are a factor of 2 apart."""

_CANDIDATES: Final = ("m/s", "ft/s", "dm/s", "cm/s", "ft/min")


@dataclass(frozen=True, slots=True)
class Slope:
    """How much height one count of vertical speed makes.

    Attributes
    ----------
    unit : Unit
        The nearest unit.
    downward : bool
        The log counts sink as positive.
    """

    unit: Unit
    downward: bool


def slope_against_height(
    speeds: NDArray[np.float64], heights_m: NDArray[np.float64], seconds: NDArray[np.float64]
) -> Slope | None:
    """Regress height gained on the integral of vertical speed.

    Parameters
    ----------
    speeds : numpy.ndarray
        Vertical speed as logged; NaN where there is none.
    heights_m : numpy.ndarray
        Height in metres; NaN where there is none.
    seconds : numpy.ndarray
        Their times, increasing.

    Returns
    -------
    Slope or None
        None when height and vertical speed do not go together, or the slope meets no unit.

    Notes
    -----
    With h the height and I the integral of v over the same stretch, ``k = sum(dh dI) / sum(dI dI)`` is the
    least-squares slope through the origin, and ``r = sum(dh dI) / sqrt(sum(dh dh) sum(dI dI))`` says how well they go
    together.
    """
    times, values = _present(seconds, speeds)
    level_times, levels = _present(seconds, heights_m)
    if times.size < 10 or level_times.size < 10 or seconds[-1] - seconds[0] < 3.0 * SPAN_S:
        return None
    integral = np.append(0.0, np.cumsum(np.diff(times) * (values[1:] + values[:-1]) / 2.0))
    marks = np.arange(max(times[0], level_times[0]), min(times[-1], level_times[-1]), SPAN_S)
    gained = np.diff(np.interp(marks, level_times, levels))
    integrated = np.diff(np.interp(marks, times, integral))
    power = float(np.sum(integrated**2) * np.sum(gained**2))
    if power <= 0.0:
        return None
    product = float(np.sum(gained * integrated))
    if abs(product) / power**0.5 < MIN_CORRELATION:
        return None
    slope = product / float(np.sum(integrated**2))
    units = [unit_of(symbol, "speed") for symbol in _CANDIDATES]
    nearest = min(units, key=lambda unit: abs(np.log(abs(slope) / unit.factor)))
    if abs(np.log(abs(slope) / nearest.factor)) > np.log(TOLERANCE):
        return None
    return Slope(nearest, downward=slope < 0.0)


def _present(
    seconds: NDArray[np.float64], values: NDArray[np.float64]
) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Times and values where there is a value."""
    there = np.isfinite(values)
    return (seconds, values) if there.all() else (seconds[there], values[there])
