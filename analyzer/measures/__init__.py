"""What the segments cost and gave: a conditioned log and its segmentation in, a `FlightSummary` out."""

from __future__ import annotations

from analyzer.measures.summary import measure
from analyzer.measures.tuning import TUNING, MeasureTuning

__all__ = ["TUNING", "MeasureTuning", "measure"]
