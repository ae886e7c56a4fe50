"""Readings that cannot be: impossible values, single-sample spikes, a sensor that froze or failed."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

import numpy as np

from analyzer.conditioning.sampling import pieces, quantum_of
from analyzer.conditioning.stretches import changes_of, stretches_of

if TYPE_CHECKING:
    from analyzer.arrays import Array, Indices
    from analyzer.conditioning.tuning import ConditioningTuning


_NEIGHBOURHOOD: Final = np.array([-6, -5, -4, -3, -2, 2, 3, 4, 5, 6])
BEND_TO_SIGMA: Final = 1.4826 * np.sqrt(2.0 / 3.0)
"""Median absolute bend (half a second difference) of white noise to its standard deviation: variance 1.5 sigma²."""

_ROWS_AT_A_TIME: Final = 1 << 14
"""Steps between so many readings stay in the processor's cache."""

_SLACK: Final = 0.01
"""Share of a channel's range by which noise about zero or full scale may lie outside it."""

_FAILING_S: Final = 2.0
"""A pitot that fills with water takes about so long to read nothing."""


def out_of_range(values: Array, low: float, high: float) -> Indices:
    """Indices of values outside the physically possible range by more than noise about its bounds explains."""
    slack = _SLACK * (high - low)
    if np.fmin.reduce(values) >= low - slack and np.fmax.reduce(values) <= high + slack:
        return np.zeros(0, dtype=np.intp)
    with np.errstate(invalid="ignore"):
        return np.flatnonzero((values < low - slack) | (values > high + slack))


def spikes(
    times: Array, values: Array, tuning: ConditioningTuning, acceleration: float = 0.0, jump: float = 0.0
) -> Indices:
    """Indices of readings that stand out from both neighbours, which agree with each other.

    A step (the start of a motor run) differs from one neighbour only and is never a spike. The threshold is the local
    noise: bends of the ten readings around, the suspect and its neighbours left out.

    Parameters
    ----------
    times, values : numpy.ndarray, shape (n,)
        The channel's own readings, no NaN.
    tuning : ConditioningTuning
        The stage's tuning.
    acceleration : float
        Second derivative that the quantity can really have, in its unit per s².
    jump : float
        Change that it can really make for one sample, in its unit.
    """
    if len(values) < 5:
        return np.zeros(0, dtype=np.intp)
    floor = max(least_spike(values, tuning), jump)
    suspects = _between_steps(values, floor)
    before, after = values[suspects] - values[suspects - 1], values[suspects] - values[suspects + 1]
    height = np.minimum(np.abs(before), np.abs(after))
    stands_out = (before * after > 0) & (np.abs(before - after) < tuning.spike_agreement * height) & (height > floor)
    suspects, height = suspects[stands_out], height[stands_out]
    possible = acceleration * (times[suspects + 1] - times[suspects]) * (times[suspects] - times[suspects - 1]) / 2
    noise = _local_noise(values, suspects)
    return suspects[height > np.maximum(tuning.spike_sigma * noise, possible)]


def least_spike(values: Array, tuning: ConditioningTuning) -> float:
    """By how much a reading stands out at least to be looked at, from how the channel usually bends."""
    sample = pieces(values)
    usual = np.abs(np.diff(sample, 2)) / 2
    return tuning.spike_floor * max(float(np.quantile(usual, 0.9)), quantum_of(sample))


def _between_steps(values: Array, size: float) -> Indices:
    """Indices of values between a step there and a step back whose product exceeds a size's square."""
    found = []
    for start in range(0, len(values) - 2, _ROWS_AT_A_TIME):
        step = np.diff(values[start : start + _ROWS_AT_A_TIME + 2])
        found.append(start + 1 + np.flatnonzero(step[:-1] * step[1:] < -(size**2)))
    return np.concatenate(found)


def _local_noise(values: Array, at: Indices) -> Array:
    """Standard deviation of the noise around readings, they and their neighbours left out.

    Beside an end of the series, what lies beyond it is made up for on the other side.
    """
    around = at[:, None] + _NEIGHBOURHOOD
    farther = at[:, None] - _NEIGHBOURHOOD - 5 * np.sign(_NEIGHBOURHOOD)
    around = np.where((around < 1) | (around > len(values) - 2), farther, around).clip(1, len(values) - 2)
    bend = np.abs(values[around] - 0.5 * (values[around - 1] + values[around + 1]))
    return BEND_TO_SIGMA * np.median(bend, axis=1) if len(at) else np.zeros(0)


