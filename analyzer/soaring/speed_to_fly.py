"""Speed to fly: how fast to glide towards the next climb."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

import numpy as np

if TYPE_CHECKING:
    from numpy.typing import ArrayLike

    from analyzer.arrays import Array
    from analyzer.soaring.polar import Polar


_HALVINGS: Final = 60


def speed_to_fly_m_s(polar: Polar, expected_climb_m_s: ArrayLike) -> Array:
    """Airspeed of the shortest time to the next climb, and in it back to the starting height, through still air.

    Parameters
    ----------
    polar : Polar
        The aircraft, in the air of the day.
    expected_climb_m_s : array_like
        Mean climb expected in the next thermal [m/s], at least 0; with 0 the speed of the farthest glide.

    Notes
    -----
    The root of ``w'(V) V = w(V) + c`` with the polar sink ``w`` and the expected climb ``c``: the tangent to the polar
    from the point (0, -c) (P. MacCready, *Soaring* 18, 1954; H. Reichmann, *Cross-Country Soaring*, the theory of speed
    to fly). The left side less the right rises with V, so that bisection finds the only root. Wind does not count:
    thermals drift with it, and so does the aircraft.
    """
    climb = np.asarray(expected_climb_m_s, dtype=float)
    low = np.full(climb.shape, polar.least_sink_speed_m_s)
    high = 2.0 * low + 2.0 * polar.best_glide_speed_m_s
    while np.any(short := _excess(polar, high, climb) < 0.0):
        high = np.where(short, 2.0 * high, high)
    for _ in range(_HALVINGS):
        middle = 0.5 * (low + high)
        above = _excess(polar, middle, climb) > 0.0
        low, high = np.where(above, low, middle), np.where(above, middle, high)
    return np.asarray(0.5 * (low + high))


def cross_country_speed_m_s(polar: Polar, airspeed_m_s: ArrayLike, climb_m_s: ArrayLike) -> Array:
    """Mean speed [m/s] over glide and climb back to the starting height, ``V c / (c + w(V))``, through still air."""
    climb = np.asarray(climb_m_s, dtype=float)
    return np.asarray(np.asarray(airspeed_m_s, dtype=float) * climb / (climb + polar.sink_m_s(airspeed_m_s)))


def _excess(polar: Polar, speed: Array, climb: Array) -> Array:
    slope = 3.0 * polar.parasite_s2_m2 * speed**2 - polar.induced_m2_s2 / speed**2
    return np.asarray(slope * speed - polar.sink_m_s(speed) - climb)
