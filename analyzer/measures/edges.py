"""How well the edge between sink and lift is known in time, and what that does to heights."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from analyzer.measures.traces import Array, Traces
    from analyzer.measures.tuning import MeasureTuning
    from analyzer.records import SegmentKind


@dataclass(frozen=True, slots=True)
class Edge:
    """An edge of a segment.

    Attributes
    ----------
    time_error_s : float
        Standard error of its time.
    climb_m_s, turn_m_s2 : float
        Climb at the edge, and how fast it changes there.
    """

    time_error_s: float
    climb_m_s: float
    turn_m_s2: float

    def height_error_m(self, rate_m_s: float) -> float:
        """What the edge's time error is worth in height, against a model that goes on at a rate.

        First order: the difference of climb at the edge. Second order: it changes while the edge is off.
        """
        return self.time_error_s * math.hypot(self.climb_m_s - rate_m_s, 0.5 * self.turn_m_s2 * self.time_error_s)


def edge_between(
    traces: Traces, time_s: float, kinds: tuple[SegmentKind | None, SegmentKind | None], tuning: MeasureTuning
) -> Edge:
    """The edge between two segments of given kinds; None stands for an end of the log.

    Motor edges are known to about a sample, take-off and touch-down to a second or so. From sink to lift the climb
    changes gradually under gusts: the time at which a slope crosses a level is as uncertain as the level over the
    slope, both from a straight line through the climb of `edge_window_s` around it.
    """
    inside = traces.window(time_s - 0.5 * tuning.edge_window_s, time_s + 0.5 * tuning.edge_window_s)
    climb = traces.channels["climb_m_s"][inside]
    known = np.isfinite(climb)
    if None in kinds or np.count_nonzero(known) < 4:
        return Edge(0.0, 0.0, 0.0)
    time, climb = traces.time_s[inside][known] - time_s, climb[known]
    if "motor_run" in kinds:
        return Edge(tuning.motor_edge_s, float(np.interp(0.0, time, climb)), 0.0)
    level, turn, away = _line(time, climb)
    if "ground" in kinds:
        return Edge(tuning.ground_edge_s, level, turn)
    scatter = float(np.std(away)) * math.sqrt(tuning.gust_s / tuning.edge_window_s)
    error = math.hypot(scatter / max(abs(turn), 1e-3), tuning.least_edge_s)
    return Edge(min(error, tuning.most_edge_s), level, turn)


def _line(time_s: Array, values: Array) -> tuple[float, float, Array]:
    """Level at time 0 and slope of the straight line through values, and how far they stray from it."""
    middle, mean = float(time_s.mean()), float(values.mean())
    away, apart = values - mean, time_s - middle
    slope = float(apart @ away) / float(apart @ apart)
    return mean - slope * middle, slope, away - slope * apart
