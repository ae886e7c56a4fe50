"""What each thermal climb gave."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from analyzer.records import ThermalClimb

if TYPE_CHECKING:
    from analyzer.measures.heights import Heights
    from analyzer.measures.traces import Traces
    from analyzer.records import Segment, Segmentation

BEST_OVER_S = 20.0


def measure_thermal_climbs(heights: Heights, segmentation: Segmentation) -> tuple[ThermalClimb, ...]:
    """Measure every thermal climb of a segmentation, in order."""
    return tuple(_climb(heights, segment) for segment in segmentation.of_kind("thermal_climb"))


def _climb(heights: Heights, climb: Segment) -> ThermalClimb:
    entry, leaving = heights.at(climb.start_s), heights.at(climb.end_s)
    gain = leaving.minus(entry)
    return ThermalClimb(
        start_s=climb.start_s,
        end_s=climb.end_s,
        height_gain_m=gain.value_m,
        climb_rate_m_s=gain.value_m / climb.duration_s,
        best_20s_climb_m_s=best_climb_m_s(heights.traces, climb, BEST_OVER_S),
        entry_altitude_m=entry.value_m,
        exit_altitude_m=leaving.value_m,
        circle_period_s=None,
        drift_m_s=None,
        drift_from_deg=None,
        height_gain_m_se=gain.se_m,
        climb_rate_m_s_se=gain.se_m / climb.duration_s,
    )


def best_climb_m_s(traces: Traces, climb: Segment, over_s: float) -> float | None:
    """Highest mean climb over any `over_s` of a climb; None where it is shorter."""
    inside = traces.window(climb.start_s, climb.end_s - over_s)
    starts = traces.time_s[inside]
    height = traces.channels["height_m"]
    known = np.isfinite(height)
    if starts.size == 0:
        return None
    ends = np.interp(starts + over_s, traces.time_s[known], height[known])
    begins = np.interp(starts, traces.time_s[known], height[known])
    return float((ends - begins).max() / over_s)
