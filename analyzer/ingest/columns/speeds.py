"""Speeds told by the way they add up to.

The unit and sign of a logged vertical speed show in the height, and the height's unit in it; that a speed is the one
over ground, and in which unit, shows in the way between positions.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Final, NamedTuple

import numpy as np

from analyzer.units import Unit, unit_of

if TYPE_CHECKING:
    from collections.abc import Sequence

    from analyzer.arrays import Array

SPAN_S: Final = 10.0
"""Heights are compared over this time: long against a variometer's lag, short against a flight."""

MIN_CORRELATION: Final = 0.8
"""Below this, the two do not belong together well enough to tell a unit by."""

MIN_CORRELATION_WITH_WAY: Final = 0.98
"""For the unit of a speed that is known to be over ground: the way is noisy."""

MIN_CORRELATION_OVER_GROUND: Final = 0.995
"""A speed over ground meets the way within a tenth; airspeed is off by the wind, now against and now with it."""

MEAN_EARTH_RADIUS_M: Final = 6_371_008.8
"""Mean radius of the GRS 80 ellipsoid, (2 a + b) / 3: Moritz, Geodetic Reference System 1980."""

WAY_TOLERANCE: Final = 1.07
"""Factor within which that slope has to meet a unit; knots and miles an hour are a factor of 1.15 apart."""

WAY_STEP_S: Final = 2.0
"""Ways are measured between positions so far apart: long against their noise, short against a circle of 15 s."""

TOLERANCE: Final = 1.35
"""Factor within which the slope has to meet a unit; the closest two, cm/s and ft/min, are a factor of 2 apart."""

_SPEEDS: Final = ("m/s", "ft/s", "dm/s", "cm/s", "ft/min")
_LENGTHS: Final = ("m", "ft", "dm", "cm", "mm")
_OVER_GROUND: Final = ("m/s", "km/h", "kt", "mph", "cm/s")


class Slope(NamedTuple):
    """How much height one count of vertical speed makes: the nearest unit, and whether the log counts sink."""

    unit: Unit
    downward: bool


def slope_against_height(speeds: Array, heights_m: Array, seconds: Array) -> Slope | None:
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
    slope = _slope(speeds, heights_m, seconds)
    unit = None if slope is None else _nearest([unit_of(symbol, "speed") for symbol in _SPEEDS], abs(slope))
    return None if slope is None or unit is None else Slope(unit, downward=slope < 0.0)


def height_unit(heights: Array, speeds_m_s: Array, seconds: Array) -> Unit | None:
    """Tell the unit of heights by a vertical speed whose unit is known; None when they do not go together."""
    slope = _slope(speeds_m_s, heights, seconds)
    units = [unit_of(symbol, "length") for symbol in _LENGTHS]
    return None if slope is None else _nearest(units, 1.0 / abs(slope))


def unit_over_ground(
    speeds: Array,
    unit: Unit | None,
    latitudes_deg: Array,
    longitudes_deg: Array,
    seconds: Array,
    least: float,
) -> Unit | None:
    """Tell a speed over ground, and its unit, by the way between positions.

    Parameters
    ----------
    speeds : numpy.ndarray
        As logged; NaN where there is none.
    unit : Unit, optional
        What the header names.
    latitudes_deg, longitudes_deg : numpy.ndarray
        Positions in degrees; NaN where there is none.
    seconds : numpy.ndarray
        Their times, increasing.
    least : float
        The correlation to ask for, one of those above.

    Returns
    -------
    Unit or None
        None when the speed does not add up to the way, in the unit named or in any usual one.

    Notes
    -----
    On a sphere of the earth's mean radius, flat over so short a way: ``ds^2 = R^2 (dphi^2 + cos^2(phi) dlambda^2)``.
    """
    there = np.flatnonzero(np.isfinite(latitudes_deg) & np.isfinite(longitudes_deg))
    if there.size <= 1:
        return None
    marks = np.arange(seconds[there[0]], seconds[there[-1]], WAY_STEP_S)
    phi, lam = (np.radians(np.interp(marks, seconds[there], deg[there])) for deg in (latitudes_deg, longitudes_deg))
    steps_m = MEAN_EARTH_RADIUS_M * np.hypot(np.diff(phi), np.cos(phi[1:]) * np.diff(lam))
    ways_m = np.interp(seconds, marks, np.append(0.0, np.cumsum(steps_m)))
    slope = _slope(speeds, ways_m, seconds, least)
    units = [unit_of(symbol, "speed") for symbol in _OVER_GROUND] if unit is None else [unit]
    return None if slope is None else _nearest(units, slope, WAY_TOLERANCE)


def _slope(
    speeds: Array,
    heights: Array,
    seconds: Array,
    least: float = MIN_CORRELATION,
) -> float | None:
    """Height, or way, gained for each unit of the integral of speed; None when they do not go together."""
    times, values = _present(seconds, speeds)
    level_times, levels = _present(seconds, heights)
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
    return product / float(np.sum(integrated**2)) if abs(product) / power**0.5 >= least else None


def _nearest(units: Sequence[Unit], factor: float, tolerance: float = TOLERANCE) -> Unit | None:
    """The unit whose factor is nearest; None when even that is too far, or has another sign."""
    if factor <= 0.0:
        return None
    nearest = min(units, key=lambda unit: abs(np.log(factor / unit.factor)))
    return nearest if abs(np.log(factor / nearest.factor)) <= np.log(tolerance) else None


def _present(seconds: Array, values: Array) -> tuple[Array, Array]:
    """Times and values where there is a value."""
    there = np.isfinite(values)
    return (seconds, values) if there.all() else (seconds[there], values[there])
