"""The table of a study: what was reached, beside the target and the plain threshold analyser."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from accuracy.score import Figures, ScoreCard

OVERLAP_TARGETS = {
    "ground": (0.985, 0.93),
    "motor_run": (0.998, 0.992),
    "glide": (None, None),
    "thermal_climb": (0.985, 0.94),
}
EVENT_TARGETS = {"motor_run": (1.0, 1.0), "glide": (0.98, 0.93), "thermal_climb": (0.97, 0.92)}
# figure: relative, (median normal, hard), (90th percentile normal, hard)
FIGURE_TARGETS: dict[str, tuple[bool, tuple[float, float], tuple[float, float]]] = {
    "charge_ah": (True, (0.005, 0.01), (0.02, 0.035)),
    "energy_wh": (True, (0.005, 0.01), (0.02, 0.035)),
    "height_gain_m": (True, (0.01, 0.015), (0.03, 0.04)),
    "climb_per_ah_m": (True, (0.01, 0.015), (0.03, 0.04)),
    "thermal_gain_m": (True, (0.02, 0.02), (0.05, 0.05)),
    "sink_rate_m_s": (False, (0.01, 0.015), (0.05, 0.08)),
}

Row = tuple[str, float, float | None, float | None, bool]
"""What, reached, target, plain analyser, whether more is better."""


def print_report(card: ScoreCard, plain: ScoreCard, difficulty: str) -> None:
    """Print the whole table."""
    column = 1 if difficulty == "hard" else 0
    print(f"{card.logs} logs analysed, number of flights right in {card.flights_right}")
    print(f"{'':44s}{'reached':>9s}{'target':>9s}{'plain':>9s}")
    for row in (*_segment_rows(card, plain, column), *_figure_rows(card, column)):
        print(_line(row))


def _line(row: Row) -> str:
    what, reached, target, plain, more = row
    missed = target is not None and (reached < target if more else reached > target)
    cells = "".join(f"{value:9.4f}" if value is not None else f"{'':9s}" for value in (reached, target, plain))
    return f"{what:44s}{cells}{'  <' if missed else ''}"


def _segment_rows(card: ScoreCard, plain: ScoreCard, column: int) -> Iterator[Row]:
    for kind, targets in OVERLAP_TARGETS.items():
        yield f"{kind}: time overlap F1", card.overlap[kind].f1, targets[column], plain.overlap[kind].f1, True
    for kind, pair in EVENT_TARGETS.items():
        mine, other = card.events[kind], plain.events[kind]
        counts = f"({mine.matched} found, {mine.false} false, {mine.missed} missed)"
        yield f"{kind}: precision {counts}"[:44], mine.precision, pair[column], other.precision, True
        yield f"{kind}: recall", mine.recall, pair[column], other.recall, True
    yield "zooms reported as thermals", card.zooms_as_thermals, 0, plain.zooms_as_thermals, False


def _figure_rows(card: ScoreCard, column: int) -> Iterator[Row]:
    for name, (relative, median, tail) in FIGURE_TARGETS.items():
        figures = card.figures.get(name, Figures())
        if not figures.measured:
            continue
        errors = figures.errors(relative)
        size = np.abs(errors)
        what = f"{name} {'relative' if relative else ''} error"
        yield (
            f"{what}, median ({len(size)}, absent {figures.absent})",
            float(np.median(size)),
            median[column],
            None,
            False,
        )
        yield f"{what}, 90th percentile", float(np.quantile(size, 0.9)), tail[column], None, False
        yield f"{what}, median signed", float(np.median(errors)), None, None, False
        if np.isfinite(figures.coverage()):
            yield f"{name} within 2 standard errors (0.93..0.97)", figures.coverage(), None, None, True
