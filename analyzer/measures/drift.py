"""How far the altimeter's zero wanders, from the ground levels before and after each flight."""

from __future__ import annotations

from itertools import pairwise
from typing import TYPE_CHECKING

import numpy as np

from analyzer.robust_fit import median_of

if TYPE_CHECKING:
    from analyzer.measures.traces import Traces
    from analyzer.measures.tuning import MeasureTuning
    from analyzer.records import Segmentation


def drift_m_per_root_s(traces: Traces, segmentation: Segmentation, tuning: MeasureTuning) -> float:
    """Intensity of the random walk of the altimeter's zero, in metres per square root of a second.

    From one stay on the ground to the next the level changes by the drift, and by where the model lies or is held: what
    exceeds that is drift. A change that no altimeter drifts by is another place, and tells nothing. A log has one or
    two such pairs; they are weighed against what is usual as `usual_drift_weight` pairs would be (the posterior of a
    variance under its conjugate prior).
    """
    levels = []
    for segment in segmentation.of_kind("ground"):
        known = traces.readings("height_m", segment.start_s, segment.end_s)
        if segment.duration_s >= tuning.shortest_ground_s and known.size:
            levels.append((0.5 * (segment.start_s + segment.end_s), median_of(known)))
    changes = [
        max((after - before) ** 2 - tuning.ground_level_m**2, 0.0) / (later - earlier)
        for (earlier, before), (later, after) in pairwise(levels)
        if abs(after - before) < tuning.other_place_m
    ]
    total = tuning.usual_drift_weight * tuning.usual_drift_m_per_root_s**2 + sum(changes)
    return float(np.sqrt(total / (tuning.usual_drift_weight + len(changes))))
