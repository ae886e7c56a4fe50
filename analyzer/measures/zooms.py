"""The zoom after a motor run: the height that speed gave, told from what lift gave."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

import numpy as np

from analyzer.constants import STANDARD_GRAVITY_M_S2
from analyzer.measures.edges import Edge, edge_at
from analyzer.measures.integrals import usual_step_s
from analyzer.measures.peaks import steadied

if TYPE_CHECKING:
    from analyzer.arrays import Array
    from analyzer.measures.heights import Heights
    from analyzer.measures.traces import Traces
    from analyzer.measures.tuning import MeasureTuning


AROUND_S: Final = 3.0
"""Readings of airspeed around a zoom show how far apart they are."""

FEWEST_TO_STEADY: Final = 2
"""Where more readings than this fit in before and after the stop, one alone may be noise."""


@dataclass(frozen=True, slots=True)
class Zoom:
    """What a zoom gave, and when it was over.

    Attributes
    ----------
    gain_m, gain_se_m : float
        Height gained from speed.
    top : Edge
        When speed was no longer turned into height.
    """

    gain_m: float
    gain_se_m: float
    top: Edge


def zoom_after(heights: Heights, start_s: float, end_s: float, tuning: MeasureTuning) -> Zoom:
    """The zoom after a motor's stop at `start_s`, which is over at `end_s` at the latest.

    It lasts until the model stops rising, and gives the height gained until then; but in rising air the model rises on
    without any zoom. Where airspeed is logged, speed gives no more height than it loses in speed height, V²/2g, and
    the zoom is over when the speed has fallen. Where it is not, a zoom lasts `usual_zoom_s`; a model that rises for
    longer may have risen in lift for as long before, or zoom on for as long as it rises: the error is that of an even
    distribution, and what the model gained meanwhile is that of the height.
    """
    seen_s, slowed_s = _risen_s(heights, start_s, end_s, tuning)
    lag_s, lag_se_s = heights.altimeter.lag_s, heights.altimeter.lag_se_s
    error_s = math.hypot(0.5 * (seen_s - slowed_s), lag_se_s)
    spent = _spent(heights.traces, start_s, max(seen_s - lag_s, start_s), tuning)
    longest_s = start_s + lag_s + tuning.usual_zoom_s
    if spent is None and seen_s > longest_s:
        error_s = math.hypot(error_s, (seen_s - longest_s) / math.sqrt(3.0))
        seen_s = longest_s
    top = edge_at(heights, seen_s, error_s, max(seen_s - lag_s, start_s))
    rise = heights.gain(start_s, top.at_s)
    rise_se_m = math.hypot(rise.se_m, top.height_error_m(0.0))
    if spent is None or rise.value_m <= spent.height_m:
        return Zoom(rise.value_m, rise_se_m, top)
    if rise.value_m - spent.height_m > 2.0 * math.hypot(rise_se_m, spent.se_m):
        top = edge_at(heights, spent.over_s + lag_s, math.hypot(spent.over_se_s, lag_se_s), spent.over_s)
    return Zoom(spent.height_m, spent.se_m, top)


def _risen_s(heights: Heights, start_s: float, end_s: float, tuning: MeasureTuning) -> tuple[float, float]:
    """When the altimeter shows that the model stops rising, and when the climb first is not sure to be one.

    A model whose motor was to make it fast, and not to lift it, rises a moment after the stop.
    """
    traces = heights.traces
    inside = traces.window(start_s, end_s)
    known = np.isfinite(traces.channels["climb_m_s"][inside])
    time, climb, climb_se = (
        column[inside][known]
        for column in (traces.time_s, traces.channels["climb_m_s"], traces.channels["climb_se_m_s"])
    )
    sure = climb > 2.0 * climb_se
    soon = np.flatnonzero(sure[: time.searchsorted(start_s + tuning.pull_up_s)])
    begin = int(soon[0]) if soon.size and climb[0] <= 0.0 else 0
    sinking, slowed = begin + np.flatnonzero(climb[begin:] <= 0.0), begin + np.flatnonzero(~sure[begin:])
    seen_s = _crossed_s(time, climb, int(sinking[0])) if sinking.size else end_s + heights.altimeter.lag_s
    return seen_s, float(time[slowed[0]]) if slowed.size else seen_s


def _crossed_s(time_s: Array, values: Array, row: int) -> float:
    """When values that first lie below zero in a row crossed it, on the straight line from the row before."""
    if row == 0:
        return float(time_s[0])
    before, after = float(values[row - 1]), float(values[row])
    return float(time_s[row - 1]) + float(time_s[row] - time_s[row - 1]) * before / (before - after)


@dataclass(frozen=True, slots=True)
class _Spent:
    """Speed height that a model lost after a motor's stop, and when it had lost it."""

    height_m: float
    se_m: float
    over_s: float
    over_se_s: float


def _spent(traces: Traces, start_s: float, end_s: float, tuning: MeasureTuning) -> _Spent | None:
    """Loss of speed height between two instants, V²/2g; None where readings of airspeed are missing, or too far apart.

    The airspeed at the stop is the highest around it: in a steep climb a model slows down by g, within a second.
    """
    speed = traces.get("airspeed_m_s")
    if speed is None:
        return None
    inside = traces.window(start_s - AROUND_S, end_s + AROUND_S)
    known = np.isfinite(speed[inside])
    time, speed = traces.time_s[inside][known], speed[inside][known]
    step_s, near_s = usual_step_s(time), tuning.around_stop_s
    if not 0.0 < step_s <= near_s:
        return None
    steady = steadied(speed) if FEWEST_TO_STEADY * step_s < near_s else speed
    before, after = time.searchsorted((start_s - near_s, start_s + near_s))
    stopped, over = time.searchsorted((start_s, end_s + step_s))
    if before == after or stopped == over:
        return None
    fast, slow = float(steady[before:after].max()), float(steady[stopped:over].min())
    height = max(fast**2 - slow**2, 0.0) / (2.0 * STANDARD_GRAVITY_M_S2)
    error = math.hypot(fast, slow) * tuning.airspeed_error_m_s / STANDARD_GRAVITY_M_S2
    slowed_s = time[stopped:over][steady[stopped:over] <= slow + tuning.airspeed_error_m_s][0]
    least_s = time[stopped + np.argmin(steady[stopped:over])]
    return _Spent(height, error, float(slowed_s), 0.5 * float(least_s - slowed_s))
