"""Thermal climbs: sustained rises of total energy with the motor off.

The (energy) height is averaged over one circle, so that a climb that is stronger on one side of the circle stays one
climb; the rises of the average are joined over short, shallow dips. The average of a kink lies on its flatter side, so
the ends of each rise are then placed at the lowest and highest height nearby, noise averaged out.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from analyzer.robust_fit import median_of
from analyzer.segmentation.motion import GRID_S, sliding_mean
from analyzer.segmentation.rises import joined_rises
from analyzer.segmentation.spans import Rows, Span, spans_of

if TYPE_CHECKING:
    from analyzer.arrays import Array, Mask
    from analyzer.segmentation.motion import Motion
    from analyzer.segmentation.tuning import LiftTuning


def thermal_climbs(motion: Motion, stretch: Span, motor_before: bool, towed: bool, tuning: LiftTuning) -> list[Span]:
    """Climbs in one stretch of flight with the motor off.

    Parameters
    ----------
    motion : Motion
        The model's motion.
    stretch : (float, float)
        Start and end in seconds.
    motor_before : bool
        Whether the stretch begins at a motor run: a zoom follows its stop.
    towed : bool
        Whether the stretch begins with a flight: on a tow or a throw.
    tuning : LiftTuning
        The stage's tuning.
    """
    if stretch[1] - stretch[0] < tuning.shortest_climb_s:
        return []
    inside = motion.window(*stretch)
    times, energy = motion.time_s[inside], motion.energy_m[inside]
    rate = motion.energy_climb_m_s[inside]
    if not motion.total_energy:
        energy = without_dives(energy, rate, tuning)
    if towed:
        energy = without_zoom(energy, rate, tuning.longest_tow_s, tuning)
    elif motor_before and not motion.total_energy:
        energy = without_zoom(energy, rate, tuning.longest_zoom_s, tuning)
    circle_s = circle_time(None if motion.course_deg is None else motion.course_deg[inside], len(energy), tuning)
    mean, calmed = sliding_mean(energy, circle_s), sliding_mean(energy, tuning.edge_mean_s)
    last = len(mean) - 1
    found: list[Span] = []
    for bottom, top in joined_rises(mean, tuning):
        start, end = _edge(calmed, bottom, circle_s[bottom], 1.0), _edge(calmed, top, circle_s[top], -1.0)
        if _is_climb(calmed, start, end, tuning) and _is_seen(motion.silent[inside][start:end], tuning):
            ends = (stretch[0] if start == 0 else times[start], stretch[1] if end == last else times[end])
            found.append((float(ends[0]), float(ends[1])))
    return found


def without_zoom(height: Array, climb: Array, longest_s: float, tuning: LiftTuning) -> Array:
    """Height after a motor stop or a tow with the speed that it left counted as the height that it became.

    The zoom lasts until the vertical speed has come down, from its highest, to what follows; over it, the height is
    carried back in line from its top at that rate. That is what total energy would do, had the airspeed been logged.
    """
    most, later = (round(time / GRID_S) for time in (longest_s, longest_s + tuning.longest_zoom_s))
    if len(height) <= later:
        return height
    after = median_of(climb[most:later])
    fastest = int(np.argmax(climb[:most])) if climb[:most].max() > tuning.zooming_m_s else 0
    settled = np.flatnonzero(climb[fastest:most] < after + tuning.zoom_over_m_s)
    top = fastest + int(settled[0]) if len(settled) else most
    level = height.copy()
    level[:top] = height[top] - after * GRID_S * (top - np.arange(top))
    return level


def without_dives(height: Array, climb: Array, tuning: LiftTuning) -> Array:
    """Height with dives that end in a zoom bridged, from where the dive began to the zoom's top.

    The height lost in such a dive is speed, and the zoom turns it back: no lift gave it. Of figures flown one into the
    other only the beginning and the end are flown at the usual speed, so they are bridged as one.
    """
    level = height.copy()
    for start, top in _dives(climb, tuning):
        level[start : top + 1] = np.interp(np.arange(start, top + 1), [start, top], [height[start], height[top]])
    return level


def _dives(climb: Array, tuning: LiftTuning) -> list[Rows]:
    """First index of every dive that ends in a zoom, and that of the zoom's top; those that overlap as one."""
    dives: list[Rows] = []
    within = round(tuning.longest_zoom_s / GRID_S)
    for first, last in spans_of(climb < -tuning.zooming_m_s):
        zoom = last + np.flatnonzero(climb[last : last + within // 2] > tuning.zooming_m_s)
        if len(zoom) == 0:
            continue
        over = np.flatnonzero(climb[zoom[0] : zoom[0] + within] < tuning.zoom_over_m_s)
        top = int(zoom[0] + over[0]) if len(over) else min(int(zoom[0]) + within, len(climb) - 1)
        began = max(first - within // 2, 0)
        above = np.flatnonzero(climb[began:first] > -tuning.zoom_over_m_s)
        start = began + int(above[-1]) if len(above) else began
        if dives and start <= dives[-1][1]:
            start = dives.pop()[0]
        dives.append((start, top))
    return dives


def _is_climb(mean: Array, start: int, end: int, tuning: LiftTuning) -> bool:
    """Whether a rise is long and high enough.

    The gain is that of an averaged height: from the trough of one gust to the crest of another is no gain.
    """
    long = (end - start) * GRID_S >= tuning.shortest_climb_s
    return bool(long and mean[end] - mean[start] >= tuning.least_gain_m)


def _is_seen(silent: Mask, tuning: LiftTuning) -> bool:
    """Whether the altimeter reported enough of a rise, and the smoother did not merely bridge it."""
    return float(silent.mean()) < tuning.most_silent


def circle_time(course_deg: Array | None, count: int, tuning: LiftTuning) -> Array:
    """Time of one circle at every grid point: from the rate of turn where the model circles, else the usual one."""
    usual = np.full(count, tuning.circle_s)
    if course_deg is None or count * GRID_S < 2 * tuning.turn_window_s:
        return usual
    rate = np.abs(sliding_mean(np.gradient(course_deg, GRID_S), tuning.turn_window_s))
    period = 360.0 / np.maximum(rate, 1e-3)
    turning = period < tuning.longest_circle_s
    return sliding_mean(np.where(turning, np.maximum(period, tuning.shortest_circle_s), usual), tuning.turn_window_s)


def _edge(mean: Array, at: int, circle_s: float, sign: float) -> int:
    """Index of the lowest (`sign` 1) or highest (-1) height within half a circle of an end of a rise."""
    half = round(circle_s / GRID_S / 2)
    low, high = max(at - half, 0), min(at + half, len(mean) - 1)
    return low + int(np.argmin(sign * mean[low : high + 1]))
