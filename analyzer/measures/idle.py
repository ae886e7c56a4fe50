"""What a channel reads with the motor off: the sensor's offset and the avionics, which no log tells apart."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Final

import numpy as np

from analyzer.conditioning.sampling import pieces
from analyzer.measures.integrals import Signal
from analyzer.robust_fit import MAD_TO_SIGMA

if TYPE_CHECKING:
    from collections.abc import Sequence

    from analyzer.arrays import Array, Indices, Mask
    from analyzer.measures.tuning import MeasureTuning
    from analyzer.records import Segment

ENOUGH: Final = 20_000
"""So many readings tell a median and a scatter well enough."""


@dataclass(frozen=True)
class Idle:
    """Readings with the motor off.

    Attributes
    ----------
    idles : ndarray of bool
        Which of the sensor's readings they are.
    time_s, summed : ndarray, shape (n,) and (n + 1,)
        The readings' stamps and their running sum.
    level : float
        Mean over the log.
    scatter : float
        How far means over ten seconds stray from it, and what the sensor's zero may hide: what the level of one run may
        be off.
    reads_zero : bool
        Whether the sensor reads exactly zero and never less: it may cut off what is below, or be too coarse.
    """

    idles: Mask
    time_s: Array
    summed: Array
    level: float
    scatter: float
    reads_zero: bool = False

    def around(self, start_s: float, end_s: float, reach_s: float, fewest: int) -> float:
        """Mean of the readings within `reach_s` of a run; of all, where there are fewer than `fewest`."""
        first, last = np.searchsorted(self.time_s, [start_s - reach_s, end_s + reach_s])
        if last - first < fewest:
            return self.level
        return float((self.summed[last] - self.summed[first]) / (last - first))

    def of_power(self, power_w: Array, volts: float) -> Idle:
        """The same of the power that belongs to a current, reading by reading, at a usual voltage."""
        values = power_w[self.idles]
        return replace(self, summed=_running_sum(values), level=float(values.mean()), scatter=volts * self.scatter)


def idle_of(signal: Signal, runs: Sequence[Segment], tuning: MeasureTuning, hidden: float) -> Idle | None:
    """Collect the readings at least `idle_guard_s` away from any motor run, outliers left out.

    None where there are fewer than `fewest_idle`: the log begins and ends under power. A sensor that cuts off below
    zero hides a negative offset, which is then missing under power, too: where it reads exactly zero, its offset may be
    as large as is usual (`hidden`, in the signal's unit). Where most readings are one and the same, no noise carries
    the level over the sensor's steps: it lies anywhere within one.
    """
    off = np.ones(signal.time_s.size, dtype=bool)
    for run in runs:
        first, last = np.searchsorted(
            signal.time_s, [run.start_s - tuning.idle_guard_s, run.end_s + tuning.idle_guard_s]
        )
        off[first:last] = False
    sample = signal.values[spread_rows(off)]
    if sample.size < tuning.fewest_idle:
        return None
    middle = float(np.median(sample))
    away = np.abs(sample - middle)
    quantum = float(np.quantile(away[away > 0], 0.05)) if (away > 0).any() else 0.0
    within = tuning.idle_outlier * max(MAD_TO_SIGMA * float(np.median(away)), quantum)
    strays = signal.values - middle
    kept = off & (np.abs(strays, out=strays) <= within)
    time, values = signal.time_s[kept], signal.values[kept]
    summed = _running_sum(values)
    reads_zero = middle == 0.0 and float(values.min()) >= 0.0
    rounding = _step(signal.values, tuning.fewest_idle) / math.sqrt(12.0) if np.median(away) == 0.0 else 0.0
    scatter = math.hypot(_scatter(time, summed), hidden if reads_zero else 0.0, rounding)
    return Idle(kept, time, summed, float(values.mean()), scatter, reads_zero)


def _running_sum(values: Array) -> Array:
    summed = np.zeros(values.size + 1)
    np.cumsum(values, out=summed[1:])
    return summed


def _step(values: Array, fewest: int) -> float:
    """Smallest usual change from one reading to the next; 0 where there are fewer changes than `fewest`."""
    changes = np.abs(np.diff(pieces(values)))
    changes = changes[changes > 0.0]
    return float(np.quantile(changes, 0.05)) if changes.size >= fewest else 0.0


def spread_rows(mask: Mask) -> Indices:
    """Rows at which a mask holds, in a long log some `ENOUGH` of them, evenly spread."""
    rows = np.arange(0, mask.size, max(1, int(np.count_nonzero(mask)) // ENOUGH))
    return np.asarray(rows[mask[rows]])


def _scatter(time: Array, summed: Array) -> float:
    """Standard deviation of the means over blocks of ten seconds."""
    edges = np.searchsorted(time, np.arange(time[0], time[-1], 10.0))
    counts = np.diff(edges)
    full = counts > 0
    if np.count_nonzero(full) < 3:
        return float(np.std(np.diff(summed)))
    return float(np.std(np.diff(summed[edges])[full] / counts[full], ddof=1))