def frozen(times: Array, values: Array, tuning: ConditioningTuning) -> Indices:
    """Indices of readings that only repeat the last one because the sensor froze.

    A value that repeats longer than chance explains (from how often readings repeat shortly before and after), yet not
    so long that it is rest, and that is not the channel's commonest value (idle). The first reading stays.
    """
    if len(values) < tuning.frozen_readings:
        return np.zeros(0, dtype=np.intp)
    edges = changes_of(values)
    changes = edges[1:-1]
    long = np.flatnonzero(np.diff(edges) >= tuning.frozen_readings)
    first, last = edges[long], edges[long + 1]
    near = 2 * tuning.frozen_readings
    low, high = np.maximum(first - near, 0), np.minimum(last + near, len(values) - 1)
    before, from_low, after, to_high = (np.searchsorted(changes, at, "right") for at in (first, low, last - 1, high))
    varied = (before - from_low) + (to_high - after)
    around = 1.0 - (varied - 1.0) / ((first - low) + (high - last) + 3)
    everywhere = 1.0 - len(changes) / len(values)
    chance = np.clip(np.maximum(around, everywhere), 0.0, 1.0) ** (last - first - 1) * len(values)
    lasts = times[last - 1] - times[first]
    suspect = (chance < tuning.frozen_chance) & (lasts < tuning.frozen_s)
    if suspect.any():
        suspect &= values[first] != _commonest(values[edges[:-1]])
    return repeats(first[suspect], last[suspect])


def stopped_in_flight(times: Array, values: Array, tuning: ConditioningTuning) -> Indices:
    """Indices of readings of a speed that only repeat the last one for long, though a model flies at it.

    On the ground a speed rests, at what no model flies at. The first reading stays.
    """
    if not may_stand(times, values, 0.5 * tuning.steady_speed_s):
        return np.zeros(0, dtype=np.intp)
    edges = changes_of(values)
    first, last = edges[:-1], edges[1:]
    stopped = (times[last - 1] - times[first] > tuning.steady_speed_s) & (values[first] > tuning.slowest_flight_m_s)
    return repeats(first[stopped], last[stopped])


def unfelt(times: Array, speeds: Array, heights: Array, tuning: ConditioningTuning) -> Indices:
    """Indices of airspeeds below what any model flies at, for long and while the height changes as it does in flight.

    With water or an insect in it a pitot reads next to nothing from then on. A model that is carried up a hill with its
    pitot working loses nothing by it that its height would not tell.

    Parameters
    ----------
    times, speeds, heights : numpy.ndarray, shape (n,)
        Readings of the pitot, and the altimeter's at the same times, which may hold spikes.
    tuning : ConditioningTuning
        The stage's tuning.
    """
    stretches = stretches_of(speeds <= tuning.slowest_flight_m_s)
    long = times[stretches[:, 1] - 1] - times[stretches[:, 0]] > tuning.steady_speed_s
    found = np.zeros(len(times), dtype=bool)
    for first, last in stretches[long].tolist():
        low, high = np.nanquantile(heights[first:last], (0.05, 0.95))
        if high - low > tuning.flown_rise_m:
            begun, ended = np.searchsorted(times, (times[first] - _FAILING_S, times[last - 1] + _FAILING_S))
            found[begun:ended] = True
    return np.flatnonzero(found)


def repeats(first: Indices, last: Indices) -> Indices:
    """Indices of all readings of some stretches but the first of each; `last` is one past the end."""
    return np.concatenate([np.zeros(0, dtype=np.intp), *map(np.arange, first + 1, last)])


def may_stand(times: Array, values: Array, for_s: float) -> bool:
    """Whether a value stands from one of many instants to the next, as it does where it stands for twice as long."""
    if len(values) == 0:
        return False
    rows = np.searchsorted(times, np.arange(times[0], times[-1], for_s))
    same = np.flatnonzero(values[rows[1:]] == values[rows[:-1]])
    return any(bool((values[rows[i] : rows[i + 1]] == values[rows[i]]).all()) for i in same)


def _commonest(values: Array) -> float:
    """The value that is taken most often; of a series of stretches, the one that it comes back to."""
    found, counts = np.unique(pieces(values), return_counts=True)
    return float(found[np.argmax(counts)])
