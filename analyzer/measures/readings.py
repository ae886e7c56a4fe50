"""The altimeter's own readings and how far each may be off."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from analyzer.conditioning.noise import motion_noise
from analyzer.conditioning.tuning import CONDITIONING

if TYPE_CHECKING:
    from analyzer.measures.traces import Array, Traces
    from analyzer.records import Segmentation


@dataclass(frozen=True)
class Readings:
    """Readings with their stamps, and the variance of their errors.

    Attributes
    ----------
    time_s, height_m, variance_m2 : ndarray, shape (n,)
        The variance grows with the square of the climb: a reading whose stamp is off by `stamp_error_s` is off in
        height by as much as the model climbed meanwhile.
    stamp_error_s : float
        Standard deviation of the stamps against the readings, as the climbs under power show it: a recorder that writes
        rows at its own rhythm gives a slower sensor's readings late, by another time each.
    """

    time_s: Array
    height_m: Array
    variance_m2: Array
    stamp_error_s: float

    def window(self, start_s: float, end_s: float) -> slice:
        """Indices of the readings from start to end."""
        first, last = np.searchsorted(self.time_s, [start_s, end_s])
        return slice(int(first), int(last))


def readings_of(traces: Traces, segmentation: Segmentation) -> Readings:
    """Readings of a conditioned log, their noise from the log itself."""
    values = traces.channels["altitude_reading_m"]
    rows = np.flatnonzero(np.isfinite(values))
    time, height = traces.time_s[rows], values[rows]
    climb = np.nan_to_num(traces.channels["climb_m_s"][rows])
    noise = motion_noise(time, height, CONDITIONING).variance_m2
    stamp_error = _stamp_error(time, height, climb, noise, segmentation)
    return Readings(time, height, noise + (climb * stamp_error) ** 2, stamp_error)


def _stamp_error(time: Array, height: Array, climb: Array, noise: float, segmentation: Segmentation) -> float:
    """Excess scatter of the readings in steady climbs over that in calm flight, as a scatter of their stamps.

    Fourth differences, free of a climb's slow changes, of readings that err by r and by climb times stamp error have
    the variance 70 (r + climb² error²); 70 = 1 + 16 + 36 + 16 + 1.
    """
    excess, speed = [], []
    for run in segmentation.of_kind("motor_run"):
        first, last = np.searchsorted(time, [run.start_s + 2.0, run.end_s - 0.2])
        if last - first < 8:
            continue
        index = np.arange(first, last)
        even = _even_remainder(time[index], height[index])
        excess.append(even**2 / 70.0 - noise)
        speed.append(climb[index][2:-2] ** 2)
    if not excess:
        return 0.0
    over, squares = np.concatenate(excess), np.concatenate(speed)
    kept = over <= np.quantile(over, 0.98)
    variance = float(over[kept].mean() / max(squares[kept].mean(), 1.0))
    spacing = float(np.median(np.diff(time)))
    return float(np.sqrt(np.clip(variance, 0.0, spacing**2)))


def _even_remainder(time: Array, height: Array) -> Array:
    """Fourth differences, after the straight line over the real stamps is taken out of uneven spacing."""
    leaned = height - np.median(np.diff(height) / np.diff(time)) * time
    return np.asarray(leaned[4:] - 4 * leaned[3:-1] + 6 * leaned[2:-2] - 4 * leaned[1:-3] + leaned[:-4])
