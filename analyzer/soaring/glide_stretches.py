"""The parts of a log's glides that show how the aircraft glides: settled, away from the landing, by flight mode."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise
from typing import TYPE_CHECKING, Final

import numpy as np

from analyzer.conditioning.stretches import changes_of

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import NDArray

    from analyzer.arrays import Array, Indices
    from analyzer.records import Segment, Segmentation


SETTLE_S: Final = 4.0
"""After a motor stop or a thermal, speed and bank change; total energy takes care of the zoom itself."""
APPROACH_BELOW_M: Final = 40.0
"""The last descent below this height is flown for landing: brakes, flaps, low speed."""
SHORTEST_S: Final = 10.0
SINK_CELL_S: Final = 10.0
BRAKED_FACTOR: Final = 1.7
BRAKED_MARGIN_M_S: Final = 0.2
"""Brakes, even half out, at least double the drag; a glide in sinking air or at a higher speed seldom sinks like that
from some moment on until the landing."""
LANDING_WORDS: Final = ("land", "brake", "butterfly", "spoiler", "crow")
"""Flight modes whose names hold one of these are flown with brakes."""


@dataclass(frozen=True, slots=True)
class Stretch:
    """One stretch of settled glide in one flight mode."""

    start_s: float
    end_s: float
    flight_mode: str | None


def glide_stretches(
    time_s: Array, height_m: Array, flight_mode: NDArray[np.object_] | None, segmentation: Segmentation
) -> tuple[Stretch, ...]:
    """Cut the glides into settled stretches of one flight mode each.

    Parameters
    ----------
    time_s, height_m : ndarray, shape (n,)
        The log's time [s] and height above the launch point [m]; known at one sample at least.
    flight_mode : ndarray of str, optional
        Labels, where logged.
    segmentation : Segmentation
        Flights and segments.

    Returns
    -------
    tuple of Stretch
        In order, each at least `SHORTEST_S` long. Of the last glide of each flight, what is low, or sinks as a model
        does with its brakes out, is left out.
    """
    glides = segmentation.of_kind("glide")
    finals = {
        max((glide for glide in glides if glide.start_s < flight.end_s), key=lambda glide: glide.end_s, default=None)
        for flight in segmentation.flights
    }
    usual = _usual_sink_m_s(time_s, height_m, [glide for glide in glides if glide not in finals])
    found = []
    for glide in glides:
        end_s = _before_landing_s(time_s, height_m, glide, usual) if glide in finals else glide.end_s
        inside = np.flatnonzero((time_s >= glide.start_s + SETTLE_S) & (time_s <= end_s))
        found += _by_mode(time_s, inside, flight_mode)
    return tuple(
        stretch for stretch in found if stretch.end_s - stretch.start_s >= SHORTEST_S and not _is_landing(stretch)
    )


def _is_landing(stretch: Stretch) -> bool:
    """Whether the stretch is flown in a mode that is named for landing or braking."""
    return any(word in (stretch.flight_mode or "").lower() for word in LANDING_WORDS)


def _before_landing_s(time_s: Array, height_m: Array, glide: Segment, usual_sink_m_s: float | None) -> float:
    """Where the last glide of a flight turns into its landing: low down, or where the brakes come out."""
    high = time_s[(time_s >= glide.start_s) & (time_s <= glide.end_s) & (height_m > APPROACH_BELOW_M)]
    if high.size == 0:
        return glide.start_s
    end_s = float(high[-1])
    at, sinks = _cells(time_s, height_m, glide.start_s + SETTLE_S, end_s)
    if sinks.size < 4:
        return end_s
    if usual_sink_m_s is not None and np.median(sinks) > (braked := _braked_sink_m_s(usual_sink_m_s)):
        return float(at[np.argmax(sinks > braked)])
    split = _step(sinks)
    return float(at[split]) if sinks[split:].mean() > _braked_sink_m_s(float(sinks[:split].mean())) else end_s


def _braked_sink_m_s(clean_sink_m_s: float) -> float:
    """A sink above this is flown with brakes."""
    return BRAKED_FACTOR * max(clean_sink_m_s, 0.0) + BRAKED_MARGIN_M_S


def _step(values: Array) -> int:
    """Where two levels fit a series best: index of the second level's first value, at least two from either end."""
    splits = range(2, values.size - 1)
    return min(splits, key=lambda at: at * values[:at].var() + (values.size - at) * values[at:].var())


def _usual_sink_m_s(time_s: Array, height_m: Array, glides: Sequence[Segment]) -> float | None:
    sinks = np.concatenate(
        [_cells(time_s, height_m, glide.start_s + SETTLE_S, glide.end_s)[1] for glide in glides] or [np.empty(0)]
    )
    return float(np.median(sinks)) if sinks.size >= 4 else None


def _cells(time_s: Array, height_m: Array, start_s: float, end_s: float) -> tuple[Array, Array]:
    """Start and mean sink of cells of `SINK_CELL_S`."""
    known = np.isfinite(height_m)
    edges = np.arange(start_s, end_s, SINK_CELL_S)
    heights = np.interp(edges, time_s[known], height_m[known])
    return edges[:-1], -np.diff(heights) / SINK_CELL_S


def _by_mode(time_s: Array, inside: Indices, modes: NDArray[np.object_] | None) -> list[Stretch]:
    if inside.size == 0:
        return []
    if modes is None:
        return [Stretch(float(time_s[inside[0]]), float(time_s[inside[-1]]), None)]
    labels = modes[inside]
    return [
        Stretch(float(time_s[inside[first]]), float(time_s[inside[last - 1]]), str(labels[first]))
        for first, last in pairwise(changes_of(labels).tolist())
    ]
