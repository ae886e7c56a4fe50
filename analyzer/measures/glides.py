"""How it glided."""

from __future__ import annotations

from typing import TYPE_CHECKING

from analyzer.records import Glide

if TYPE_CHECKING:
    from analyzer.measures.heights import Heights
    from analyzer.measures.tuning import MeasureTuning
    from analyzer.records import Segment, Segmentation


def measure_glides(heights: Heights, segmentation: Segmentation, tuning: MeasureTuning) -> tuple[Glide, ...]:
    """Measure every glide of a segmentation, in order."""
    before: list[Segment | None] = [None, *segmentation.segments[:-1]]
    return tuple(
        _glide(heights, segment, previous, tuning)
        for previous, segment in zip(before, segmentation.segments, strict=True)
        if segment.kind == "glide"
    )


def _glide(heights: Heights, glide: Segment, previous: Segment | None, tuning: MeasureTuning) -> Glide:
    settled = glide.start_s
    if previous is not None and previous.kind == "motor_run":
        settled = heights.zoom_top_s(glide.start_s, min(glide.end_s, glide.start_s + tuning.longest_zoom_s))
    loss = heights.at(glide.start_s).minus(heights.at(glide.end_s))
    sunk = heights.at(settled).minus(heights.at(glide.end_s))
    duration = glide.end_s - settled
    return Glide(
        start_s=glide.start_s,
        end_s=glide.end_s,
        height_loss_m=loss.value_m,
        sink_rate_m_s=sunk.value_m / duration if duration > 0 else None,
        sink_rate_se_m_s=sunk.se_m / duration if duration > 0 else None,
        flight_mode=None,
    )
