"""When the edges of segments were, how well that is known, and what it does to heights."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from itertools import pairwise
from typing import TYPE_CHECKING, Final

import numpy as np

if TYPE_CHECKING:
    from collections.abc import Sequence

    from analyzer.arrays import Array
    from analyzer.measures.heights import Heights
    from analyzer.measures.tuning import MeasureTuning
    from analyzer.records import Segment


@dataclass(frozen=True, slots=True)
class Edge:
    """An edge of a segment.

    Attributes
    ----------
    at_s : float
        When it was.
    time_error_s : float
        Standard error of that.
    before_m, after_m : float
        Height gained over that time before and after it.
    extreme_m : float
        What the height at the edge is above (in a crest) or below (in a trough, negative) where it is to be expected:
        an edge that was sought where the height turns finds the extreme of a noisy curve.
    """

    at_s: float
    time_error_s: float = 0.0
    before_m: float = 0.0
    after_m: float = 0.0
    extreme_m: float = 0.0

    def height_error_m(self, rate_m_s: float) -> float:
        """What the edge's time error is worth in height, against a model that goes on at a rate.

        Root mean square of what the model gains beyond that rate while the edge is off by its standard error, either
        way: the motion itself and not its slope at the edge, since sink turns into lift within a second or two.
        """
        steady = rate_m_s * self.time_error_s
        return math.hypot(self.before_m - steady, self.after_m - steady) / math.sqrt(2.0)


FEWEST_FOR_A_LINE: Final = 3
"""Two samples lie on a line of any slope."""


def edges_of(heights: Heights, segments: Sequence[Segment], tuning: MeasureTuning) -> tuple[Edge, ...]:
    """All edges of a log's segments: that before each segment, and that after the last."""
    if not segments:
        return ()
    between = (edge_between(heights, before, after, tuning) for before, after in pairwise(segments))
    return (Edge(segments[0].start_s), *between, Edge(segments[-1].end_s))


def altitude_m(heights: Heights, edge: Edge) -> float:
    """Height of the model at an edge."""
    return heights.at(edge.at_s).value_m - edge.extreme_m


def with_altitudes(heights: Heights, segments: Sequence[Segment], edges: Sequence[Edge]) -> tuple[Segment, ...]:
    """The segments with the heights of the model at their edges, in place of those that the altimeter showed there."""
    altitudes = [altitude_m(heights, edge) for edge in edges]
    return tuple(
        replace(segment, start_altitude_m=start, end_altitude_m=end)
        for segment, (start, end) in zip(segments, pairwise(altitudes), strict=True)
    )


def edge_between(heights: Heights, before: Segment, after: Segment, tuning: MeasureTuning) -> Edge:
    """The edge between two segments that follow one another.

    Motor edges are known to about a sample. A touch-down, and a take-off without motor, lie within the time over which
    the height does not differ from that at the edge by more than the ground does (`ground_level_m`): flare, roll-out
    and a model on the ground look alike. From sink to lift the climb changes gradually under gusts: the time at which a
    slope crosses a level is as uncertain as the level over the slope, both from a straight line through the climb of
    `edge_window_s` around it; it is the altimeter that shows it, by its lag too late. Where the airspeed is logged
    total energy turns there, and the height may stand anywhere in its swing: no extreme is taken back. No edge lies
    beyond the segments beside it.
    """
    time_s, kinds = after.start_s, (before.kind, after.kind)
    if "motor_run" in kinds:
        return edge_at(heights, time_s, motor_edge_error_s(heights, time_s), time_s)
    most_s = min(tuning.most_edge_s, before.duration_s, after.duration_s)
    traces = heights.traces
    inside = traces.window(time_s - most_s, time_s + most_s)
    height = traces.channels["height_m"][inside]
    known = np.isfinite(height)
    time, height = traces.time_s[inside][known] - time_s, height[known]
    if "ground" in kinds:
        level = height - heights.smoothed.height_at(time_s)
        flying = time < 0.0 if after.kind == "ground" else time > 0.0
        error_s = _touching_s(np.abs(time[flying]), np.abs(level[flying]), most_s, tuning)
        return edge_at(heights, time_s, error_s, time_s)
    energy_climb = traces.get("energy_climb_m_s")
    climb = traces.channels["climb_m_s"] if energy_climb is None else energy_climb
    error_s = _turning_s(time, climb[inside][known], most_s, tuning)
    edge = edge_at(heights, time_s, error_s, time_s - heights.altimeter.lag_s)
    if error_s >= most_s or energy_climb is not None:
        return edge
    return replace(edge, extreme_m=tuning.extreme_share * 0.5 * (edge.before_m - edge.after_m))


def edge_at(heights: Heights, seen_s: float, error_s: float, at_s: float) -> Edge:
    """The edge at an instant, with what the altimeter shows of it at another."""
    return Edge(at_s, error_s, *_gained_m(heights, seen_s, error_s))


def _gained_m(heights: Heights, at_s: float, error_s: float) -> tuple[float, float]:
    """Height gained over an error of time before and after an instant, as the altimeter shows it."""
    before, at, after = (heights.smoothed.height_at(time_s) for time_s in (at_s - error_s, at_s, at_s + error_s))
    return at - before, after - at


def motor_edge_error_s(heights: Heights, time_s: float) -> float:
    """Standard error of the time of a motor's start or stop: anywhere between two samples, or as the climb tells it."""
    return math.hypot(spacing_s(heights.traces.drive_time_s, time_s) / math.sqrt(12.0), heights.motor_edge_se_s)


def spacing_s(stamps: Array, time_s: float) -> float:
    """Distance between the samples on either side of an instant (of the wider neighbour, where one falls on it)."""
    right = min(max(int(stamps.searchsorted(time_s)), 1), stamps.size - 1)
    spacing = float(stamps[right] - stamps[right - 1])
    if stamps[right] == time_s and right + 1 < stamps.size:
        spacing = max(spacing, float(stamps[right + 1] - stamps[right]))
    return spacing


def _touching_s(away_s: Array, level_m: Array, most_s: float, tuning: MeasureTuning) -> float:
    """Error of a touch-down: half of the time in flight, from the edge, at less than the ground's own differences."""
    above = away_s[level_m > tuning.ground_level_m]
    near_s = float(above.min()) if above.size else most_s
    return min(math.hypot(tuning.ground_edge_s, tuning.flare_share * near_s), most_s)


def _turning_s(time_s: Array, climb_m_s: Array, most_s: float, tuning: MeasureTuning) -> float:
    """Error of the time at which sink turns into lift, or back."""
    near = np.abs(time_s) <= 0.5 * tuning.edge_window_s
    if np.count_nonzero(near) < FEWEST_FOR_A_LINE:  # beside a gap
        return most_s
    slope, away = _line(time_s[near], climb_m_s[near])
    scatter = math.sqrt(float(away @ away) / away.size * tuning.gust_s / tuning.edge_window_s)
    return min(scatter / max(abs(slope), 1e-3), most_s)


def _line(time_s: Array, values: Array) -> tuple[float, Array]:
    """Slope of the straight line through values, and how far they stray from it."""
    apart, away = time_s - time_s.mean(), values - values.mean()
    slope = float(apart @ away) / float(apart @ apart)
    return slope, away - slope * apart
