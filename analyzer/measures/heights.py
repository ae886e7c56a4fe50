"""Height at any instant of a log, with the altimeter's lag taken out, and its standard error."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

import numpy as np

from analyzer.robust_fit import median_of

if TYPE_CHECKING:
    from analyzer.arrays import Array
    from analyzer.measures.altimeter import Altimeter
    from analyzer.measures.traces import Traces


UNSEEN_M_S: Final = 1.0
UNSEEN_AFTER_S: Final = 1.0
"""In a gap the height may stray off the straight line between its ends at about this speed, after this time."""


@dataclass(frozen=True, slots=True)
class Height:
    """A height above the launch point, in metres.

    Attributes
    ----------
    value_m : float
        The height.
    own_se_m : float
        Standard error that it has for itself.
    by_lag_m : float
        What one standard error of the altimeter's lag adds to it: the lag is wrong by the same at all heights.
    """

    value_m: float
    own_se_m: float
    by_lag_m: float = 0.0

    @property
    def se_m(self) -> float:
        """Standard error."""
        return math.hypot(self.own_se_m, self.by_lag_m)

    def minus(self, other: Height) -> Height:
        """Difference of two heights of one log: in a steady glide the lag takes as much from one as from the other."""
        own = math.hypot(self.own_se_m, other.own_se_m)
        return Height(self.value_m - other.value_m, own, self.by_lag_m - other.by_lag_m)


@dataclass(frozen=True)
class Smoothed:
    """The smoothed motion where it is known."""

    time_s: Array
    height_m: Array
    height_se_m: Array
    climb_m_s: Array

    def at(self, time_s: float) -> tuple[float, float, float, float]:
        """Height, its error and climb at an instant, and the distance in time of the nearest sample."""
        left, right, share = self._place(time_s)
        height, error, climb = (
            _between(column, left, right, share) for column in (self.height_m, self.height_se_m, self.climb_m_s)
        )
        away_s = min(abs(float(self.time_s[left]) - time_s), abs(float(self.time_s[right]) - time_s))
        return height, error, climb, away_s

    def height_at(self, time_s: float) -> float:
        """Height alone at an instant."""
        return _between(self.height_m, *self._place(time_s))

    def climb_before(self, time_s: float, over_s: float) -> float:
        """Typical climb before an instant; in a silence, that of the line across it."""
        first, last = self.time_s.searchsorted((time_s - over_s, time_s))
        return median_of(self.climb_m_s[first:last]) if first < last else self.at(time_s)[2]

    def steepest_beside(self, time_s: float) -> float:
        """The faster vertical speed of the samples on either side of an instant: in a silence it may have gone on."""
        left, right, _ = self._place(time_s)
        return max(abs(float(self.climb_m_s[left])), abs(float(self.climb_m_s[right])))

    def _place(self, time_s: float) -> tuple[int, int, float]:
        """The samples on either side of an instant, and the share of the way from the one to the other."""
        right = min(int(self.time_s.searchsorted(time_s)), self.time_s.size - 1)
        left = max(right - 1, 0)
        before, after = float(self.time_s[left]), float(self.time_s[right])
        share = min(max((time_s - before) / (after - before), 0.0), 1.0) if left < right else 0.0
        return left, right, share


def _between(column: Array, left: int, right: int, share: float) -> float:
    before = float(column[left])
    return before + share * (float(column[right]) - before)


def smoothed_of(traces: Traces) -> Smoothed:
    """Take the smoothed motion out of a log's traces."""
    known = np.isfinite(traces.channels["height_m"])
    columns = (traces.time_s, *(traces.channels[name] for name in ("height_m", "height_se_m", "climb_m_s")))
    return Smoothed(*(column if known.all() else column[known] for column in columns))


@dataclass(frozen=True)
class Heights:
    """Heights at any instant of a log; those at motor edges, by their times, have been worked out one by one.

    `motor_edge_se_s` is how well the motor's starts and stops are known beyond the sampling: 0 where a channel shows
    the motor.
    """

    traces: Traces
    smoothed: Smoothed
    altimeter: Altimeter
    motor_edges: dict[float, Height]
    drift_m_per_root_s: float
    motor_edge_se_s: float = 0.0

    def at(self, time_s: float) -> Height:
        """Height at an instant.

        Away from motor edges the smoothed height is moved up its slope by the altimeter's lag: h = y + lag dy/dt, the
        inverse of a first-order response.
        """
        if time_s in self.motor_edges:
            return self.motor_edges[time_s]
        height, height_se, climb, away_s = self.smoothed.at(time_s)
        lifted = height + self.altimeter.lag_s * climb
        unseen = UNSEEN_M_S * max(away_s - UNSEEN_AFTER_S, 0.0)
        return Height(lifted, math.hypot(height_se, unseen), self.altimeter.lag_se_s * climb)

    def gain(self, start_s: float, end_s: float) -> Height:
        """Height gained between two instants; the altimeter's drift between them is part of the error."""
        rise = self.at(end_s).minus(self.at(start_s))
        drift = self.drift_m_per_root_s * math.sqrt(max(end_s - start_s, 0.0))
        return Height(rise.value_m, math.hypot(rise.own_se_m, drift), rise.by_lag_m)
