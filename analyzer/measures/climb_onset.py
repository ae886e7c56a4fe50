"""When a model begins to climb, beside when its motor is logged to start."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

import numpy as np

from analyzer.robust_fit import median_of

if TYPE_CHECKING:
    from collections.abc import Sequence

    from analyzer.measures.heights import Smoothed
    from analyzer.records import Segment

BEFORE_S: Final = (-6.0, -2.0)
AFTER_S: Final = (3.0, 7.0)
"""Spans beside a start, over which the vertical speed is that before it, and that of the climb."""

WITHIN_S: Final = (-3.0, 4.0)
LEAST_RISE_M_S: Final = 1.5
"""Where the vertical speed rises by less, gusts hide when."""


def climb_onset_s(smoothed: Smoothed, runs: Sequence[Segment]) -> float | None:
    """Time from the motor's starts, in their median, at which the vertical speed is half way to that of the climb.

    A model gathers speed, and the altimeter lags: half of the climb is shown 0.4 s after the start at the earliest,
    1 to 2 s after it mostly (simulated flights). Where it is there before, the motor's channels come late. None without
    a start that shows it.
    """
    onsets = [_half_climbed_s(smoothed, run) for run in runs]
    known = np.array([onset for onset in onsets if onset is not None])
    return median_of(known) if known.size else None


def _half_climbed_s(smoothed: Smoothed, run: Segment) -> float | None:
    end_s = min(run.start_s + AFTER_S[1], run.end_s)
    before, after = (
        smoothed.climb_m_s[slice(*smoothed.time_s.searchsorted(span))]
        for span in ((run.start_s + BEFORE_S[0], run.start_s + BEFORE_S[1]), (run.start_s + AFTER_S[0], end_s))
    )
    if not before.size or not after.size:
        return None
    level, steady = median_of(before), median_of(after)
    if steady - level < LEAST_RISE_M_S:
        return None
    first, last = smoothed.time_s.searchsorted((run.start_s + WITHIN_S[0], run.start_s + WITHIN_S[1]))
    below = first + np.flatnonzero(smoothed.climb_m_s[first:last] < 0.5 * (level + steady))
    if not below.size or below[-1] + 1 >= last:
        return None
    around = slice(below[-1], below[-1] + 2)
    return float(np.interp(0.5 * (level + steady), smoothed.climb_m_s[around], smoothed.time_s[around])) - run.start_s
