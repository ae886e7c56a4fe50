"""Launches: motor runs that carry the model up, and departures without a motor."""

from __future__ import annotations

from bisect import bisect_right
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from analyzer.segmentation.motion import GRID_S

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import NDArray

    from analyzer.segmentation.motion import Motion
    from analyzer.segmentation.tuning import SegmentationTuning

Span = tuple[float, float]


@dataclass(frozen=True)
class Launches:
    """What may be a launch, wherever the model is when it happens.

    Attributes
    ----------
    powered : tuple of (float, float)
        Motor runs that carry up, start and end times.
    leaving : numpy.ndarray
        Grid indices by which the height has changed faster than anybody walks a hill.
    runs : tuple of (float, float)
        All motor runs.
    """

    powered: tuple[Span, ...]
    leaving: NDArray[np.intp]
    runs: tuple[Span, ...] = ()

    def off_before(self, time_s: float) -> float:
        """When the motor last stopped before a time; 0 when it had not run."""
        index = bisect_right(self.runs, time_s, key=lambda run: run[1])
        return self.runs[index - 1][1] if index else 0.0

    def powered_after(self, time_s: float) -> Span | None:
        """The first powered launch that ends after a time."""
        index = bisect_right(self.powered, time_s, key=lambda run: run[1])
        return self.powered[index] if index < len(self.powered) else None


def launches_of(motion: Motion, runs: Sequence[Span], tuning: SegmentationTuning) -> Launches:
    """Everything in a log that may be a launch."""
    lag = round(tuning.rise_window_s / GRID_S)
    change = np.abs(motion.height_m[lag:] - motion.height_m[: max(len(motion.height_m) - lag, 0)])
    leaving = np.flatnonzero(change > tuning.rise_m) + lag
    return Launches(tuple(run for run in runs if _carries_up(motion, run, tuning)), leaving, tuple(runs))


def _carries_up(motion: Motion, run: Span, tuning: SegmentationTuning) -> bool:
    """Whether the model is clearly higher after a motor run than before (prop wash lasts only as long as the run)."""
    before = motion.height_m[motion.window(run[0] - 2.0, run[0])].min()
    after = np.median(motion.height_m[motion.window(run[1] + 1.0, run[1] + 5.0)])
    return bool(after - before > tuning.launch_gain_m)


def next_launch(motion: Motion, launches: Launches, after_s: float, tuning: SegmentationTuning) -> float | None:
    """When a model that is on the ground at a time is launched next; None when it stays there."""
    run = launches.powered_after(after_s)
    first = int(np.searchsorted(motion.time_s, after_s))
    index = int(np.searchsorted(launches.leaving, first + round(tuning.rise_window_s / GRID_S)))
    if index == len(launches.leaving):
        return None if run is None else max(run[0], after_s)
    reached = int(launches.leaving[index])
    if run is not None and run[0] <= motion.time_s[reached]:
        return max(run[0], after_s)
    since = max(first, reached - 2 * round(tuning.rise_window_s / GRID_S))
    slow = np.flatnonzero(np.abs(motion.climb_m_s[since:reached]) < tuning.walking_climb_m_s)
    return float(motion.time_s[since + slow[-1] if len(slow) else since])
