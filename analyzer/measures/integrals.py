"""Integrals of irregularly sampled channels: charge and energy."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np

from analyzer.measures.traces import Array

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
    gap_s : float
        Readings further apart than this have a gap between them.
    """

    time_s: Array
    values: Array
    gap_s: float


@dataclass(frozen=True, slots=True)
class Integral:
    """A definite integral in the channel's unit times seconds, and the parts of it that lie in gaps."""

    value: float
    in_gaps: float = 0.0
    edge_in_gap: bool = False
    """Whether the bounds fall into a gap, or beyond the readings."""


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
    if values.size == 0:
        return None
    usual = float(np.median(np.diff(time_s))) if time_s.size > 1 else 0.0
    return Signal(time_s, values, max(GAP_STEPS * usual, GAP_S))


def integrate(signal: Signal, start_s: float, end_s: float) -> Integral:
    """Integrate a signal from start to end by the trapezoidal rule on its own stamps.

    Gaps are bridged by the straight line between their neighbours, and told apart; beyond the first and the last
    reading the signal counts as constant. Exact for a piecewise linear signal; for a smooth one the error of a step of
    length d is d³ |f''| / 12 at most (P.J. Davis, P. Rabinowitz, *Methods of Numerical Integration*, 2nd ed., Academic
    Press 1984, section 2.1: from memory).
    """
    if end_s <= start_s:
        return Integral(0.0)
    first = int(np.searchsorted(signal.time_s, start_s, side="right"))
    last = int(np.searchsorted(signal.time_s, end_s, side="left"))
    own = slice(max(first - 1, 0), last + 1)
    ends = np.interp((start_s, end_s), signal.time_s[own], signal.values[own])
    stamps = np.concatenate(([start_s], signal.time_s[first:last], [end_s]))
    heights = np.concatenate((ends[:1], signal.values[first:last], ends[1:]))
    steps, twice = np.diff(stamps), heights[1:] + heights[:-1]
    wide = steps > signal.gap_s
    wide[0], wide[-1] = (_own_step(signal, index) > signal.gap_s for index in (first, last))
    in_gaps = 0.5 * float(steps[wide] @ twice[wide])
    return Integral(0.5 * float(steps @ twice), in_gaps, bool(wide[0] or wide[-1]))


def _own_step(signal: Signal, index: int) -> float:
    """Length of the signal's own step that ends at a reading; without end beyond the first and the last."""
    if not 0 < index < signal.time_s.size:
        return np.inf
    return float(signal.time_s[index] - signal.time_s[index - 1])


def step_at(signal: Signal, time_s: float) -> float:
    """Distance in seconds between the readings on either side of an instant; the nearest step beyond the ends."""
    if signal.time_s.size < 2:
        return signal.gap_s
    right = min(max(int(signal.time_s.searchsorted(time_s)), 1), signal.time_s.size - 1)
    return float(signal.time_s[right] - signal.time_s[right - 1])
