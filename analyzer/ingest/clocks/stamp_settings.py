"""What time stamps count, and what the mending of them goes by."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Final, Literal

import numpy as np

from analyzer.constants import DAY_S

if TYPE_CHECKING:
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
    """That landing must be so much narrower than the counter's range, or any step back would fit..."""
    overflow_least_rows: float = 1.5
    """...and no narrower than the very next stamp needs."""
    unset_before_s: float = 1_104_537_600.0
    """2005-01-01: no telemetry logger is older; earlier dates are a clock's default (1970, 1980, 2000)."""
    unset_time_of_day_s: float = 3600.0
    """A clock that starts at midnight and then jumps by more than this was set by the first satellite fix."""
    longest_gap_s: float = 30.0 * DAY_S
    """No logger waits longer within one file: a longer jump of a running counter is not time that passed."""
    longest_pause_s: float = 8.0 * 3600.0
    """A night, with the logger off and the pack out: a longer pause is drawn as `restart_gap_s`, or the avionics would
    draw current through it, and a log that ended in the air fly on."""
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


def typical_step(stamps: NDArray[np.float64]) -> float:
    """Median of the forward steps, in the stamps' unit; 0 where there is none."""
    steps = np.diff(stamps)
    forward = steps[steps > 0.0]
    return float(np.median(forward)) if forward.size else 0.0
