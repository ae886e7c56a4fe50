"""Scores of an analysis against the truth: time overlap, events, figures, standard errors.

Everything here works on plain intervals and numbers, and knows neither the simulator's nor the analyzer's inside:
an interval is anything with `kind`, `start_s`, `end_s`.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from typing import Protocol, TypeVar

import numpy as np
from numpy.typing import NDArray

GRID_S = 0.05
EVENT_IOU = 0.5
SHORTEST_GLIDE_S = 5.0
SHORTEST_RUN_S = 3.0
ZOOM_SHARE = 0.3
KINDS = ("ground", "motor_run", "glide", "thermal_climb")


class Interval(Protocol):
    """Anything with a start and an end."""

    @property
    def start_s(self) -> float: ...
    @property
    def end_s(self) -> float: ...


class KindInterval(Interval, Protocol):
    """An interval of a kind."""

    @property
    def kind(self) -> str: ...


Found = TypeVar("Found", bound=Interval)
True_ = TypeVar("True_", bound=Interval)
Piece = TypeVar("Piece", bound=KindInterval)


@dataclass
class Overlap:
    """Seconds that both call a kind, that only the analysis does, that only the truth does."""

    both_s: float = 0.0
    only_found_s: float = 0.0
    only_true_s: float = 0.0

    @property
    def f1(self) -> float:
        """Harmonic mean of precision and recall over time."""
        whole = 2 * self.both_s + self.only_found_s + self.only_true_s
        return 2 * self.both_s / whole if whole else float("nan")


@dataclass
class Events:
    """Counts of events: matched, missed, false."""

    matched: int = 0
    missed: int = 0
    false: int = 0

    @property
    def precision(self) -> float:
        """Share of what was found that is true."""
        return self.matched / max(self.matched + self.false, 1)

    @property
    def recall(self) -> float:
        """Share of what is true that was found."""
        return self.matched / max(self.matched + self.missed, 1)


@dataclass
class Figures:
    """Measured values beside true ones, and their standard errors where given."""

    measured: list[float] = field(default_factory=list)
    true: list[float] = field(default_factory=list)
    standard_error: list[float] = field(default_factory=list)
    absent: int = 0

    def add(self, measured: float | None, true: float, standard_error: float | None = None) -> None:
        """Note one pair; a value that was not given is counted."""
        if measured is None:
            self.absent += 1
            return
        self.measured.append(measured)
        self.true.append(true)
        self.standard_error.append(float("nan") if standard_error is None else standard_error)

    def errors(self, relative: bool) -> NDArray[np.float64]:
        """Signed errors, relative to the truth or in its unit."""
        measured, true = np.array(self.measured), np.array(self.true)
        return (measured - true) / np.abs(true) if relative else measured - true

    def coverage(self) -> float:
        """Share of cases in which the truth lies within two standard errors."""
        spread = np.array(self.standard_error)
        given = np.isfinite(spread)
        if not given.any():
            return float("nan")
        return float((np.abs(self.errors(relative=False))[given] <= 2 * spread[given]).mean())


@dataclass
class ScoreCard:
    """Scores pooled over many logs."""

    logs: int = 0
    overlap: dict[str, Overlap] = field(default_factory=lambda: {kind: Overlap() for kind in KINDS})
    events: dict[str, Events] = field(default_factory=lambda: {kind: Events() for kind in KINDS})
    figures: dict[str, Figures] = field(default_factory=lambda: defaultdict(Figures))
    zooms_as_thermals: int = 0
    flights_right: int = 0


def intersection_over_union(first: Interval, second: Interval) -> float:
    """Shared time over joint time of two intervals."""
    shared = min(first.end_s, second.end_s) - max(first.start_s, second.start_s)
    if shared <= 0.0:
        return 0.0
    return shared / (max(first.end_s, second.end_s) - min(first.start_s, second.start_s))


def match_events(found: Sequence[Found], true: Sequence[True_], least: float = EVENT_IOU) -> list[tuple[Found, True_]]:
    """Pairs of found and true events, best overlap first, each used once."""
    table = sorted(
        ((intersection_over_union(f, t), i, j) for i, f in enumerate(found) for j, t in enumerate(true)),
        reverse=True,
    )
    used_found: set[int] = set()
    used_true: set[int] = set()
    pairs = []
    for overlap, i, j in table:
        if overlap < least:
            break
        if i not in used_found and j not in used_true:
            used_found.add(i)
            used_true.add(j)
            pairs.append((found[i], true[j]))
    return pairs


def paint(segments: Iterable[KindInterval], kind: str, duration_s: float) -> NDArray[np.bool_]:
    """Time grid that is True where a segment of the kind lies."""
    grid = np.zeros(int(duration_s / GRID_S) + 1, dtype=bool)
    for segment in segments:
        if segment.kind == kind:
            grid[round(segment.start_s / GRID_S) : round(segment.end_s / GRID_S)] = True
    return grid


def of_kind(segments: Iterable[Piece], kind: str, shortest_s: float = 0.0) -> list[Piece]:
    """Segments of one kind that last at least so long."""
    return [s for s in segments if s.kind == kind and s.end_s - s.start_s >= shortest_s]


def score_segments(
    card: ScoreCard,
    found: Sequence[KindInterval],
    true: Sequence[KindInterval],
    duration_s: float,
    zooms: Sequence[tuple[float, float]] = (),
) -> None:
    """Add one log's segments to a score card."""
    card.logs += 1
    for kind in KINDS:
        mine, real = paint(found, kind, duration_s), paint(true, kind, duration_s)
        card.overlap[kind].both_s += float((mine & real).sum() * GRID_S)
        card.overlap[kind].only_found_s += float((mine & ~real).sum() * GRID_S)
        card.overlap[kind].only_true_s += float((real & ~mine).sum() * GRID_S)
    _score_events(card.events["thermal_climb"], found, true, "thermal_climb", 0.0)
    _score_events(card.events["glide"], found, true, "glide", SHORTEST_GLIDE_S)
    _score_runs(card.events["motor_run"], found, true)
    card.zooms_as_thermals += _zooms_as_thermals(found, true, zooms)


