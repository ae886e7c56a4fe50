"""Whether a logged heading can be believed."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

import numpy as np

if TYPE_CHECKING:
    from numpy.typing import ArrayLike

MOST_SPREAD_DEG: Final = 40.0
"""Noise, lag at a fast turn (70 degrees a second for a second's delay at most) and slip stay within this; a compass
disturbed by more than half the earth's field does not."""

OFFSET_WORTH_SAYING_DEG: Final = 20.0
"""Mounted by eye, a compass may be off by as much (judgement)."""


@dataclass(frozen=True, slots=True)
class CompassCheck:
    """A heading against the direction of flight.

    Attributes
    ----------
    offset_deg : float
        Mean of heading less direction of flight, -180 to 180.
    spread_deg : float
        Circular standard deviation of that difference.
    """

    offset_deg: float
    spread_deg: float

    @property
    def agrees(self) -> bool:
        """Whether the heading follows the flight."""
        return self.spread_deg <= MOST_SPREAD_DEG


def check_compass(heading_deg: ArrayLike, track_deg: ArrayLike) -> CompassCheck | None:
    """Compare a heading with the direction of flight over whole circles; None with fewer than ten common samples.

    Parameters
    ----------
    heading_deg, track_deg : array_like, shape (n,)
        At the same times; NaN is left out [deg].

    Notes
    -----
    Circular standard deviation ``sqrt(-2 ln R)``, R the mean resultant length (Mardia & Jupp, *Directional
    Statistics*, 2000, 2.3).
    """
    difference = np.radians(np.asarray(heading_deg, dtype=float) - np.asarray(track_deg, dtype=float))
    difference = difference[np.isfinite(difference)]
    if difference.size < 10:
        return None
    mean = np.mean(np.exp(1j * difference))
    length = min(max(float(np.abs(mean)), 1e-9), 1.0)
    return CompassCheck(math.degrees(float(np.angle(mean))), math.degrees(math.sqrt(-2.0 * math.log(length))))
