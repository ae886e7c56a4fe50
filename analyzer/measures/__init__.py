"""What the segments cost and gave: a conditioned log and its segmentation in, a `FlightSummary` out.

`measure` (in `summary`) calls one module for each kind of result, and these rest on heights and on what was drawn::

    results   motor_runs (with zooms), glides, thermal_climbs, totals, pack, limits
    heights   edge_heights: the height at each start and stop of the motor
                <- altimeter, kink: its lag and the slipstream's wash, from the motor stops
                <- climb_onset, slipstream, readings, drift: what else moves it, and how far
              heights: the height at any other instant; edges: when the edges of segments were
              satellites: heights that no barometer tells
    drawn     draw: charge and energy above idle <- integrals, idle
    log       traces: its channels as arrays; peaks: their extremes
    told      notices: what was found out about the log; missing: what could not be measured, for want of what
"""

from __future__ import annotations

from analyzer.measures.summary import measure
from analyzer.measures.tuning import TUNING, MeasureTuning

__all__ = ["TUNING", "MeasureTuning", "measure"]
