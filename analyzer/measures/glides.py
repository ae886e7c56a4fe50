"""How it glided."""

from __future__ import annotations

from typing import TYPE_CHECKING

from analyzer.measures.heights import height_at, zoom_top_s
from analyzer.records import Glide

if TYPE_CHECKING:
    from analyzer.measures.traces import Traces
    from analyzer.measures.tuning import MeasureTuning
    from analyzer.records import Segment, Segmentation


def measure_glides(traces: Traces, segmentation: Segmentation, tuning: MeasureTuning) -> tuple[Glide, ...]:
    """Measure every glide of a segmentation, in order."""
    before: list[Segment | None] = [None, *segmentation.segments[:-1]]
    return tuple(
        _glide(traces, segment, previous, tuning)
        for previous, segment in zip(before, segmentation.segments, strict=True)
        if segment.kind == "glide"
    )


def _glide(traces: Traces, glide: Segment, previous: Segment | None, tuning: MeasureTuning) -> Glide:
    settled = glide.start_s
    if previous is not None and previous.kind == "motor_run":
        settled = zoom_top_s(traces, glide.start_s, min(glide.end_s, glide.start_s + tuning.longest_zoom_s))
    loss = height_at(traces, glide.start_s).minus(height_at(traces, glide.end_s))
    sunk = height_at(traces, settled).minus(height_at(traces, glide.end_s))
    duration = glide.end_s - settled
    return Glide(
        start_s=glide.start_s,
        end_s=glide.end_s,
        height_loss_m=loss.value_m,
        sink_rate_m_s=sunk.value_m / duration if duration > 0 else None,
        sink_rate_se_m_s=sunk.se_m / duration if duration > 0 else None,
        flight_mode=None,
    )
