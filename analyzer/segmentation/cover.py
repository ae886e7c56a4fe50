"""From spans of time to segments that cover a log."""

from __future__ import annotations

from bisect import bisect_left, bisect_right
from itertools import pairwise
from typing import TYPE_CHECKING

from analyzer.records import Segment, SegmentKind

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

    from analyzer.segmentation.spans import Span


def without(spans: Sequence[Span], holes: Sequence[Span]) -> list[Span]:
    """What is left of spans when holes (in order) are cut out of them."""
    rest: list[Span] = []
    for start, end in spans:
        at = start
        behind, ahead = (
            bisect_right(holes, start, key=lambda hole: hole[1]),
            bisect_left(holes, end, key=lambda hole: hole[0]),
        )
        for first, last in holes[behind:ahead]:
            if first > at:
                rest.append((at, first))
            at = max(at, last)
        if at < end:
            rest.append((at, end))
    return rest


def covering_segments(
    last_s: float,
    height_at: Callable[[float], float],
    flights: Sequence[Span],
    runs: Sequence[Span],
    climbs: Sequence[Span],
) -> tuple[Segment, ...]:
    """Segments from 0 to the last sample, each end the next one's start.

    A motor run is one wherever it happens; a thermal climb is one outside of motor runs; the rest is glide in a flight
    and ground outside. Spans of one kind are in order and do not overlap.
    """
    edges = sorted({0.0, last_s, *(min(max(t, 0.0), last_s) for span in (*flights, *runs, *climbs) for t in span)})
    segments: list[Segment] = []
    for start, end in pairwise(edges):
        kind = _kind(0.5 * (start + end), flights, runs, climbs)
        if segments and segments[-1].kind == kind:
            start = segments.pop().start_s
        segments.append(Segment(kind, start, end, height_at(start), height_at(end)))
    return tuple(segments)


def _kind(moment: float, flights: Sequence[Span], runs: Sequence[Span], climbs: Sequence[Span]) -> SegmentKind:
    def within(spans: Sequence[Span]) -> bool:
        begun = bisect_right(spans, moment, key=lambda span: span[0])
        return begun > 0 and moment < spans[begun - 1][1]

    if within(runs):
        return "motor_run"
    if within(climbs):
        return "thermal_climb"
    return "glide" if within(flights) else "ground"