def _score_events(
    events: Events, found: Sequence[KindInterval], true: Sequence[KindInterval], kind: str, shortest_s: float
) -> None:
    """Events at `EVENT_IOU`; those shorter than `shortest_s` may match but are neither missed nor false."""
    pairs = match_events(of_kind(found, kind), of_kind(true, kind))
    taken = {id(event) for pair in pairs for event in pair}
    events.matched += len(pairs)
    events.missed += sum(id(event) not in taken for event in of_kind(true, kind, shortest_s))
    events.false += sum(id(event) not in taken for event in of_kind(found, kind, shortest_s))


def _score_runs(events: Events, found: Sequence[KindInterval], true: Sequence[KindInterval]) -> None:
    """Motor runs: those of 3 s or longer must be found; one that touches no true run is false."""
    mine, real = of_kind(found, "motor_run"), of_kind(true, "motor_run")
    taken = {id(event) for pair in match_events(mine, real) for event in pair}
    for event in of_kind(true, "motor_run", SHORTEST_RUN_S):
        if id(event) in taken:
            events.matched += 1
        else:
            events.missed += 1
    events.false += sum(not any(intersection_over_union(event, other) > 0 for other in real) for event in mine)


def _zooms_as_thermals(
    found: Sequence[KindInterval], true: Sequence[KindInterval], zooms: Sequence[tuple[float, float]]
) -> int:
    """False thermal climbs of which a good part is height won from speed."""
    real = of_kind(true, "thermal_climb")
    count = 0
    for event in of_kind(found, "thermal_climb"):
        if any(intersection_over_union(event, other) > 0.1 for other in real):
            continue
        inside = sum(max(0.0, min(event.end_s, b) - max(event.start_s, a)) for a, b in zooms)
        count += inside > ZOOM_SHARE * (event.end_s - event.start_s)
    return count
