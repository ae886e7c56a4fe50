"""Corrections by hand: a pilot who was there may move an edge or rename a segment.

Pure functions: each returns a new segmentation that still covers the log, in order, without overlap.
"""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING, Final

import numpy as np

from analyzer.errors import OptionError
from analyzer.records import SEGMENT_KINDS, Segment, Segmentation

if TYPE_CHECKING:
    from analyzer.records import Flight, Log, SegmentKind

SHORTEST_SEGMENT_S: Final = 0.2
"""An edge stops this far before the next one, so that no segment vanishes by a slip of the hand."""


def move_edge(segmentation: Segmentation, index: int, time_s: float, log: Log) -> Segmentation:
    """Move the edge between segment `index` and the next one.

    Parameters
    ----------
    segmentation : Segmentation
        The segments so far.
    index : int
        The segment that ends at the edge; not the last one.
    time_s : float
        Where the edge goes, seconds from the log's first sample; held between the edges on both sides.
    log : Log
        The conditioned log, for the altitude at the new edge.

    Returns
    -------
    Segmentation
        With the edge, and a flight's start or end that stood on it, moved.

    Raises
    ------
    OptionError
        When there is no such edge or the time is no number.
    """
    segments = segmentation.segments
    if not 0 <= index < len(segments) - 1 or not np.isfinite(time_s):
        raise OptionError(f"no edge {index} to move to {time_s}", remedy="choose one between two segments")
    before, after = segments[index], segments[index + 1]
    edge_s = float(np.clip(time_s, before.start_s + SHORTEST_SEGMENT_S, after.end_s - SHORTEST_SEGMENT_S))
    altitude_m = _height_at(log, edge_s)
    moved = (
        *segments[:index],
        replace(before, end_s=edge_s, end_altitude_m=altitude_m),
        replace(after, start_s=edge_s, start_altitude_m=altitude_m),
        *segments[index + 2 :],
    )
    flights = tuple(_moved_flight(flight, before.end_s, edge_s) for flight in segmentation.flights)
    return replace(segmentation, segments=moved, flights=flights)


def rename_segment(segmentation: Segmentation, index: int, kind: SegmentKind) -> Segmentation:
    """Give segment `index` another kind; neighbours that then are of one kind become one segment.

    Raises
    ------
    OptionError
        When there is no such segment or kind.
    """
    if not 0 <= index < len(segmentation.segments) or kind not in SEGMENT_KINDS:
        raise OptionError(f"no segment {index} to call {kind!r}", remedy=f"the kinds are {', '.join(SEGMENT_KINDS)}")
    marked = {segmentation.segments[blip].start_s for blip in segmentation.blips if blip != index}
    merged: list[Segment] = []
    for number, segment in enumerate(segmentation.segments):
        renamed = replace(segment, kind=kind) if number == index else segment
        if merged and merged[-1].kind == renamed.kind and index in (number, number - 1):
            renamed = replace(merged.pop(), end_s=renamed.end_s, end_altitude_m=renamed.end_altitude_m)
        merged.append(renamed)
    blips = tuple(
        number for number, segment in enumerate(merged) if segment.kind == "motor_run" and segment.start_s in marked
    )
    return replace(segmentation, segments=tuple(merged), blips=blips)


def _moved_flight(flight: Flight, old_s: float, new_s: float) -> Flight:
    start_s = new_s if flight.start_s == old_s else flight.start_s
    end_s = new_s if flight.end_s == old_s else flight.end_s
    return replace(flight, start_s=start_s, end_s=end_s)


def _height_at(log: Log, time_s: float) -> float:
    known = log.frame["height_m"].notna().to_numpy()
    return float(np.interp(time_s, log.frame["time_s"].to_numpy()[known], log.frame["height_m"].to_numpy()[known]))
