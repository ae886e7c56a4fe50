"""The altimeter's own readings and how far each may be off."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

import numpy as np

from analyzer.conditioning.sampling import quantum_of
from analyzer.measures.idle import spread_rows
from analyzer.measures.integrals import usual_step_s
from analyzer.robust_fit import median_of

if TYPE_CHECKING:
    from analyzer.arrays import Array, Mask
    from analyzer.measures.traces import Traces
    from analyzer.records import Segmentation


@dataclass(frozen=True)
class Readings:
    """Readings with their stamps, and the variance of their errors.

    Attributes
    ----------
    time_s, height_m, climb_m_s : ndarray, shape (n,)
        The model's smoothed climb at each reading, NaN where it is not known.
    noise_m2 : float
        Variance of the altimeter's own errors.
    lasting_m2 : float
        Variance that averaging over `step_s` leaves at the least: filtered noise outlasts it, however many readings.
    step_s : float
        Readings that stand closer are averaged.
    stamp_error_s : float
        Standard deviation of the stamps against the readings, as the climbs under power show it: a recorder that writes
        rows at its own rhythm gives a slower sensor's readings late, by another time each.
    """

    time_s: Array
    height_m: Array
    climb_m_s: Array
    noise_m2: float
    stamp_error_s: float
    lasting_m2: float = 0.0
    step_s: float = 0.0

    def thinned(self, start_s: float, end_s: float) -> tuple[Array, Array, Array]:
        """Stamps, heights and error variances from start to end; means of neighbours that stand closer than `step_s`.

        The variance grows with the square of the climb: a reading whose stamp is off by `stamp_error_s` is off in
        height by as much as the model climbed meanwhile.
        """
        first, last = np.searchsorted(self.time_s, [start_s, end_s])
        count = int(last - first)
        spacing = float(self.time_s[last - 1] - self.time_s[first]) / (count - 1) if count > 1 else 0.0
        together = _together(spacing, self.step_s)
        own = slice(int(first), int(first) + count // together * together)
        variance = self.noise_m2 + (np.nan_to_num(self.climb_m_s[own]) * self.stamp_error_s) ** 2
        columns = (self.time_s[own], self.height_m[own], np.maximum(variance / together, self.lasting_m2))
        if together == 1:
            return columns
        time, height, error = np.array(columns).reshape(3, -1, together).mean(axis=2)
        return time, height, error


LEAST_NOISE_M2: Final = 1e-4
"""A centimetre: no altimeter is better."""

FOURTH_DIFFERENCE: Final = 70.0
"""1 + 16 + 36 + 16 + 1: variance of the fourth differences of independent errors of variance 1."""

NORMAL_MEDIAN_SQUARE: Final = 0.4549
"""Median of the square of a standard normal variable."""


LASTING: Final = (1, 2, 3)
"""Steps apart at which lasting noise is looked for ..."""

LONGEST_LASTING_S: Final = 0.7
"""... as long as they are shorter than this: beyond, fourth differences show the motion itself."""


def readings_of(traces: Traces, segmentation: Segmentation, step_s: float) -> Readings:
    """Readings of a conditioned log, to be averaged over `step_s`; their noise from the log itself.

    Fourth differences are free of the slow part of any motion. With the motor off they show the altimeter's noise r
    (never less than its rounding, step²/12), in climbs under power the stamps' error as well: their variance is
    70 (r + climb² error²). Between readings that follow closely they show nothing of noise that a filter has made
    slow; between averages some steps apart they do.
    """
    values = traces.channels["altitude_reading_m"]
    known = np.isfinite(values)
    columns = (traces.time_s, values, traces.channels["climb_m_s"])
    time, height, climb = columns if known.all() else (column[known] for column in columns)
    edges = [[run.start_s, run.end_s] for run in segmentation.of_kind("motor_run")]
    powered = [(int(first), int(last)) for first, last in np.searchsorted(time, np.reshape(edges, (-1, 2)))]
    off = np.ones(height.size, dtype=bool)
    for start, end in powered:
        off[start:end] = False
    noise = max(_calm_noise(height, off, 1, 1), quantum_of(height) ** 2 / 12.0, LEAST_NOISE_M2)
    spacing = usual_step_s(time)
    together = _together(spacing, step_s)
    apart = [together * steps for steps in LASTING if together * steps * spacing < LONGEST_LASTING_S]
    lasting = max((_calm_noise(height, off, together, rows) for rows in apart), default=0.0)
    stamp_error = _stamp_error(time, height, climb, noise, powered)
    return Readings(time, height, climb, noise, stamp_error, lasting, step_s)


def _together(spacing_s: float, step_s: float) -> int:
    """How many readings are averaged; a single one has no spacing."""
    return max(1, int(1.01 * step_s / spacing_s)) if spacing_s > 0.0 else 1


def _calm_noise(height: Array, off: Mask, together: int, apart: int) -> float:
    """Variance of the errors of averages over some readings, from the middle of their fourth differences.

    `off` are the rows with the motor off; the averages of each difference begin `apart` rows after one another.
    """
    middle = 2 * apart
    firsts = spread_rows(off[middle : max(off.size - middle - together + 1, middle)])
    if firsts.size < 8:
        return 0.0
    starts = firsts[:, None] + apart * np.arange(5)
    levels = height[starts[..., None] + np.arange(together)].mean(axis=2)
    return float(np.median(np.diff(levels, 4) ** 2)) / NORMAL_MEDIAN_SQUARE / FOURTH_DIFFERENCE


def _stamp_error(time: Array, height: Array, climb: Array, noise: float, powered: list[tuple[int, int]]) -> float:
    """Excess scatter of the readings in steady climbs over that in calm flight, as a scatter of their stamps."""
    excess, squares = [], []
    for first, last in powered:
        middle = slice(first + int(0.2 * (last - first)), last)
        if middle.stop - middle.start < 8:
            continue
        risen = height[middle] - median_of(np.diff(height[middle]) / np.diff(time[middle])) * time[middle]
        excess.append(np.diff(risen, 4) ** 2 / FOURTH_DIFFERENCE - noise)
        squares.append(np.nan_to_num(climb[middle][2:-2]) ** 2)
    if not excess:
        return 0.0
    over, speeds = np.concatenate(excess), np.concatenate(squares)
    kept = over <= np.quantile(over, 0.98)
    variance = float(over[kept].mean() / max(float(speeds[kept].mean()), 1.0))
    return float(np.sqrt(np.clip(variance, 0.0, usual_step_s(time) ** 2)))
