"""The steady, coordinated turn: load factor, sink, bank."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from analyzer.constants import STANDARD_GRAVITY_M_S2

if TYPE_CHECKING:
    from numpy.typing import ArrayLike

    from analyzer.arrays import Array


def load_factor(bank_deg: ArrayLike) -> Array:
    """Lift over weight in a level turn, ``n = 1 / cos(bank)``.

    Parameters
    ----------
    bank_deg : array_like
        Bank [deg], magnitude below 90.

    Notes
    -----
    A. Welch, L. Welch & F. Irving, *The Complete Soaring Pilot's Handbook*. The glide angle is neglected: below 8 deg
    it changes the load factor by less than 1 %.
    """
    return np.asarray(1.0 / np.cos(np.radians(bank_deg)))


def sink_in_turn(straight_sink_m_s: float, load_factor: ArrayLike) -> Array:
    """Sink in a turn [m/s, positive down], at the lift coefficient of a straight flight's: ``w n^1.5``."""
    return np.asarray(straight_sink_m_s * np.asarray(load_factor, dtype=float) ** 1.5)


def bank_from_turn_deg(airspeed_m_s: ArrayLike, period_s: ArrayLike) -> Array:
    """Bank [deg] of a coordinated turn from airspeed [m/s] and period [s]: ``tan(bank) = V omega / g``."""
    omega = 2.0 * np.pi / np.asarray(period_s, dtype=float)
    return np.asarray(np.degrees(np.arctan(np.asarray(airspeed_m_s, dtype=float) * omega / STANDARD_GRAVITY_M_S2)))
