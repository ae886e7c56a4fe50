"""The tuning values of the measures, each with its reason."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final


@dataclass(frozen=True, slots=True)
class MeasureTuning:
    """Values that no log tells; pass a changed copy to `analyzer.measures.measure` to try others.

    Attributes
    ----------
    edge_margin_s : float
        A run's charge is integrated this far beyond its edges, above the idle current, so that neither the moment at
        which a sample fell nor a slow sensor costs charge: longer than the lag of common current sensors.
    idle_guard_s : float
        Idle current is read this far away from any motor run: the controller's soft start, and sensor lag.
    longest_zoom_s : float
        A model that still rises this long after its motor stopped rises in lift, not from speed.
    """

    edge_margin_s: float = 1.0
    idle_guard_s: float = 2.0
    longest_zoom_s: float = 12.0


TUNING: Final = MeasureTuning()
