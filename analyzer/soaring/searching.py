"""Between the climbs: how long each search took, where the air rose or sank, and lift that was passed by."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

import numpy as np

from analyzer.circling.banked_turn import load_factor, sink_in_turn
from analyzer.soaring.records import PassedLift, Search

if TYPE_CHECKING:
    from collections.abc import Sequence

    from analyzer.arrays import Array, Indices
    from analyzer.circling.position import Track
    from analyzer.records import Flight, Segment, Segmentation
    from analyzer.soaring.air_motion import AirMotion
    from analyzer.soaring.glide_stretches import Stretch
    from analyzer.soaring.own_sink import OwnSink
    from analyzer.soaring.records import Outcome


CELL_S: Final = 5.0
"""Length of the cells in which the air is looked at: 50 m of flight, two to four circle radii of a model."""
MOVING_M_S: Final = 0.2
"""Air that rises or sinks by less counts as still: about what a glide's sink itself is known to."""
CIRCLE_BANK_DEG: Final = 35.0
"""Bank at which passed lift would have been circled (common practice)."""
LIKELY_ENOUGH: Final = 0.2
"""Passed lift below this probability is not worth a pilot's reading."""
FEWEST_CELLS: Final = 12
CIRCLE_CELLS: Final = 2
"""Cells that a model flies through in the time of one circle."""
LEAST_LASTING_SHARE: Final = 0.05
"""Of the air's variance: some of it always lasts, and some never does."""


@dataclass(frozen=True)
class AirCells:
    """Vertical speed of the air along the glides, in cells.

    Attributes
    ----------
    start_s, end_s : ndarray, shape (n,)
        Bounds of each cell.
    air_m_s : ndarray, shape (n,)
        Mean vertical speed of the air, positive up.
    stretch : ndarray of int, shape (n,)
        Which stretch of glide the cell belongs to.
    """

    start_s: Array
    end_s: Array
    air_m_s: Array
    stretch: Indices


NO_CELLS: Final = AirCells(np.empty(0), np.empty(0), np.empty(0), np.empty(0, dtype=np.intp))


def air_cells(
    motion: AirMotion, own_sink: OwnSink, stretches: Sequence[Stretch], left_out: Sequence[tuple[float, float]] = ()
) -> AirCells:
    """Vertical speed of the air in cells of `CELL_S` along stretches of glide.

    Parameters
    ----------
    motion : AirMotion
        Motion through the air.
    own_sink : OwnSink
        The aircraft's own sink.
    stretches : sequence of Stretch
        Settled glides.
    left_out : sequence of (float, float)
        Times that say nothing of the air: zooms where the airspeed is not known.
    """
    air = motion.energy_climb_m_s + own_sink.at(motion.airspeed_m_s, motion.load_factor)
    rows = []
    for number, stretch in enumerate(stretches):
        for start in np.arange(stretch.start_s, stretch.end_s - CELL_S + 1e-9, CELL_S):
            end = start + CELL_S
            inside = air[slice(*np.searchsorted(motion.time_s, [start, end]))]
            known = inside[np.isfinite(inside)]
            if known.size < 2 or any(start < last and end > first for first, last in left_out):
                continue
            rows.append((start, end, float(known.mean()), number))
    table = np.array(rows, dtype=float).reshape(-1, 4)
    return AirCells(table[:, 0], table[:, 1], table[:, 2], table[:, 3].astype(np.intp))


def searches(segmentation: Segmentation, cells: AirCells) -> tuple[Search, ...]:
    """Every search: from the end of a climb or motor run, through the glides, to what ended it."""
    found = []
    for flight in segmentation.flights:
        inside = [part for part in segmentation.segments if part.start_s < flight.end_s and part.end_s > flight.start_s]
        run: list[Segment] = []
        for part in inside:
            if part.kind == "glide":
                run.append(part)
            elif run:
                found.append(_search(run, _outcome(part, flight), cells))
                run = []
        if run:
            last = run[-1].end_s >= segmentation.segments[-1].end_s
            found.append(_search(run, "end_of_log" if last else "landing", cells))
    return tuple(found)


def _outcome(part: Segment, flight: Flight) -> Outcome:
    if part.kind == "ground" or part.start_s >= flight.end_s:
        return "landing"
    return "motor_run" if part.kind == "motor_run" else "thermal_climb"


