"""From a log's time stamps as written to one clock that runs forward.

A clock that passes midnight, a counter that overflows, a logger that was switched on again, a clock that was set in
flight, a stamp that is plainly wrong, lines written out of order or last one first: each leaves its own trace in the
steps between stamps. Each is mended by what the trace shows, and said in a notice; no row is moved silently.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Final, Literal

import numpy as np

from analyzer.constants import DAY_S
from analyzer.errors import LogFileError
from analyzer.ingest.wording import counted
from analyzer.records import Notice

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import NDArray

ClockKind = Literal["elapsed", "clock", "absolute"]
"""Seconds since the logger started; time of day; date and time (seconds since 1970-01-01)."""


@dataclass(frozen=True, slots=True)
class StampSettings:
    """What the mending of stamps goes by; each with its reason."""

    restart_gap_s: float = 10.0
    """A logger that is switched on again does not say how long it was off; a gap that no later stage bridges."""
    reversed_share: float = 0.9
    """From this share of backward steps on, the file is written last line first."""
    glitch_rows: int = 3
    """A wrong stamp may have wrong neighbours; more than three in a row are no glitch but a jump."""
    shuffled_rows: int = 50
    """Lines from a buffer written late are late by a second or so: 50 rows at 20 Hz are 2.5 s."""
    overflow_rows: float = 5.0
    """An overflow lands on the next stamp, but for a few lost samples."""
    overflow_sharpness: float = 20.0
    """That landing must be so much narrower than the counter's range, or any step back would fit."""
    unset_before_s: float = 1_104_537_600.0
    """2005-01-01: no telemetry logger is older; earlier dates are a clock's default (1970, 1980, 2000)."""
    unset_time_of_day_s: float = 3600.0
    """A clock that starts at midnight and then jumps by more than this was set by the first satellite fix."""
    longest_gap_s: float = 30.0 * DAY_S
    """No logger waits longer within one file: a longer jump of a running counter is not time that passed."""
    most_jumps: int = 100
    """A clock that jumps oftener tells no time."""
    displaced_share: float = 0.2
    """Nor does one by which more samples than this stand far from their place in the file."""
    largest_stamp_s: float = 1e12
    """Beyond this (the year 33 658) a number is no stamp."""
    droppable_share: float = 0.01
    """Up to this share of samples without a stamp is dropped; more is the logger's way to write a slow clock."""
    droppable_rows: int = 3
    """So few are dropped from a short log too."""


DEFAULT_SETTINGS: Final = StampSettings()

MIN_STAMPS: Final = 2
"""Fewer have no order."""

_OVERFLOWS_S: Final = (2**16 * 1e-3, 2**24 * 1e-6, 2**32 * 1e-6, 2**31 * 1e-6, 2**32 * 1e-3, 2**31 * 1e-3, 2**24 * 1e-3)
"""Where counters of 16, 24, 31 and 32 bits overflow, counting milliseconds or microseconds."""


@dataclass(frozen=True)
class OrderedStamps:
    """The rows that have a usable stamp, in order.

    Attributes
    ----------
    rows : numpy.ndarray of int
        Rows of the table, in the order of time.
    seconds : numpy.ndarray
        Their stamps, never running backward.
    notices : tuple of Notice
        What was mended.
    """

    rows: NDArray[np.intp]
    seconds: NDArray[np.float64]
    notices: tuple[Notice, ...]


