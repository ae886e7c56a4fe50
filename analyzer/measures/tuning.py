"""The tuning values of the measures, each with its reason."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Final

from analyzer.measures.kink import KinkModel


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
    usual_lag_s : float
        Altimeter lag expected before the log speaks, and its spread: published filter settings of barometers give 0.03
        to 0.84 s.
    usual_wash_m : float
        Spread of the propeller's wash on the altitude expected before the log speaks.
    soft_start_s : float
        Readings this long after a motor start are left out of the fit of the stop: the controller may still spool up.
    widest_stop_s : float
        A motor stop between samples further apart than this says nothing about the altimeter.
    drift_m_per_root_s : float
        Random walk of the altimeter's zero: 0.5 m in ten minutes, what a few kelvin do to a compensated barometer.
    kink : KinkModel
        What is tried around motor stops.
    longest_zoom_s : float
        A model that still rises this long after its motor stopped rises in lift, not from speed.
    """

    edge_margin_s: float = 1.0
    idle_guard_s: float = 2.0
    usual_lag_s: float = 0.35
    usual_wash_m: float = 1.5
    soft_start_s: float = 1.5
    widest_stop_s: float = 1.5
    drift_m_per_root_s: float = 0.02
    kink: KinkModel = field(default_factory=KinkModel)
    longest_zoom_s: float = 12.0


TUNING: Final = MeasureTuning()
