"""The table of a study: what was reached, beside the target and the plain threshold analyser."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from accuracy.score import ScoreCard

# (normal, hard)
OVERLAP_AT_LEAST: dict[str, tuple[float, float] | None] = {
    "ground": (0.985, 0.93),
    "motor_run": (0.998, 0.992),
    "glide": None,
    "thermal_climb": (0.985, 0.94),
}
EVENTS_AT_LEAST = {"motor_run": (1.0, 1.0), "glide": (0.98, 0.93), "thermal_climb": (0.97, 0.92)}
COVERAGE = (0.93, 0.97)
COVERED = ("height_gain_m", "climb_per_ah_m", "sink_rate_m_s")
"""Figures whose standard errors must hold; that of charge cannot know the gain of the current sensor."""


@dataclass(frozen=True)
class FigureTarget:
    """What the errors of one figure should stay within; (normal, hard)."""

    relative: bool
    median: tuple[float, float]
    tail: tuple[float, float]


FIGURES_WITHIN = {
    "charge_ah": FigureTarget(True, (0.005, 0.01), (0.02, 0.035)),
    "energy_wh": FigureTarget(True, (0.005, 0.01), (0.02, 0.035)),
    "height_gain_m": FigureTarget(True, (0.01, 0.015), (0.03, 0.04)),
    "climb_per_ah_m": FigureTarget(True, (0.01, 0.015), (0.03, 0.04)),
    "thermal_gain_m": FigureTarget(True, (0.02, 0.02), (0.05, 0.05)),
    "sink_rate_m_s": FigureTarget(False, (0.01, 0.015), (0.05, 0.08)),
}


@dataclass(frozen=True)
class Row:
    """One line: what, the value reached, its limits, the plain analyser's value, counts."""

    what: str
    reached: float
    least: float | None = None
    most: float | None = None
    plain: float | None = None
    note: str = ""

    @property
    def missed(self) -> bool:
        """Whether the target is missed."""
        below = self.least is not None and not self.reached >= self.least
        return below or (self.most is not None and not self.reached <= self.most)

    def line(self) -> str:
        """The row as text."""
        limits = [limit for limit in (self.least, self.most) if limit is not None]
        target = "..".join(f"{limit:.3g}" for limit in limits)
        plain = "" if self.plain is None else f"{self.plain:.3f}"
        mark = "missed" if self.missed else ""
        return f"{self.what:44s}{self.reached:9.4f}{target:>12s}{plain:>8s}  {mark:8s}{self.note}".rstrip()


def report(card: ScoreCard, plain: ScoreCard, difficulty: str) -> list[Row]:
    """All rows of the table; without figures where only segments were scored."""
    column = 1 if difficulty == "hard" else 0
    return [*_segment_rows(card, plain, column), *_figure_rows(card, column)]


def print_report(rows: list[Row]) -> None:
    """Print the table."""
    print(f"{'':44s}{'reached':>9s}{'target':>12s}{'plain':>8s}")
    for row in rows:
        print(row.line())


def _segment_rows(card: ScoreCard, plain: ScoreCard, column: int) -> Iterator[Row]:
    for kind, pair in OVERLAP_AT_LEAST.items():
        least = pair[column] if pair else None
        yield Row(f"{kind}: time overlap F1", card.overlap[kind].f1, least, plain=plain.overlap[kind].f1)
    for kind, targets in EVENTS_AT_LEAST.items():
        mine, other = card.events[kind], plain.events[kind]
        counts = f"{mine.matched} found, {mine.false} false, {mine.missed} missed"
        yield Row(f"{kind}: event precision", mine.precision, targets[column], plain=other.precision, note=counts)
        yield Row(f"{kind}: event recall", mine.recall, targets[column], plain=other.recall)
    yield Row("zooms reported as thermals", card.zooms_as_thermals, most=0, plain=plain.zooms_as_thermals)
    yield Row("logs with the right number of flights", card.flights_right / max(card.logs, 1), least=1.0)


def _figure_rows(card: ScoreCard, column: int) -> Iterator[Row]:
    for name, figures in card.figures.items():
        target = FIGURES_WITHIN.get(name)
        errors = figures.errors(target is None or target.relative)
        if not len(errors):
            continue
        size = np.abs(errors)
        unit = "relative " if target is None or target.relative else ""
        count = f"{len(size)} values" + (f", {figures.absent} not given" if figures.absent else "")
        median, tail = (target.median[column], target.tail[column]) if target else (None, None)
        yield Row(f"{name}: {unit}error, median", float(np.median(size)), most=median, note=count)
        yield Row(f"{name}: {unit}error, 90th percentile", float(np.quantile(size, 0.9)), most=tail)
        yield Row(f"{name}: {unit}error, median with its sign", float(np.median(errors)))
        if np.isfinite(figures.coverage()):
            yield Row(
                f"{name}: truth within 2 standard errors", figures.coverage(), *(COVERAGE if name in COVERED else ())
            )
