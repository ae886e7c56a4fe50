"""Integrals of irregularly sampled channels: charge and energy."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property
from typing import Final

import numpy as np

from analyzer.arrays import Array
from analyzer.conditioning.sampling import pieces

SECONDS_PER_HOUR: Final = 3600.0
GAP_STEPS: Final = 3.5
"""Readings further apart than this many usual steps have a gap between them: two or three lost rows in a row."""
GAP_S: Final = 1.0
"""... and further apart than this: less is no gap to a motor run."""


@dataclass(frozen=True)
class Signal:
    """A channel's own readings, silences left out.

    Attributes
    ----------
    time_s, values : ndarray, shape (n,)
        At least one reading.
    """

    time_s: Array
    values: Array

    @cached_property
    def gap_s(self) -> float:
        """Readings further apart than this have a gap between them."""
        return max(GAP_STEPS * usual_step_s(self.time_s), GAP_S)

    @cached_property
    def gaps(self) -> Array:
        """Start and end of the gaps, shape (gaps, 2); the first comes from minus infinity, the last has no end."""
        before = np.flatnonzero(np.diff(self.time_s) > self.gap_s)
        starts = (-np.inf, *self.time_s[before], self.time_s[-1])
        ends = (self.time_s[0], *self.time_s[before + 1], np.inf)
        return np.column_stack((starts, ends))

    @cached_property
    def summed(self) -> Array:
        """Integral by the trapezoidal rule from the first reading to each, in one array, since logs may be long."""
        summed = np.zeros(self.values.size)
        np.add(self.values[1:], self.values[:-1], out=summed[1:])
        summed[1:] *= np.diff(self.time_s)
        summed *= 0.5
        return np.cumsum(summed, out=summed)

    def area(self, start_s: float, end_s: float) -> float:
        """Integral between two instants: straight between readings, constant beyond them."""
        return self._area(end_s) - self._area(start_s)

    def _area(self, until_s: float) -> float:
        """Integral from the first reading to an instant."""
        right = int(self.time_s.searchsorted(until_s))
        left = max(right - 1, 0)
        past, value = until_s - float(self.time_s[left]), float(self.values[left])
        if 0 < right < self.time_s.size:
            step = float(self.time_s[right] - self.time_s[left])
            value += 0.5 * float(self.values[right] - self.values[left]) * past / step
        return float(self.summed[left]) + past * value

    def heard(self, start_s: float, end_s: float, longest_s: float) -> Array:
        """Start and end of what lies between two instants without the longer gaps, shape (stretches, 2)."""
        holes = self.holes(start_s, end_s)
        silences = holes[holes[:, 1] - holes[:, 0] > longest_s]
        stretches = np.concatenate(([start_s], silences.ravel(), [end_s])).reshape(-1, 2)
        return np.asarray(stretches[stretches[:, 1] > stretches[:, 0]])

    def holes(self, start_s: float, end_s: float) -> Array:
        """Start and end of what lies in gaps between two instants, shape (holes, 2)."""
        parts = self.gaps.clip(start_s, end_s)
        return np.asarray(parts[parts[:, 1] > parts[:, 0]])


@dataclass(frozen=True, slots=True)
class Integral:
    """A definite integral in the channel's unit times seconds, and the parts of it that lie in gaps."""

    value: float
    in_gaps: float = 0.0


def signal_of(time_s: Array, values: Array) -> Signal | None:
    """Take the readings out of a channel with silences (NaN); None where it has none.

    Parameters
    ----------
    time_s : ndarray, shape (n,)
        Strictly increasing stamps.
    values : ndarray, shape (n,)
        The channel.
    """
    known = np.isfinite(values)
    if not known.all():
        time_s, values = time_s[known], values[known]
    return Signal(time_s, values) if values.size else None


def usual_step_s(time_s: Array) -> float:
    """Typical distance of stamps in seconds, of a long series from pieces of it; 0 of a single one."""
    return float(np.median(np.diff(pieces(time_s)))) if time_s.size > 1 else 0.0


def integrate(signal: Signal, start_s: float, end_s: float) -> Integral:
    """Integrate a signal from start to end by the trapezoidal rule on its own stamps.

    Gaps are bridged by the straight line between their neighbours, and told apart; beyond the first and the last
    reading the signal counts as constant. Exact for a piecewise linear signal; for a smooth one the error of a step of
    length d is d³ |f''| / 12 at most (P.J. Davis, P. Rabinowitz, *Methods of Numerical Integration*, 2nd ed., Academic
    Press 1984, section 2.1: from memory).
    """
    if end_s <= start_s:
        return Integral(0.0)
    holes = signal.holes(start_s, end_s)
    in_gaps = sum((signal.area(start, end) for start, end in holes.tolist()), 0.0)
    return Integral(signal.area(start_s, end_s), in_gaps)


def step_at(signal: Signal, time_s: float) -> float:
    """Distance in seconds between the readings on either side of an instant; the nearest step beyond the ends."""
    if signal.time_s.size < 2:
        return signal.gap_s
    right = min(max(int(signal.time_s.searchsorted(time_s)), 1), signal.time_s.size - 1)
    return float(signal.time_s[right] - signal.time_s[right - 1])
