"""Conditioning: one timeline, mended channels, smoothed vertical motion.

`condition` returns a log whose frame has one row per instant, on the log's own stamps. Continuous channels are
interpolated over short silences, labels held, longer silences NaN. `altitude_m` counts from the launch point,
despiked but not smoothed. Derived columns:

``altitude_reading_m``
    `altitude_m` at the altimeter's own readings alone, NaN at every row between them.
``height_m``, ``height_se_m``
    Smoothed height above the launch point and its standard error (Kalman smoother; see `vertical_motion`).
``climb_m_s``, ``climb_se_m_s``
    Smoothed vertical speed and its standard error.
``energy_height_m``, ``energy_climb_m_s``, ``energy_climb_se_m_s``
    Total energy height, height + V²/2g, smoothed in the same way, its rate and the rate's standard error; only where
    airspeed is logged.
``power_w``
    Electrical power: as logged, else voltage times current.
"""

from __future__ import annotations

from analyzer.conditioning.condition import condition
from analyzer.conditioning.tuning import CONDITIONING, ConditioningTuning

__all__ = ["CONDITIONING", "ConditioningTuning", "condition"]
