"""How well the edge between sink and lift is known in time, and what that does to heights."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from analyzer.measures.traces import Traces
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
        away = np.hypot(self.climb_m_s - rate_m_s, 0.5 * self.turn_m_s2 * self.time_error_s)
        return float(self.time_error_s * away)


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
    design = np.column_stack((np.ones_like(time), time))
    level, turn = np.linalg.lstsq(design, climb, rcond=None)[0]
    if "ground" in kinds:
        return Edge(tuning.ground_edge_s, float(level), float(turn))
    scatter = float(np.std(climb - design @ (level, turn))) * np.sqrt(tuning.gust_s / tuning.edge_window_s)
    error = np.hypot(scatter / max(abs(turn), 1e-3), tuning.least_edge_s)
    return Edge(float(min(error, tuning.most_edge_s)), float(level), float(turn))
