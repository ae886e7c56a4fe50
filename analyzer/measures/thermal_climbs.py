"""What each thermal climb gave, how it was circled, and how it drifted."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, Final

import numpy as np

from analyzer.circling import ClimbCircles, circles_of_climb, track_of
from analyzer.records import ThermalClimb

if TYPE_CHECKING:
    from collections.abc import Sequence

    from analyzer.measures.edges import Edge
    from analyzer.measures.heights import Heights
    from analyzer.measures.traces import Traces
    from analyzer.measures.tuning import MeasureTuning
    from analyzer.records import Segment, Segmentation

BEST_OVER_S: Final = 20.0
"""By the name of the field: the best climb over 20 s, some two circles."""

ROUNDING_S: Final = 1e-6
"""Of stamps: a climb from 0.2 to 20.2 s lasts 20 s, though not in binary digits."""

CIRCLE_STEP_S: Final = 0.25
"""Samples closer than this add nothing to circles that take four seconds or more."""

_CIRCLE_CHANNELS: Final = ("airspeed_m_s", "ground_speed_m_s", "heading_deg", "climb_m_s")


def measure_thermal_climbs(
    heights: Heights, segmentation: Segmentation, edges: Sequence[Edge], tuning: MeasureTuning
) -> tuple[ThermalClimb, ...]:
    """Measure every thermal climb of a segmentation, in order; edges are those of `edges_of`, altitudes those at them.

    The errors of gain and rate are those of the heights and of the ends in time, with the tails that ends have
    (`heavy_tails`). An end that is off changes the gain by the height won meanwhile, and the rate by what that differs
    from the rate: where the height turns, the gain is the surer of the two.
    """
    return tuple(
        _climb(heights, segment, edges[index : index + 2], tuning)
        for index, segment in enumerate(segmentation.segments)
        if segment.kind == "thermal_climb"
    )


def _climb(heights: Heights, climb: Segment, edges: Sequence[Edge], tuning: MeasureTuning) -> ThermalClimb:
    start, end = edges
    gain = heights.gain(start.at_s, end.at_s)
    height_gain_m = climb.end_altitude_m - climb.start_altitude_m
    rate_m_s = height_gain_m / climb.duration_s
    gain_se_m, over_rate_se_m = (
        tuning.heavy_tails * math.hypot(gain.se_m, *(edge.height_error_m(rate) for edge in edges))
        for rate in (0.0, rate_m_s)
    )
    circles = circles_of(heights.traces, climb)
    return ThermalClimb(
        start_s=climb.start_s,
        end_s=climb.end_s,
        height_gain_m=height_gain_m,
        climb_rate_m_s=rate_m_s,
        best_20s_climb_m_s=best_climb_m_s(heights.traces, climb, BEST_OVER_S),
        entry_altitude_m=climb.start_altitude_m,
        exit_altitude_m=climb.end_altitude_m,
        circle_period_s=circles.turning.period_s if circles.turning is not None else None,
        drift_m_s=circles.circle.drift_m_s if circles.circle is not None else None,
        drift_from_deg=circles.circle.drift_from_deg if circles.circle is not None else None,
        height_gain_m_se=gain_se_m,
        climb_rate_m_s_se=over_rate_se_m / climb.duration_s,
    )


def best_climb_m_s(traces: Traces, climb: Segment, over_s: float) -> float | None:
    """Highest mean climb over any `over_s` within a climb, from the smoothed height; None where it is shorter."""
    inside = traces.window(climb.start_s, climb.end_s)
    time, height = traces.time_s[inside], traces.channels["height_m"][inside]
    known = np.isfinite(height)
    time, height = time[known], height[known]
    starts = time[time <= time[-1] - over_s + ROUNDING_S] if time.size else time
    if starts.size == 0:
        return None
    gained = np.interp(starts + over_s, time, height) - height[: starts.size]
    return float(gained.max() / over_s)


def circles_of(traces: Traces, climb: Segment) -> ClimbCircles:
    """Circles of one climb, from the best that the log has: position, heading, or the beat of the climb itself."""
    whole = traces.window(climb.start_s, climb.end_s)
    every = max(1, int(CIRCLE_STEP_S * (whole.stop - whole.start) / max(climb.duration_s, CIRCLE_STEP_S)))
    inside = slice(whole.start, whole.stop, every)
    time = traces.time_s[inside]
    channels = {name: values[inside] for name in _CIRCLE_CHANNELS if (values := traces.get(name)) is not None}
    latitude, longitude = traces.get("latitude_deg"), traces.get("longitude_deg")
    track = None
    if latitude is not None and longitude is not None:
        flying = np.ones(time.size, dtype=bool)
        track, _ = track_of(time, latitude[inside], longitude[inside], flying)
    return circles_of_climb(time, channels, climb.start_s, climb.end_s, track, with_wind=False)
