"""How it glided: what was lost per time, and how the model typically sank."""

from __future__ import annotations

import math
from dataclasses import replace
from itertools import pairwise
from typing import TYPE_CHECKING

import numpy as np

from analyzer.measures.edges import Edge, with_altitudes
from analyzer.measures.zooms import zoom_after
from analyzer.records import Glide
from analyzer.robust_fit import HUBER_THRESHOLD, MAD_TO_SIGMA, median_of

if TYPE_CHECKING:
    from collections.abc import Sequence

    from analyzer.arrays import Array
    from analyzer.measures.heights import Heights
    from analyzer.measures.traces import Traces
    from analyzer.measures.tuning import MeasureTuning
    from analyzer.records import Segment, Segmentation


def measure_glides(
    heights: Heights, segmentation: Segmentation, edges: Sequence[Edge], tuning: MeasureTuning
) -> tuple[Glide, ...]:
    """Measure every glide of a segmentation, in order; the edges are those of `edges_of`, the altitudes those at them.

    The sink rate is the height lost per time, from the top of the zoom (where a motor run went before) to the end. In
    air whose vertical motion is correlated over seconds, height wanders off the steady descent like a random walk; the
    regression that allows for that (generalised least squares; A.C. Aitken, *Proc. R. Soc. Edinburgh* 55 (1935), 42-48)
    rests on the heights at both ends and on nothing between, which a straight line through all samples, blown about by
    every gust, does not. Its standard error is that of the measurement: both heights, the altimeter's drift, and how
    well the ends are known in time; since ends have heavy tails, it is stated as half of what holds the truth in 19 of
    20 cases (`heavy_tails`).

    The typical sink is the robust mean (Huber's) of the sink over cells of `sink_cell_s`, and its error that of cells
    whose neighbours are alike (first-order autoregression): lift and sink of the air are not the model's.
    """
    found = []
    for index, segment in enumerate(segmentation.segments):
        if segment.kind == "glide":
            settled = _settled(heights, segmentation.segments, index, edges, tuning)
            mode = single_mode(heights.traces, segment)
            found.append(_glide(heights, segment, (settled, edges[index + 1]), mode, tuning))
    return tuple(found)


def measure_glide_parts(
    heights: Heights, segmentation: Segmentation, edges: Sequence[Edge], tuning: MeasureTuning
) -> tuple[Glide, ...]:
    """Measure the stretches of one flight mode in glides that were flown in several, each long enough to tell."""
    if "flight_mode" not in heights.traces.labels:
        return ()
    found = []
    for index, segment in enumerate(segmentation.segments):
        if segment.kind == "glide" and single_mode(heights.traces, segment) is None:
            settled = _settled(heights, segmentation.segments, index, edges, tuning)
            for start, end, mode in mode_stretches(heights.traces, settled.at_s, segment.end_s):
                if end - start >= tuning.shortest_part_s:
                    ends = (Edge(start), Edge(end))
                    (part,) = with_altitudes(heights, [replace(segment, start_s=start, end_s=end)], ends)
                    found.append(_glide(heights, part, ends, mode, tuning))
    return tuple(found)


def mode_stretches(traces: Traces, start_s: float, end_s: float) -> list[tuple[float, float, str]]:
    """Start, end and name of the stretches of one flight mode; none where no mode is logged."""
    labels = traces.labels.get("flight_mode")
    inside = traces.window(start_s, end_s)
    if labels is None or inside.stop - inside.start < 2:
        return []
    modes, time = labels[inside], traces.time_s[inside]
    edges = [0, *(np.flatnonzero(modes[1:] != modes[:-1]) + 1).tolist(), modes.size - 1]
    return [
        (float(time[first]), float(time[last]), str(modes[first]))
        for first, last in pairwise(edges)
        if isinstance(modes[first], str)
    ]


def single_mode(traces: Traces, glide: Segment) -> str | None:
    """The flight mode of a glide that was flown in one alone."""
    names = {mode for start, end, mode in mode_stretches(traces, glide.start_s, glide.end_s) if end > start}
    return names.pop() if len(names) == 1 else None


