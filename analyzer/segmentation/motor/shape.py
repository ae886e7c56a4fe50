"""Motor runs by the shape of the climb alone, for logs that hold nothing but heights."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from analyzer.segmentation.motion import GRID_S
from analyzer.segmentation.spans import Span, spans_of

if TYPE_CHECKING:
    from analyzer.segmentation.motion import Motion
    from analyzer.segmentation.motor.tuning import MotorTuning


def powered_climbs(motion: Motion, tuning: MotorTuning) -> list[Span]:
    """Climbs that are as steep as a motor makes them, and begin at once; start and end times.

    The launch shows how the model climbs under power; without one, nothing is taken for a motor run, since a strong
    thermal is as steep.
    """
    found = [
        (start, end, usual)
        for first, last in spans_of(motion.climb_m_s > tuning.powered_climb_m_s)
        for start, end, usual in [_climb_around(motion, first, last)]
        if _as_powered(motion, start, end, usual, tuning)
    ]
    if not found or not _is_launch(motion, found[0][0], tuning):
        return []
    least = tuning.powered_launch_share * found[0][2]
    return [_motor_edges(motion, *climb, tuning) for climb in found if climb[2] >= least]


def _motor_edges(motion: Motion, start: int, end: int, usual: float, tuning: MotorTuning) -> Span:
    """When the motor started and stopped, by what the altimeter shows of a climb.

    It shows the start late: the motor spools up, the model gains speed before height, and the sensor lags. Once the
    thrust is gone the climb fades at once.
    """
    fading, rising = 1.0 - tuning.powered_edge_share, tuning.powered_edge_share
    slow = np.flatnonzero(motion.climb_m_s[:start] < rising * usual)
    steep = np.flatnonzero(motion.climb_m_s[start:end] >= fading * usual)
    first, last = (int(slow[-1]) + 1 if slow.size else 0), start + int(steep[-1])
    return max(float(motion.time_s[first]) - tuning.powered_delay_s, 0.0), float(motion.time_s[last])


def _climb_around(motion: Motion, first: int, last: int) -> tuple[int, int, float]:
    """Grid indices between which the vertical speed stays above half its median in a stretch, and that median."""
    usual = float(np.median(motion.climb_m_s[first:last]))
    below = np.flatnonzero(motion.climb_m_s < 0.5 * usual)
    place, after = np.searchsorted(below, [first, last])
    start = int(below[place - 1]) + 1 if place > 0 else 0
    end = int(below[after]) if after < len(below) else len(motion.climb_m_s) - 1
    return start, end, usual


def _as_powered(motion: Motion, start: int, end: int, usual: float, tuning: MotorTuning) -> bool:
    """Whether a climb lasts as long, and begins as suddenly, as a motor makes it."""
    before = motion.climb_m_s[max(start - round(tuning.powered_onset_s / GRID_S), 0)]
    return bool((end - start) * GRID_S >= tuning.powered_least_s and before < 0.25 * usual)


def _is_launch(motion: Motion, start: int, tuning: MotorTuning) -> bool:
    """Whether the model had not yet left the launch point's level when a climb began."""
    return bool(np.abs(motion.height_m[: max(start, 1)]).max() < tuning.launch_level_m)
