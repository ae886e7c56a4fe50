"""Stamps that are plainly wrong or not there: a few that lie far from their neighbours, or weeks from all others."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

import numpy as np

from analyzer.constants import DAY_S
from analyzer.ingest.clocks.time_axis import usual_step
from analyzer.records import Notice
from analyzer.wording import counted

if TYPE_CHECKING:
    from analyzer.arrays import Array, Mask
    from analyzer.ingest.clocks.time_axis import ClockKind

GLITCH_ROWS: Final = 3
"""A wrong stamp may have wrong neighbours; more than three in a row are no glitch but a jump."""

SHUFFLED_ROWS: Final = 50
"""Lines from a buffer written late are late by a second or so: 50 rows at 20 Hz are 2.5 s."""

LONGEST_GAP_S: Final = 30.0 * DAY_S
"""No logger waits longer within one file: a longer jump of a running counter is not time that passed."""

DROPPABLE_SHARE: Final = 0.01
"""Up to this share of samples without a stamp is dropped; more is the logger's way to write a slow clock."""


def glitches(stamps: Array, kind: ClockKind) -> Mask:
    """Mark up to a few stamps in a row that lie far outside the two sound ones around them."""
    far = SHUFFLED_ROWS * usual_step(stamps)
    wrong = np.zeros(stamps.size, dtype=bool)
    steps = np.diff(stamps)
    if not (np.any(steps < -far) or steps[-1] > LONGEST_GAP_S):
        return wrong
    for count in range(1, min(GLITCH_ROWS, stamps.size - 2) + 1):
        before, after = stamps[: -count - 1], stamps[count + 1 :]
        inside = np.lib.stride_tricks.sliding_window_view(stamps[1:-1], count)
        around = (after >= before) & (after - before <= far)
        off = np.all((inside > after[:, None] + far) | (inside < before[:, None] - far), axis=1) & around
        for start in np.flatnonzero(off):
            wrong[start + 1 : start + 1 + count] = True
    first_s, last_s = steps[[0, -1]] % DAY_S if kind == "clock" else steps[[0, -1]]
    wrong[0] |= first_s < -far
    wrong[-1] |= abs(last_s) > LONGEST_GAP_S or last_s < -far
    return wrong


def far_from_all(stamps: Array) -> Mask:
    """Mark the few ordered stamps that lie longer before or after all others than any logger waits."""
    cuts = np.flatnonzero(np.diff(stamps) > LONGEST_GAP_S) + 1
    sizes = np.diff([0, *cuts, stamps.size])
    few = sizes <= max(GLITCH_ROWS, DROPPABLE_SHARE * stamps.size)
    far = np.repeat(few & (cuts.size > 0), sizes)
    return far & ~far.all()


def fill_missing(seconds: Array, filled: Mask) -> tuple[Array, tuple[Notice, ...]]:
    """Give rows without a stamp the stamp before them, where they are many; few are left without, and so dropped.

    Parameters
    ----------
    seconds : numpy.ndarray
        NaN where a row has no stamp.
    filled : numpy.ndarray of bool
        Rows that hold anything but a time.
    """
    missing = np.isnan(seconds) & filled
    last = np.maximum.accumulate(np.where(np.isnan(seconds), -1, np.arange(seconds.size)))
    carried = missing & (last >= 0)
    if int(carried.sum()) <= max(GLITCH_ROWS, DROPPABLE_SHARE * seconds.size):
        carried[:] = False
    notices = []
    if dropped := int(np.sum(missing & ~carried)):
        notices.append(Notice("rows-without-time", f"dropped {counted(dropped, 'sample')} without a time"))
    if count := int(carried.sum()):
        message = f"{counted(count, 'sample')} without a time set after the time written before them"
        notices.append(Notice("stamps-carried", message))
    return np.where(carried, seconds[last], seconds), tuple(notices)
