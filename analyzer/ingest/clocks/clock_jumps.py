"""A clock that does not run on: it passes midnight, overflows, starts again, or is set in flight.

Each leaves its own trace in the steps between stamps, and is mended by what the trace shows.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

import numpy as np

from analyzer.constants import DAY_S
from analyzer.errors import LogFileError
from analyzer.ingest.clocks.stray_stamps import LONGEST_GAP_S, SHUFFLED_ROWS
from analyzer.ingest.clocks.time_axis import usual_step
from analyzer.ingest.columns.column_map import map_option
from analyzer.records import Notice
from analyzer.wording import clock

if TYPE_CHECKING:
    from collections.abc import Sequence

    from analyzer.arrays import Array, Mask
    from analyzer.ingest.clocks.time_axis import ClockKind

_OVERFLOWS_S: Final = (
    2**16 * 1e-3, 2**24 * 1e-6, 2**32 * 1e-6, 2**31 * 1e-6, 2**32 * 1e-3, 2**31 * 1e-3, 2**24 * 1e-3, DAY_S,
)  # fmt: skip
"""Where counters of 16, 24, 31 and 32 bits overflow, counting milliseconds or microseconds; and those of a day."""

OVERFLOW_ROWS: Final = 5.0
"""An overflow lands on the next stamp, but for a few lost samples."""

OVERFLOW_SHARPNESS: Final = 20.0
"""That landing must be so much narrower than the counter's range, or any step back would fit..."""

OVERFLOW_LEAST_ROWS: Final = 1.5
"""...and no narrower than the very next stamp needs."""

UNSET_BEFORE_S: Final = 1_104_537_600.0
"""2005-01-01: no telemetry logger is older; earlier dates are a clock's default (1970, 1980, 2000)."""

UNSET_TIME_OF_DAY_S: Final = 3600.0
"""A clock that starts at midnight and then jumps by more than this was set by the first satellite fix."""

MOST_JUMPS: Final = 100
"""A clock that jumps oftener tells no time."""

LONGEST_SILENCE_S: Final = 600.0
"""No telemetry stays away for ten minutes in the air; a shorter silence may be a lost connection."""

LONE_FACTOR: Final = 10.0
"""A jump is so much longer than any other step."""

LEAST_TOLERANCE_M: Final = 2.0
"""A height is known no better from one sample to the next, and a model moves between them."""

SURELY_AIRBORNE_M: Final = 15.0
"""So high above the lowest heights of a log no model lies on the ground."""

RESTART_GAP_S: Final = 10.0
"""A logger that is switched on again does not say how long it was off; a gap that no later stage bridges."""


def unwrapped(stamps: Array, kind: ClockKind) -> tuple[Array, list[Notice]]:
    """Carry a clock on past midnight, and a counter past its overflow."""
    steps, step_s = np.diff(stamps), usual_step(stamps)
    notices = []
    carried = np.zeros(stamps.size)
    if kind == "clock":
        midnights = steps < -DAY_S / 2.0
        carried[1:] = DAY_S * np.cumsum(midnights)
        if midnights.any():
            notices.append(Notice("clock-midnight", "the clock passes midnight"))
    elif kind == "elapsed":
        for overflow_s in _OVERFLOWS_S:
            within_s = min(OVERFLOW_ROWS * step_s, overflow_s / OVERFLOW_SHARPNESS)
            holds = np.ptp(stamps) <= overflow_s  # a counter never reads more than it holds
            if within_s < OVERFLOW_LEAST_ROWS * step_s or not holds:
                continue
            overflows = (steps < 0.0) & (np.abs(steps + overflow_s) <= within_s)
            carried[1:] += overflow_s * np.cumsum(overflows)
            if overflows.any():
                times = f"{int(overflows.sum())}x"
                message = f"the clock's counter overflowed after {overflow_s:.6g} s ({times}); carried on"
                notices.append(Notice("clock-overflow", message))
    return stamps + carried, notices


