"""A clock that does not run on: it passes midnight, overflows, starts again, or is set in flight.

Each leaves its own trace in the steps between stamps, and is mended by what the trace shows.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

import numpy as np

from analyzer.constants import DAY_S
from analyzer.errors import LogFileError
from analyzer.ingest.clocks.stamp_settings import typical_step
from analyzer.ingest.columns.column_map import map_option
from analyzer.records import Notice
from analyzer.wording import clock

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import NDArray

    from analyzer.ingest.clocks.stamp_settings import ClockKind, StampSettings

_OVERFLOWS_S: Final = (
    2**16 * 1e-3, 2**24 * 1e-6, 2**32 * 1e-6, 2**31 * 1e-6, 2**32 * 1e-3, 2**31 * 1e-3, 2**24 * 1e-3, DAY_S,
)  # fmt: skip
"""Where counters of 16, 24, 31 and 32 bits overflow, counting milliseconds or microseconds; and those of a day."""


def unwrapped(
    stamps: NDArray[np.float64], kind: ClockKind, settings: StampSettings
) -> tuple[NDArray[np.float64], list[Notice]]:
    """Carry a clock on past midnight, and a counter past its overflow."""
    steps, step_s = np.diff(stamps), typical_step(stamps)
    notices = []
    carried = np.zeros(stamps.size)
    if kind == "clock":
        midnights = steps < -DAY_S / 2.0
        carried[1:] = DAY_S * np.cumsum(midnights)
        if midnights.any():
            notices.append(Notice("clock-midnight", "the clock passes midnight"))
    elif kind == "elapsed":
        for overflow_s in _OVERFLOWS_S:
            within_s = min(settings.overflow_rows * step_s, overflow_s / settings.overflow_sharpness)
            if within_s < settings.overflow_least_rows * step_s:
                continue
            overflows = (steps < 0.0) & (np.abs(steps + overflow_s) <= within_s)
            carried[1:] += overflow_s * np.cumsum(overflows)
            if overflows.any():
                times = f"{int(overflows.sum())}x"
                message = f"the clock's counter overflowed after {overflow_s:.6g} s ({times}); carried on"
                notices.append(Notice("clock-overflow", message))
    return stamps + carried, notices


def joined(
    stamps: NDArray[np.float64], kind: ClockKind, restarted: NDArray[np.bool_], settings: StampSettings, source: str
) -> tuple[NDArray[np.float64], list[Notice]]:
    """Put pieces between which the clock jumped one after the other.

    Raises
    ------
    LogFileError
        When it jumps too often.
    """
    step_s = typical_step(stamps)
    steps = np.diff(stamps)
    back = np.maximum.accumulate(stamps)[:-1] - stamps[1:] > settings.shuffled_rows * step_s
    back &= steps < 0.0
    jumps = np.flatnonzero(back | clock_set(stamps, steps, kind, settings)) + 1
    if jumps.size > settings.most_jumps:
        raise unsteady(jumps.size, source)
    notices: list[Notice] = []
    if not jumps.size:
        return stamps, notices
    pieces = np.split(stamps.copy(), jumps)
    for i in range(1, len(pieces)):
        piece, end_s = pieces[i], max(float(part.max()) for part in pieces[:i])
        if kind == "absolute" and not restarted[jumps[i - 1]] and _apart(piece, pieces[:i]) and back[jumps[i - 1] - 1]:
            continue  # a piece of its own time, written later: sorting puts it in its place
        again = kind == "elapsed" or restarted[jumps[i - 1]]
        shift_s = end_s + (settings.restart_gap_s if again else step_s) - float(piece[0])
        pieces[i] = piece + shift_s
        notices.append(_jump_notice(end_s - float(stamps[0]), shift_s, again=again, gap_s=settings.restart_gap_s))
    return np.concatenate(pieces), notices


def unsteady(jumps: int, source: str) -> LogFileError:
    """Say that a clock jumps too often to tell the time."""
    another = f"name another column of times with {map_option('Header', 'time_s')}"
    remedy = f"{another}, or keep one kind of row, where the file holds several"
    return LogFileError(f"its clock jumps back {jumps} times", source=source, remedy=remedy)


def clock_set(
    stamps: NDArray[np.float64], steps: NDArray[np.float64], kind: ClockKind, settings: StampSettings
) -> NDArray[np.bool_]:
    """Mark forward steps in which no time passed: a clock set by the first fix, a counter gone astray."""
    if kind == "absolute":
        return (stamps[:-1] < settings.unset_before_s) & (stamps[1:] >= settings.unset_before_s)
    if kind == "clock":
        starts_at_midnight = bool(stamps[0] < settings.unset_time_of_day_s)
        return (
            (steps > settings.unset_time_of_day_s) & (stamps[:-1] < settings.unset_time_of_day_s) & starts_at_midnight
        )
    return np.asarray(steps > settings.longest_gap_s)


def _apart(piece: NDArray[np.float64], others: Sequence[NDArray[np.float64]]) -> bool:
    return all(bool(piece.max() < other.min() or piece.min() > other.max()) for other in others)


def _jump_notice(at_s: float, shift_s: float, *, again: bool, gap_s: float) -> Notice:
    if again:
        message = (
            f"the logger's clock starts again after {clock(at_s)}; the rest follows after a gap drawn as {gap_s:g} s"
        )
        return Notice("clock-restarted", message)
    return Notice("clock-set", f"the clock was set after {clock(at_s)}; its jump of {-shift_s:.1f} s was taken out")
