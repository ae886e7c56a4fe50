"""Launches: motor runs that carry the model up, and departures without a motor."""

from __future__ import annotations

from bisect import bisect_right
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from analyzer.robust_fit import median_of
from analyzer.segmentation.motion import GRID_S

if TYPE_CHECKING:
    from collections.abc import Sequence

    from analyzer.arrays import Array, Indices
    from analyzer.segmentation.motion import Motion
    from analyzer.segmentation.spans import Span
    from analyzer.segmentation.tuning import FlightTuning


@dataclass(frozen=True)
class Launches:
    """What may be a launch, wherever the model is when it happens.

    Attributes
    ----------
    powered : tuple of (float, float)
        Motor runs that carry up, start and end times.
    leaving : numpy.ndarray
        Grid indices by which the model may have left the ground without its motor.
    left : numpy.ndarray
        ... and has: on a tow or a throw, with airspeed, or because it has no motor. The others may be walks or drives.
    paced : numpy.ndarray
        Grid indices by which the height has changed faster than on foot.
    runs : tuple of (float, float)
        All motor runs.
    onset_s : float
        A departure begins up to this long before it is told.
    """

    powered: tuple[Span, ...]
    leaving: Indices
    left: Indices
    paced: Indices
    runs: tuple[Span, ...]
    onset_s: float

    def off_before(self, time_s: float) -> float:
        """When the motor last stopped before a time; 0 when it had not run."""
        index = bisect_right(self.runs, time_s, key=lambda run: run[1])
        return self.runs[index - 1][1] if index else 0.0

    def powered_after(self, time_s: float) -> Span | None:
        """The first powered launch that ends after a time."""
        index = bisect_right(self.powered, time_s, key=lambda run: run[1])
        return self.powered[index] if index < len(self.powered) else None

    def paced_after(self, time_s: float) -> float:
        """When the height first has changed faster than on foot after a time; infinite where it never does."""
        return _first_after(self.paced, time_s)

    def flown(self, start_s: float, end_s: float, soon_s: float) -> bool:
        """Whether what looks like a flight is one: it has left soon after its start, or the motor runs in it."""
        left_s = _first_after(self.left, start_s)
        return left_s < min(start_s + soon_s, end_s) or any(start_s - 1.0 <= run[0] < end_s for run in self.runs)

    def next_after(self, time_s: float, until_s: float) -> float:
        """When the model leaves without its motor after a time, as far as that is before a later one."""
        left_s = _first_after(self.left, time_s)
        return left_s - self.onset_s if left_s < until_s else until_s


def _first_after(rows: Indices, time_s: float) -> float:
    """Time of the first of some grid indices after a time; infinite where there is none."""
    index = int(np.searchsorted(rows, round(time_s / GRID_S)))
    return float(rows[index]) * GRID_S if index < len(rows) else np.inf


def launches_of(motion: Motion, runs: Sequence[Span], tuning: FlightTuning) -> Launches:
    """Everything in a log that may be a launch."""
    powered = tuple(run for run in runs if _carries_up(motion, run, tuning))
    towed = _change(motion.height_m, tuning.tow_window_s) > tuning.tow_m
    unsure = bool(runs) and motion.airspeed_share is None
    change = np.abs(_change(motion.height_m, tuning.rise_window_s))
    leaving = towed | (change > (tuning.thrown_m if unsure else tuning.rise_m))
    if motion.airspeed_share is not None:
        leaving &= motion.airspeed_share > tuning.standing_share
    left = towed if unsure else leaving
    return Launches(
        powered=powered,
        leaving=np.flatnonzero(leaving),
        left=np.flatnonzero(left),
        paced=np.flatnonzero(change > tuning.rise_m),
        runs=tuple(runs),
        onset_s=tuning.tow_window_s,
    )


def _change(height: Array, window_s: float) -> Array:
    """Change of height over the time before each grid point; 0 where the log is too short."""
    lag = round(window_s / GRID_S)
    change = np.zeros(len(height))
    change[lag:] = height[lag:] - height[: max(len(height) - lag, 0)]
    return change


def _carries_up(motion: Motion, run: Span, tuning: FlightTuning) -> bool:
    """Whether the model is clearly higher after a motor run than before (prop wash lasts only as long as the run)."""
    before = motion.height_m[motion.window(run[0] - 2.0, run[0])].min()
    after = median_of(motion.height_m[motion.window(run[1] + 1.0, run[1] + 5.0)])
    return bool(after - before > tuning.launch_gain_m)


def next_launch(motion: Motion, launches: Launches, after_s: float, tuning: FlightTuning) -> float | None:
    """When a model that is on the ground at a time is launched next; None when it stays there."""
    run = launches.powered_after(after_s)
    first = int(np.searchsorted(motion.time_s, after_s))
    index = int(np.searchsorted(launches.leaving, first + round(tuning.rise_window_s / GRID_S)))
    if index == len(launches.leaving):
        return None if run is None else max(run[0], after_s)
    reached = int(launches.leaving[index])
    if run is not None and run[0] <= motion.time_s[reached]:
        return max(run[0], after_s)
    slow = np.flatnonzero(np.abs(motion.climb_m_s[first:reached]) < tuning.walking_climb_m_s)
    return float(motion.time_s[first + slow[-1] if len(slow) else first])