def joined(stamps: Array, kind: ClockKind) -> tuple[Array, list[Notice]]:
    """Put pieces between which the clock jumped one after the other.

    Raises
    ------
    LogFileError
        When it jumps too often.
    """
    step_s = usual_step(stamps)
    steps = np.diff(stamps)
    back = np.maximum.accumulate(stamps)[:-1] - stamps[1:] > SHUFFLED_ROWS * step_s
    back &= steps < 0.0
    jumps = np.flatnonzero(back | clock_set(stamps, steps, kind)) + 1
    if jumps.size > MOST_JUMPS:
        raise unsteady(jumps.size)
    notices: list[Notice] = []
    if not jumps.size:
        return stamps, notices
    pieces = np.split(stamps.copy(), jumps)
    for i in range(1, len(pieces)):
        piece, end_s = pieces[i], max(float(part.max()) for part in pieces[:i])
        if kind == "absolute" and back[jumps[i - 1] - 1] and _apart(piece, pieces[:i]):
            continue  # a piece of its own time, written later: sorting puts it in its place
        again = kind == "elapsed"
        shift_s = end_s + (RESTART_GAP_S if again else step_s) - float(piece[0])
        pieces[i] = piece + shift_s
        notices.append(_jump_notice(end_s - float(stamps[0]), shift_s, again=again))
    return np.concatenate(pieces), notices


def unsteady(jumps: int) -> LogFileError:
    """Say that a clock jumps too often to tell the time."""
    another = f"name another column of times with {map_option('Header', 'time_s')}"
    remedy = f"{another}, or keep one kind of row, where the file holds several"
    return LogFileError(f"its clock jumps back {jumps} times", remedy=remedy)


def clock_set(stamps: Array, steps: Array, kind: ClockKind) -> Mask:
    """Mark forward steps in which no time passed: a clock set by the first fix, a counter gone astray."""
    if kind == "absolute":
        return (stamps[:-1] < UNSET_BEFORE_S) & (stamps[1:] >= UNSET_BEFORE_S)
    if kind == "clock":
        starts_at_midnight = bool(stamps[0] < UNSET_TIME_OF_DAY_S)
        return (steps > UNSET_TIME_OF_DAY_S) & (stamps[:-1] < UNSET_TIME_OF_DAY_S) & starts_at_midnight
    return np.asarray(steps > LONGEST_GAP_S)


def set_in_flight(seconds: Array, heights_m: Array) -> tuple[Array, list[Notice]]:
    """Take out a jump of the clock that is much longer than any pause, while the model goes on in the air as before.

    Only height tells such a jump from a pause: nothing stays in the air for `LONGEST_SILENCE_S` and is back at its
    height to the metre. On the ground both look alike; there it is left as the pause that it says it is.
    """
    steps = np.diff(seconds)
    at = int(np.argmax(steps))
    if steps[at] < LONGEST_SILENCE_S or np.sum(steps > steps[at] / LONE_FACTOR) > 1:
        return seconds, []
    there = np.flatnonzero(np.isfinite(heights_m))
    split = int(np.searchsorted(there, at, side="right"))
    if not 0 < split < there.size:
        return seconds, []
    heights = heights_m[there]
    changes = np.abs(np.diff(heights))
    tolerance = max(LEAST_TOLERANCE_M, 3.0 * float(np.percentile(changes, 95.0)))
    lowest = float(np.percentile(heights, 2.0))
    if changes[split - 1] > tolerance or min(heights[split - 1 : split + 1]) < lowest + SURELY_AIRBORNE_M:
        return seconds, []
    shift_s = float(steps[at]) - usual_step(seconds)
    after = clock(float(seconds[at] - seconds[0]))
    message = f"the clock was set forward by {clock(shift_s)} after {after}, in the air and at one height; taken out"
    return np.append(seconds[: at + 1], seconds[at + 1 :] - shift_s), [Notice("clock-set", message)]


def _apart(piece: Array, others: Sequence[Array]) -> bool:
    return all(bool(piece.max() < other.min() or piece.min() > other.max()) for other in others)


def _jump_notice(at_s: float, shift_s: float, *, again: bool) -> Notice:
    if again:
        gap = f"a gap drawn as {RESTART_GAP_S:g} s"
        return Notice(
            "clock-restarted", f"the logger's clock starts again after {clock(at_s)}; the rest follows after {gap}"
        )
    return Notice("clock-set", f"the clock was set after {clock(at_s)}; its jump of {-shift_s:.1f} s was taken out")
