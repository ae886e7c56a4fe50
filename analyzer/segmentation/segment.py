"""The segmentation stage as a whole."""

from __future__ import annotations

import itertools
from typing import TYPE_CHECKING

import numpy as np

from analyzer.records import Flight, Segment, Segmentation, SegmentKind
from analyzer.segmentation.airborne import GRID_S, GroundEvidence, airborne_spans
from analyzer.segmentation.lift import thermal_climbs
from analyzer.segmentation.motor import motor_runs
from analyzer.segmentation.tuning import SEGMENTATION, SegmentationTuning

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from analyzer.records import Log
    from analyzer.setup_file import Setup

    Array = NDArray[np.float64]

Span = tuple[float, float]


def segment(log: Log, setup: Setup | None = None, tuning: SegmentationTuning = SEGMENTATION) -> Segmentation:
    """Cut a conditioned log into flights and segments.

    Parameters
    ----------
    log : Log
        Conditioned.
    setup : Setup, optional
        The airframe flown.
    tuning : SegmentationTuning
        The stage's tuning.
    """
    frame = log.frame
    time_s = frame["time_s"].to_numpy(dtype=float)
    height = np.interp(time_s, *_known(time_s, frame["height_m"].to_numpy(dtype=float)))
    climb = np.interp(time_s, *_known(time_s, frame["climb_m_s"].to_numpy(dtype=float)))
    runs, notices = motor_runs(log, tuning)
    flights = airborne_spans(_evidence(log, time_s, height, climb, runs), runs, tuning)
    energy = frame["energy_height_m"].to_numpy(dtype=float) if "energy_height_m" in frame else height
    climbs: list[Span] = []
    for start, end in _without(flights, runs):
        inside = (time_s >= start) & (time_s <= end)
        if np.count_nonzero(inside) > 5:
            climbs += thermal_climbs(time_s[inside], energy[inside], tuning)
    segments = _cover(time_s, height, flights, runs, climbs)
    blips = tuple(index for index, s in enumerate(segments) if s.kind == "motor_run" and s.duration_s < tuning.blip_s)
    return Segmentation(tuple(Flight(*flight) for flight in flights), segments, blips, tuple(notices))


def _evidence(log: Log, time_s: Array, height: Array, climb: Array, runs: list[Span]) -> GroundEvidence:
    """Vertical motion and speed on the even grid on which ground is told from air."""
    frame = log.frame
    grid = np.arange(time_s[0], time_s[-1] + GRID_S, GRID_S)
    share = np.zeros(len(grid))
    if log.has("airspeed_m_s"):
        speed = np.interp(grid, *_known(time_s, frame["airspeed_m_s"].to_numpy(dtype=float)))
        high = np.interp(grid, time_s, height) > 15.0
        usual = float(np.median(speed[high])) if high.any() else float("inf")
        share = speed / max(usual, 1.0)
    elif log.has("ground_speed_m_s"):
        share = np.interp(grid, *_known(time_s, frame["ground_speed_m_s"].to_numpy(dtype=float))) / 4.0
    motion = [height, frame["height_se_m"].to_numpy(dtype=float), climb, frame["climb_se_m_s"].to_numpy(dtype=float)]
    return GroundEvidence(grid, *(np.interp(grid, *_known(time_s, values)) for values in motion), share)


def _known(time_s: Array, values: Array) -> tuple[Array, Array]:
    there = np.isfinite(values)
    return time_s[there], values[there]


def _without(spans: list[Span], holes: list[Span]) -> list[Span]:
    """What is left of spans when holes are cut out of them."""
    rest = []
    for start, end in spans:
        at = start
        for first, last in holes:
            if last <= at or first >= end:
                continue
            if first > at:
                rest.append((at, first))
            at = max(at, last)
        if at < end:
            rest.append((at, end))
    return rest


def _cover(
    time_s: Array, height: Array, flights: list[Span], runs: list[Span], climbs: list[Span]
) -> tuple[Segment, ...]:
    """Segments from first to last sample, each end the next one's start."""
    last = float(time_s[-1])
    edges = sorted({0.0, last, *(min(max(t, 0.0), last) for span in (*flights, *runs, *climbs) for t in span)})
    segments: list[Segment] = []
    for start, end in itertools.pairwise(edges):
        middle = 0.5 * (start + end)
        kind = _kind(middle, flights, runs, climbs)
        low, high = (float(np.interp(t, time_s, height)) for t in (start, end))
        if segments and segments[-1].kind == kind:
            previous = segments.pop()
            start, low = previous.start_s, previous.start_altitude_m
        segments.append(Segment(kind, start, end, low, high))
    return tuple(segments)


def _kind(moment: float, flights: list[Span], runs: list[Span], climbs: list[Span]) -> SegmentKind:
    def within(spans: list[Span]) -> bool:
        return any(start <= moment < end for start, end in spans)

    if within(runs):
        return "motor_run"
    if within(climbs):
        return "thermal_climb"
    return "glide" if within(flights) else "ground"