def _search(run: Sequence[Segment], outcome: Outcome, cells: AirCells) -> Search:
    start_s, end_s = run[0].start_s, run[-1].end_s
    air = cells.air_m_s[(cells.start_s >= start_s) & (cells.end_s <= end_s)]
    return Search(
        start_s=start_s,
        end_s=end_s,
        outcome=outcome,
        height_change_m=run[-1].end_altitude_m - run[0].start_altitude_m,
        mean_air_m_s=float(air.mean()) if air.size else None,
        rising_share=float(np.mean(air > MOVING_M_S)) if air.size else None,
        sinking_share=float(np.mean(air < -MOVING_M_S)) if air.size else None,
    )


def lift_passed(
    cells: AirCells, own_sink: OwnSink, time_s: Array, height_m: Array, track: Track | None = None
) -> tuple[PassedLift, ...]:
    """Rising air that was flown through, with the probability that circling there would have climbed.

    Parameters
    ----------
    cells : AirCells
        Air along the glides.
    own_sink : OwnSink
        The aircraft's own sink.
    time_s, height_m : ndarray, shape (n,)
        Height above the launch point.
    track : Track, optional
        For the place.

    Notes
    -----
    A stretch of rising cells is judged against all cells of the log (an empirical Bayes estimate). The cells' air is
    ``mean + lasting part + gust``: the lasting variance is what cells up to a circle apart share on the mean, the
    gusts' the rest. The lasting part of a stretch of n cells is then normal with precision ``1/lasting + n/gust``, and
    the probability is that of its exceeding the own sink in a circle at `CIRCLE_BANK_DEG`. Fewer than `FEWEST_CELLS`
    cells give no estimate of the variances, and no answer.
    """
    if cells.air_m_s.size < FEWEST_CELLS:
        return ()
    lasting, gust = _variances(cells)
    mean = float(np.median(cells.air_m_s))
    needed = float(sink_in_turn(own_sink.straight_sink_m_s, load_factor(CIRCLE_BANK_DEG)))
    found = []
    for rows in _rising_stretches(cells, mean):
        precision = 1.0 / lasting + rows.size / gust
        expected = (mean / lasting + float(cells.air_m_s[rows].sum()) / gust) / precision
        probability = 0.5 * math.erfc((needed - expected) * math.sqrt(precision / 2.0))
        if probability >= LIKELY_ENOUGH:
            found.append(_passed(cells, rows, probability, time_s, height_m, track))
    return tuple(found)


def _variances(cells: AirCells) -> tuple[float, float]:
    """Variance of the air that cells up to a circle apart share, and of the rest; neither quite zero."""
    centred = cells.air_m_s - np.median(cells.air_m_s)
    total = max(float(np.mean(centred**2)), 1e-4)
    shared = float(np.mean([_covariance(cells, centred, lag) for lag in range(1, CIRCLE_CELLS + 1)]))
    lasting = min(max(shared, LEAST_LASTING_SHARE * total), (1.0 - LEAST_LASTING_SHARE) * total)
    return lasting, total - lasting


def _covariance(cells: AirCells, centred: Array, lag: int) -> float:
    """Mean product of cells so many cells apart in one glide; 0 without such pairs."""
    apart_s = cells.start_s[lag:] - cells.start_s[:-lag]
    together = (cells.stretch[lag:] == cells.stretch[:-lag]) & (apart_s < (lag + 0.5) * CELL_S)
    return float(np.mean((centred[lag:] * centred[:-lag])[together])) if together.any() else 0.0


def _rising_stretches(cells: AirCells, mean: float) -> list[Indices]:
    """Indices of neighbouring cells whose air rises more than usual."""
    rising = np.flatnonzero(cells.air_m_s > max(mean, 0.0) + MOVING_M_S)
    if rising.size == 0:
        return []
    apart = (np.diff(rising) > 1) | (np.diff(cells.start_s[rising]) > 1.5 * CELL_S)
    return np.split(rising, np.flatnonzero(apart) + 1)


def _passed(
    cells: AirCells,
    rows: Indices,
    probability: float,
    time_s: Array,
    height_m: Array,
    track: Track | None,
) -> PassedLift:
    start_s, end_s = float(cells.start_s[rows[0]]), float(cells.end_s[rows[-1]])
    inside = (time_s >= start_s) & (time_s <= end_s)
    place = (None, None) if track is None else _place(track, start_s, end_s)
    return PassedLift(
        start_s=start_s,
        end_s=end_s,
        altitude_m=float(np.nanmean(height_m[inside])),
        air_m_s=float(cells.air_m_s[rows].mean()),
        probability=probability,
        latitude_deg=place[0],
        longitude_deg=place[1],
    )


def _place(track: Track, start_s: float, end_s: float) -> tuple[float | None, float | None]:
    _, east, north = track.fixes(start_s, end_s)
    return track.to_degrees(float(east.mean()), float(north.mean())) if east.size else (None, None)
