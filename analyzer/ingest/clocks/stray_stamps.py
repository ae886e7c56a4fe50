"""Stamps that are plainly wrong: a few that lie far from their neighbours, or weeks from all others."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from analyzer.constants import DAY_S

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from analyzer.ingest.clocks.stamp_settings import ClockKind, StampSettings


def glitches(stamps: NDArray[np.float64], kind: ClockKind, step_s: float, settings: StampSettings) -> NDArray[np.bool_]:
    """Mark up to a few stamps in a row that lie far outside the two sound ones around them."""
    far = settings.shuffled_rows * step_s
    wrong = np.zeros(stamps.size, dtype=bool)
    steps = np.diff(stamps)
    if not (np.any(steps < -far) or steps[-1] > settings.longest_gap_s):
        return wrong
    for count in range(1, min(settings.glitch_rows, stamps.size - 2) + 1):
        before, after = stamps[: -count - 1], stamps[count + 1 :]
        inside = np.lib.stride_tricks.sliding_window_view(stamps[1:-1], count)
        around = (after >= before) & (after - before <= far)
        off = np.all((inside > after[:, None] + far) | (inside < before[:, None] - far), axis=1) & around
        for start in np.flatnonzero(off):
            wrong[start + 1 : start + 1 + count] = True
    first_s, last_s = steps[[0, -1]] % DAY_S if kind == "clock" else steps[[0, -1]]
    wrong[0] |= first_s < -far
    wrong[-1] |= abs(last_s) > settings.longest_gap_s or last_s < -far
    return wrong


def far_from_all(stamps: NDArray[np.float64], settings: StampSettings) -> NDArray[np.bool_]:
    """Mark the few ordered stamps that lie longer before or after all others than any logger waits."""
    cuts = np.flatnonzero(np.diff(stamps) > settings.longest_gap_s) + 1
    sizes = np.diff([0, *cuts, stamps.size])
    few = sizes <= max(settings.glitch_rows, settings.droppable_share * stamps.size)
    far = np.repeat(few & (cuts.size > 0), sizes)
    return far & ~far.all()
