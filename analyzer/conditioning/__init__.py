"""Conditioning: one timeline, mended channels, smoothed vertical motion.

`condition` returns a log whose frame has one row per instant, on the log's own stamps. Each channel keeps its true
readings (a value that is only held or repeated is none); impossible values, single-sample spikes and repeats of a
frozen sensor, of one not ready yet, or of all while the link was lost, are set aside and counted in notices. Between
readings, continuous channels are interpolated over short silences and labels held; longer silences are NaN. Where an
altimeter begins to count anew in flight, its heights are joined on. `altitude_m` counts from where the log begins,
despiked but not smoothed.
Derived columns:

``altitude_reading_m``
    `altitude_m` at the altimeter's own readings alone, NaN at every row between them.
``current_reading_a``, ``power_reading_w``, ``rpm_reading``, ``throttle_reading``
    The channel, where logged, at its sensor's own readings alone, NaN at every row between them.
``height_m``, ``height_se_m``
    Smoothed height above the launch point and its standard error (Kalman smoother; see `vertical_motion`). The error is
    that of the readings' noise: the altimeter's lag, drift and the propeller's wash are not in it. Silences of the
    altimeter are bridged up to ten seconds, with an error that says how well.
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
