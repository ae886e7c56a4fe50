"""Leaps of the altitude that no flight can make: a sensor not ready, one that froze or read nonsense, a new zero."""

from __future__ import annotations

from itertools import pairwise
from typing import TYPE_CHECKING, Final

import numpy as np

from analyzer.conditioning.outliers import BEND_TO_SIGMA, repeats
from analyzer.conditioning.stretches import changes_of

if TYPE_CHECKING:
    from analyzer.arrays import Array, Indices
    from analyzer.conditioning.tuning import ConditioningTuning


_SETTLED_S: Final = 3.0
_FEWEST_AFTER: Final = 4
"""After a leap the readings of the first, and at least of the second number, tell how the model really moves."""

_MOST_SHARE: Final = 0.01
"""Where more of the readings than this seem to leap, they are noise."""

_AT_ZERO_M: Final = 3.0
_FROM_M: Final = 20.0
_QUICKER_M_S: Final = 5.0
"""An altimeter that begins anew reads zero within the first; what was lower than the second, or sank no more than the
third faster than the model's own climb, may have flown there."""


def not_ready(times: Array, values: Array, tuning: ConditioningTuning) -> Indices:
    """Indices of first readings from which the altitude leaps, as no flight can, to where it then goes on from.

    A sensor that is not ready yet reads zero, or a remnant; a first reading alone may be a spike, too, and has no
    neighbour before it that would show it.

    Parameters
    ----------
    times, values : numpy.ndarray, shape (n,)
        The altimeter's readings in metres, no NaN, single-sample spikes left out.
    tuning : ConditioningTuning
        The stage's tuning.
    """
    early = int(np.searchsorted(times, times[0] + tuning.not_ready_s, side="right")) if len(times) else 0
    return _before_leap(times, values, early + 1, tuning)


def cut_off(times: Array, values: Array, tuning: ConditioningTuning) -> Indices:
    """Indices of last readings, too few to tell how they would go on, to which the altitude leaps as no flight can.

    What an altimeter reads while its power fails, or a spike without a neighbour behind it.

    Parameters
    ----------
    times, values : numpy.ndarray, shape (n,)
        The altimeter's readings in metres, no NaN, single-sample spikes left out.
    tuning : ConditioningTuning
        The stage's tuning.
    """
    return len(values) - 1 - _before_leap(-times[::-1], values[::-1], _FEWEST_AFTER, tuning)[::-1]


def _before_leap(times: Array, values: Array, count: int, tuning: ConditioningTuning) -> Indices:
    """Indices of first readings from which the altitude leaps away, as no flight can, within a number of readings."""
    for index in _leaps(times[:count], values[:count], tuning)[::-1].tolist():
        if _beyond_flight(times, values, index, tuning):
            away = np.abs(values[: index + 1] - values[index + 1])
            return np.flatnonzero(away > 0.5 * away[index])
    return np.zeros(0, dtype=np.intp)


def stood_still(times: Array, values: Array, tuning: ConditioningTuning) -> Indices:
    """Indices of readings that only repeat the last one, for long, until the altitude leaps, as no flight can.

    A sensor that froze, and caught up; or a row that still says what was heard before a silence. Without the leap it is
    rest on the ground. The first reading stays.

    Parameters
    ----------
    times, values : numpy.ndarray, shape (n,)
        The altimeter's readings in metres, no NaN, single-sample spikes left out.
    tuning : ConditioningTuning
        The stage's tuning.
    """
    leaps = _leaps(times, values, tuning)
    before = values[leaps] == values[leaps - 1]
    ends = [index for index in leaps[before & (leaps > 0)].tolist() if _beyond_flight(times, values, index, tuning)]
    if not ends:
        return np.zeros(0, dtype=np.intp)
    edges = changes_of(values)
    first = edges[np.searchsorted(edges, ends, side="right") - 1]
    last = np.array(ends) + 1
    long = times[last - 1] - times[first] >= tuning.frozen_s
    return repeats(first[long], last[long])


def away_and_back(times: Array, values: Array, tuning: ConditioningTuning) -> Indices:
    """Indices of readings between a leap, as no flight can, and another that leads back to where the first began.

    A sensor that was not heard and reads zero, or nonsense, for a while.

    Parameters
    ----------
    times, values : numpy.ndarray, shape (n,)
        The altimeter's readings in metres, no NaN, single-sample spikes left out.
    tuning : ConditioningTuning
        The stage's tuning.
    """
    nonsense = np.zeros(len(values), dtype=bool)
    for index in _no_flight(times, values, tuning):
        if not nonsense[index : index + 2].any():
            first, last = _excursion(times, values, index, tuning)
            nonsense[first + 1 : last + 1] = True
    return np.flatnonzero(nonsense)


