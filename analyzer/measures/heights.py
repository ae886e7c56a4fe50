"""Height at the edges of segments."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from analyzer.measures.traces import Traces


@dataclass(frozen=True, slots=True)
class Height:
    """A height above the launch point and its standard error, in metres."""

    value_m: float
    se_m: float

    def minus(self, other: Height) -> Height:
        """Difference of two heights whose errors are independent."""
        return Height(self.value_m - other.value_m, float(np.hypot(self.se_m, other.se_m)))


def height_at(traces: Traces, time_s: float) -> Height:
    """Smoothed height at an instant."""
    height, error = traces.channels["height_m"], traces.channels["height_se_m"]
    known = np.isfinite(height)
    return Height(
        float(np.interp(time_s, traces.time_s[known], height[known])),
        float(np.interp(time_s, traces.time_s[known], error[known])),
    )


def zoom_top_s(traces: Traces, start_s: float, end_s: float) -> float:
    """When the model first stops rising after `start_s`; `end_s` where it rises until then."""
    inside = traces.window(start_s, end_s)
    time, climb = traces.time_s[inside], traces.channels["climb_m_s"][inside]
    sinking = np.flatnonzero(climb <= 0.0)
    return float(time[sinking[0]]) if sinking.size else end_s
