"""The answer in words."""

from __future__ import annotations

from typing import TYPE_CHECKING

from analyzer.wording import counted

if TYPE_CHECKING:
    from collections.abc import Sequence

    from analyzer.comparison.metrics import Metric
    from analyzer.comparison.records import Difference
    from analyzer.comparison.tuning import ComparisonTuning


def verdict_of(differences: Sequence[Difference], metric: Metric, tuning: ComparisonTuning) -> tuple[str, ...]:
    """Put every difference into a sentence, the decided ones first, the surest at the top.

    Parameters
    ----------
    differences : sequence of Difference
        All pairs.
    metric : Metric
        What was compared.
    tuning : ComparisonTuning
        For the worthwhile difference.
    """
    order = sorted(differences, key=lambda pair: (not pair.decided, -(pair.odds or 0.0)))
    return tuple(in_words(pair, metric, tuning.worthwhile_percent) for pair in order)


def in_words(pair: Difference, metric: Metric, worthwhile_percent: float) -> str:
    """One pair in a sentence."""
    if pair.why_not:
        return f"{pair.a} and {pair.b} cannot be compared: {pair.why_not}."
    if pair.decided:
        what = f"{metric.verb} {_size(pair, metric)} {metric.comparative}"
        return f"{pair.a} {what} than {pair.b} ({_odds(pair.odds)})."
    return f"{pair.a} and {pair.b}: no difference shown, {open_question(pair, metric, worthwhile_percent)}."


def open_question(pair: Difference, metric: Metric, worthwhile_percent: float) -> str:
    """What is known of a pair whose difference is not shown, and what would show it."""
    return f"{_size(pair, metric)}; {_outlook(pair, metric, worthwhile_percent)}"


def _size(pair: Difference, metric: Metric) -> str:
    if pair.percent is None or pair.low_percent is None or pair.high_percent is None:
        return f"{pair.difference:.3g} {metric.unit} ({pair.low:.3g} to {pair.high:.3g})"
    return f"{pair.percent:.0f} % ({_whole(pair.low_percent)} to {_whole(pair.high_percent)} %)"


def _whole(percent: float) -> str:
    """A whole number, or one decimal where rounding would touch zero."""
    return f"{percent:.0f}" if abs(percent) >= 0.95 else f"{percent:.1f}"


def _odds(odds: float | None) -> str:
    if odds is None or odds > 1000.0:
        return "odds over 1000 to 1"
    return f"odds {odds:.2g} to 1" if odds < 10.0 else f"odds {odds:.0f} to 1"


def _outlook(pair: Difference, metric: Metric, worthwhile_percent: float) -> str:
    more = pair.more_runs_needed
    if more == 0:
        return f"one of {worthwhile_percent:g} % would most likely have shown"
    if more is None:
        why = f", for they differ too much in {pair.unlike}" if pair.unlike else ""
        return f"no number of {metric.what}s within reach would show {worthwhile_percent:g} %{why}"
    return f"about {counted(more, f'more {metric.what}')} with each would show {worthwhile_percent:g} %"