def _excursion(times: Array, values: Array, index: int, tuning: ConditioningTuning) -> tuple[int, int]:
    """The leap after a reading and the nearest one, before or after it, that makes up for it; twice the same if none.

    The other leap may be one that a flight could make: noise and a quick climb beside it hide what it is.
    """
    near_s = np.array([times[index] - tuning.longest_nonsense_s, times[index + 1] + tuning.longest_nonsense_s])
    begin, end = np.searchsorted(times, near_s).tolist()
    size = values[index + 1] - values[index]
    steps = np.diff(values[begin:end]) * np.sign(size)
    others = begin + np.flatnonzero(steps < -0.5 * abs(size))
    first, last = np.minimum(others, index), np.maximum(others, index)
    largest = np.maximum(np.abs(values[others + 1] - values[others]), abs(size))
    back = np.abs(values[last + 1] - values[first]) < tuning.spike_agreement * largest
    if not back.any():
        return index, index
    nearest = np.argmin(np.abs(others[back] - index))
    return int(first[back][nearest]), int(last[back][nearest])


def new_levels(times: Array, values: Array, tuning: ConditioningTuning) -> tuple[Indices, Array]:
    """Where the altitude leaps, as no flight can, and goes on from there; and by how much.

    An altimeter that restarts counts from a zero where it then is. After a silence, in which it may have been flown
    there, its reading of zero tells, if the model then comes down far below it.

    Parameters
    ----------
    times, values : numpy.ndarray, shape (n,)
        The altimeter's true readings in metres, no NaN.
    tuning : ConditioningTuning
        The stage's tuning.

    Returns
    -------
    ndarray of int, shape (k,)
        The readings after which it leaps.
    ndarray, shape (k,)
        What each leap adds to the readings [m].
    """
    found = sorted({*_no_flight(times, values, tuning), *_zeros_after_silence(times, values, tuning)})
    leaps, steps = np.array(found, dtype=np.intp), np.array([_step(times, values, index) for index in found])
    lasting = np.abs(steps) > tuning.launch_rise_m
    return leaps[lasting], steps[lasting]


def _zeros_after_silence(times: Array, values: Array, tuning: ConditioningTuning) -> list[int]:
    fallen = np.flatnonzero((np.diff(values) < -_FROM_M) & (np.abs(values[1:]) <= _AT_ZERO_M))
    silent_s = times[fallen + 1] - times[fallen]
    found = fallen[(values[fallen] >= _FROM_M) & (silent_s <= tuning.longest_bridge_s)].tolist()
    zeros = []
    for index, until in pairwise([*found, len(values) - 1]):
        before, after = _beside(times, index)
        if len(times[before]) < 2 or len(times[after]) < 2:
            continue
        climbs = [abs(float(np.median(np.diff(values[side]) / np.diff(times[side])))) for side in (before, after)]
        fell_m_s = (values[index] - values[index + 1]) / (times[index + 1] - times[index])
        lowest = float(values[index + 1 : until + 1].min())
        if fell_m_s > _QUICKER_M_S + 2.0 * max(climbs) and lowest < -0.5 * values[index]:
            zeros.append(index)
    return zeros


def _step(times: Array, values: Array, index: int) -> float:
    """By how much the readings after a leap are off the straight way that the model flies beside it."""
    before, after = _beside(times, index)
    beside = slice(before.start, after.stop)
    since_s = times[beside] - times[index]
    design = np.column_stack([np.ones_like(since_s), since_s, since_s > 0.0])
    return float(np.linalg.lstsq(design, values[beside])[0][2])


def _beside(times: Array, index: int) -> tuple[slice, slice]:
    """The readings shortly before a leap and shortly after it."""
    first = int(np.searchsorted(times, times[index] - _SETTLED_S))
    end = int(np.searchsorted(times, times[index + 1] + _SETTLED_S, side="right"))
    return slice(first, index + 1), slice(index + 1, end)


def _no_flight(times: Array, values: Array, tuning: ConditioningTuning) -> list[int]:
    """Readings after which the altitude leaps as no flight can."""
    leaps = _leaps(times, values, tuning)
    if len(leaps) > _MOST_SHARE * len(values):
        return []
    return [index for index in leaps.tolist() if _beyond_flight(times, values, index, tuning)]


def _leaps(times: Array, values: Array, tuning: ConditioningTuning) -> Indices:
    """Readings after which the altitude changes by more than acceleration from rest and a lift by hand explain."""
    rises = np.abs(np.diff(values))
    large = np.flatnonzero(rises > tuning.launch_rise_m)
    accelerated = 0.5 * tuning.greatest_acceleration_m_s2 * (times[large + 1] - times[large]) ** 2
    return large[rises[large] > accelerated + tuning.launch_rise_m]


def _beyond_flight(times: Array, values: Array, index: int, tuning: ConditioningTuning) -> bool:
    """Whether the leap after a reading is more than that, twice the model's climb before and after it, and noise."""
    after = slice(index + 1, int(np.searchsorted(times, times[index + 1] + _SETTLED_S, side="right")))
    if len(times[after]) < _FEWEST_AFTER:
        return False
    climb = abs(float(np.median(np.diff(values[after]) / np.diff(times[after]))))
    if index > 0:
        climb = max(climb, abs(float(values[index] - values[index - 1])) / float(times[index] - times[index - 1]))
    step_s = float(times[index + 1] - times[index])
    possible = 0.5 * tuning.greatest_acceleration_m_s2 * step_s**2 + tuning.launch_rise_m + 2.0 * climb * step_s
    noise = tuning.spike_sigma * BEND_TO_SIGMA * float(np.median(np.abs(np.diff(values[after], 2)) / 2))
    return bool(abs(values[index + 1] - values[index]) > possible + noise)