def order_stamps(
    seconds: NDArray[np.float64],
    kind: ClockKind,
    restarts: Sequence[int] = (),
    settings: StampSettings = DEFAULT_SETTINGS,
    *,
    source: str = "",
) -> OrderedStamps:
    """Make stamps run forward.

    Parameters
    ----------
    seconds : numpy.ndarray, shape (rows,)
        Stamps in the order of the file; NaN where a row has none (such rows are left out).
    kind : str
        What the stamps count.
    restarts : sequence of int
        Rows before which the file says that the logger started again.
    settings : StampSettings
        Limits.
    source : str
        What an error calls the log.

    Raises
    ------
    LogFileError
        When fewer than two samples have a stamp, or the clock jumps more than `StampSettings.most_jumps` times.
    """
    rows = np.flatnonzero(np.abs(seconds) < settings.largest_stamp_s)
    stamps = seconds if rows.size == seconds.size else seconds[rows]
    if stamps.size < MIN_STAMPS:
        raise LogFileError("holds fewer than two samples with a time", source=source, remedy="give a whole log")
    steps = np.diff(stamps)
    if not ((steps < 0.0) | (steps > settings.longest_gap_s) | _clock_set(stamps, steps, kind, settings)).any():
        return OrderedStamps(rows, stamps, ())
    notices: list[Notice] = []
    lowest = -DAY_S / 2.0 if kind == "clock" else -np.inf  # below it, a clock passes midnight
    if np.mean((steps < 0.0) & (steps > lowest)) > settings.reversed_share:
        rows, stamps = rows[::-1], stamps[::-1]
        notices.append(Notice("clock-reversed", "the log is written last sample first; it was turned round"))
    step_s = typical_step(stamps)
    sound = ~_glitches(stamps, kind, step_s, settings)
    if not sound.all():
        rows, stamps = rows[sound], stamps[sound]
        notices.append(
            Notice(
                "clock-glitch", f"dropped {counted(int(np.sum(~sound)), 'sample')} with a time far off its neighbours'"
            )
        )
    stamps = _unwrapped(stamps, kind, step_s, settings, notices)
    stamps = _joined(stamps, kind, np.isin(rows, restarts), settings, notices, source)
    order = np.argsort(stamps, kind="stable")
    far = np.abs(order - np.arange(order.size)) > settings.shuffled_rows
    backward = int(np.sum(np.diff(stamps) < 0.0))
    if backward > settings.most_jumps and np.mean(far) > settings.displaced_share:
        raise _unsteady(backward, source)
    moved = int(np.sum(order != np.arange(order.size)))
    if moved:
        notices.append(Notice("clock-sorted", f"sorted {counted(moved, 'sample')} written out of order in time"))
    rows, stamps = _without_far_ones(rows[order], stamps[order], settings, notices)
    return OrderedStamps(rows, _pauses_drawn(stamps, settings, notices), tuple(notices))


def _without_far_ones(
    rows: NDArray[np.intp], stamps: NDArray[np.float64], settings: StampSettings, notices: list[Notice]
) -> tuple[NDArray[np.intp], NDArray[np.float64]]:
    """Drop the few stamps that lie longer before or after all others than any logger waits."""
    cuts = np.flatnonzero(np.diff(stamps) > settings.longest_gap_s) + 1
    sizes = np.diff([0, *cuts, stamps.size])
    few = sizes <= max(settings.glitch_rows, settings.droppable_share * stamps.size)
    far = np.repeat(few & (cuts.size > 0), sizes)
    if not far.any() or far.all():
        return rows, stamps
    message = f"dropped {counted(int(far.sum()), 'sample')} with a time weeks away from all others"
    notices.append(Notice("clock-glitch", message))
    return rows[~far], stamps[~far]


def _pauses_drawn(stamps: NDArray[np.float64], settings: StampSettings, notices: list[Notice]) -> NDArray[np.float64]:
    """Draw pauses of weeks, between days that someone put into one file, as one day."""
    steps = np.diff(stamps)
    long = steps > settings.longest_gap_s
    if not long.any():
        return stamps
    days = ", ".join(f"{step / DAY_S:.0f}" for step in steps[long])
    notices.append(Notice("clock-set", f"the log pauses for {days} days; drawn as one day"))
    return np.append(stamps[0], stamps[0] + np.cumsum(np.where(long, DAY_S, steps)))


def fill_missing(
    seconds: NDArray[np.float64], filled: NDArray[np.bool_], settings: StampSettings = DEFAULT_SETTINGS
) -> tuple[NDArray[np.float64], tuple[Notice, ...]]:
    """Give rows without a stamp the stamp before them, where they are many; few are left without, and so dropped.

    Parameters
    ----------
    seconds : numpy.ndarray
        NaN where a row has no stamp.
    filled : numpy.ndarray of bool
        Rows that hold anything but a time.
    settings : StampSettings
        Limits.
    """
    missing = np.isnan(seconds) & filled
    last = np.maximum.accumulate(np.where(np.isnan(seconds), -1, np.arange(seconds.size)))
    carried = missing & (last >= 0)
    if int(carried.sum()) <= max(settings.droppable_rows, settings.droppable_share * seconds.size):
        carried[:] = False
    notices = []
    if dropped := int(np.sum(missing & ~carried)):
        notices.append(Notice("rows-without-time", f"dropped {counted(dropped, 'sample')} without a time"))
    if count := int(carried.sum()):
        message = f"{counted(count, 'sample')} without a time set after the time written before them"
        notices.append(Notice("stamps-carried", message))
    return np.where(carried, seconds[last], seconds), tuple(notices)


def typical_step(stamps: NDArray[np.float64]) -> float:
    """Median of the forward steps, in the stamps' unit; 0 where there is none."""
    steps = np.diff(stamps)
    forward = steps[steps > 0.0]
    return float(np.median(forward)) if forward.size else 0.0