def _settled(
    heights: Heights, segments: Sequence[Segment], index: int, edges: Sequence[Edge], tuning: MeasureTuning
) -> Edge:
    """When a glide is steady: at the top of the zoom where a motor run went before, else from its start."""
    glide = segments[index]
    if index == 0 or segments[index - 1].kind != "motor_run":
        return edges[index]
    top = zoom_after(heights, glide.start_s, min(glide.end_s, glide.start_s + tuning.longest_zoom_s), tuning).top
    return top if top.at_s < glide.end_s else edges[index]


def _glide(
    heights: Heights, glide: Segment, edges: tuple[Edge, Edge], mode: str | None, tuning: MeasureTuning
) -> Glide:
    """Measure a glide, or part of one, whose sink counts between two edges."""
    settled_s, over_s = (edge.at_s for edge in edges)
    if over_s - settled_s <= heights.altimeter.lag_s:  # a moment between motor and lift: no more than what is corrected
        settled_s, over_s = glide.start_s, glide.end_s
    sunk = heights.gain(settled_s, over_s)
    duration = over_s - settled_s
    rate = -(sunk.value_m - edges[1].extreme_m + edges[0].extreme_m) / duration
    errors = [sunk.se_m, *(edge.height_error_m(-rate) for edge in edges)]
    typical, error = typical_sink_m_s(heights.traces, settled_s, over_s, tuning)
    return Glide(
        start_s=glide.start_s,
        end_s=glide.end_s,
        height_loss_m=glide.start_altitude_m - glide.end_altitude_m,
        sink_rate_m_s=rate,
        sink_rate_se_m_s=tuning.heavy_tails * math.hypot(*errors) / duration,
        flight_mode=mode,
        mean_airspeed_m_s=heights.traces.mean("airspeed_m_s", settled_s, over_s),
        typical_sink_m_s=typical,
        typical_sink_se_m_s=error,
    )


def typical_sink_m_s(
    traces: Traces, start_s: float, end_s: float, tuning: MeasureTuning
) -> tuple[float | None, float | None]:
    """Robust mean of the sink over cells, and its standard error; total energy counts where airspeed is logged.

    None, None where fewer than `fewest_cells` cells fit in, or the altimeter was silent all the time.
    """
    count = int((end_s - start_s) / tuning.sink_cell_s)
    if count < tuning.fewest_cells:
        return None, None
    energy = traces.get("energy_height_m")
    height = energy if energy is not None else traces.channels["height_m"]
    inside = traces.window(start_s - 2.0, end_s + 2.0)
    known = np.isfinite(height[inside])
    if not known.any():
        return None, None
    edges = np.linspace(start_s, end_s, count + 1)
    levels = np.interp(edges, traces.time_s[inside][known], height[inside][known])
    return robust_mean(-np.diff(levels) / np.diff(edges))


def robust_mean(values: Array) -> tuple[float, float]:
    """Huber's M-estimate of location of a series whose neighbours are alike, and its standard error.

    Iterated weights with the median absolute deviation for scale. The variance of the mean of a first-order
    autoregression with coefficient r is (1 + r) / (1 - r) times that of independent values, for long series.
    """
    location = median_of(values)
    for _ in range(30):
        scale = MAD_TO_SIGMA * median_of(np.abs(values - location))
        if scale <= 1e-9:
            break
        away = np.abs(values - location) / scale
        weights = np.minimum(1.0, HUBER_THRESHOLD / np.maximum(away, 1e-9))
        previous, location = location, float(weights @ values / weights.sum())
        if abs(location - previous) < 1e-3 * scale:
            break
    rest = values - location
    spread = float(rest @ rest) / max(values.size - 1, 1)
    alike = float(np.clip(rest[1:] @ rest[:-1] / max(float(rest @ rest), 1e-12) + 1.0 / values.size, 0.0, 0.8))
    return location, float(np.sqrt(spread / values.size * (1.0 + alike) / (1.0 - alike)))