def _glitches(
    stamps: NDArray[np.float64], kind: ClockKind, step_s: float, settings: StampSettings
) -> NDArray[np.bool_]:
    """Mark up to a few stamps in a row that lie far outside the two sound ones around them."""
    far = settings.shuffled_rows * step_s
    wrong = np.zeros(stamps.size, dtype=bool)
    steps = np.diff(stamps)
    if not (np.any(steps < -far) or steps[-1] > settings.longest_gap_s):
        return wrong
    for count in range(1, settings.glitch_rows + 1):
        before, after = stamps[: -count - 1], stamps[count + 1 :]
        inside = (
            np.lib.stride_tricks.sliding_window_view(stamps[1:-1], count)
            if stamps.size > count + 1
            else before[:, None]
        )
        around = (after >= before) & (after - before <= far)
        off = np.all((inside > after[:, None] + far) | (inside < before[:, None] - far), axis=1) & around
        for start in np.flatnonzero(off):
            wrong[start + 1 : start + 1 + count] = True
    first_s, last_s = steps[[0, -1]] % DAY_S if kind == "clock" else steps[[0, -1]]
    wrong[0] |= first_s < -far
    wrong[-1] |= abs(last_s) > settings.longest_gap_s or last_s < -far
    return wrong


def _unwrapped(
    stamps: NDArray[np.float64], kind: ClockKind, step_s: float, settings: StampSettings, notices: list[Notice]
) -> NDArray[np.float64]:
    """Carry a clock on past midnight, and a counter past its overflow."""
    steps = np.diff(stamps)
    carried = np.zeros(stamps.size)
    if kind == "clock":
        midnights = steps < -DAY_S / 2.0
        carried[1:] = DAY_S * np.cumsum(midnights)
        if midnights.any():
            notices.append(Notice("clock-midnight", "the clock passes midnight"))
    elif kind == "elapsed":
        sharp = settings.overflow_rows * step_s * settings.overflow_sharpness
        for overflow_s in (overflow_s for overflow_s in _OVERFLOWS_S if overflow_s > sharp):
            overflows = (steps < 0.0) & (np.abs(steps + overflow_s) <= settings.overflow_rows * step_s)
            carried[1:] += overflow_s * np.cumsum(overflows)
            if overflows.any():
                times = int(overflows.sum())
                notices.append(
                    Notice(
                        "clock-overflow",
                        f"the clock's counter overflowed after {overflow_s:.6g} s ({times}x); carried on",
                    )
                )
    return stamps + carried


def _joined(
    stamps: NDArray[np.float64],
    kind: ClockKind,
    restarted: NDArray[np.bool_],
    settings: StampSettings,
    notices: list[Notice],
    source: str,
) -> NDArray[np.float64]:
    """Put pieces between which the clock jumped one after the other."""
    step_s = typical_step(stamps)
    steps = np.diff(stamps)
    back = np.maximum.accumulate(stamps)[:-1] - stamps[1:] > settings.shuffled_rows * step_s
    back &= steps < 0.0
    jumps = np.flatnonzero(back | _clock_set(stamps, steps, kind, settings)) + 1
    if jumps.size > settings.most_jumps:
        raise _unsteady(jumps.size, source)
    if not jumps.size:
        return stamps
    pieces = np.split(stamps.copy(), jumps)
    for i in range(1, len(pieces)):
        piece, end_s = pieces[i], max(float(part.max()) for part in pieces[:i])
        if kind == "absolute" and not restarted[jumps[i - 1]] and _apart(piece, pieces[:i]) and back[jumps[i - 1] - 1]:
            continue  # a piece of its own time, written later: sorting puts it in its place
        again = kind == "elapsed" or restarted[jumps[i - 1]]
        shift_s = end_s + (settings.restart_gap_s if again else step_s) - float(piece[0])
        pieces[i] = piece + shift_s
        notices.append(_jump_notice(end_s - float(stamps[0]), shift_s, again=again, gap_s=settings.restart_gap_s))
    return np.concatenate(pieces)


def _unsteady(jumps: int, source: str) -> LogFileError:
    remedy = 'name another column of times with --map "Header=time_s"'
    return LogFileError(f"its clock jumps back {jumps} times", source=source, remedy=remedy)


def _clock_set(
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
            f"the logger's clock starts again after {at_s:.1f} s; the rest follows after a gap drawn as {gap_s:g} s"
        )
        return Notice("clock-restarted", message)
    return Notice("clock-set", f"the clock was set after {at_s:.1f} s; its jump of {-shift_s:.1f} s was taken out")
