"""A comparison as tables: groups, differences, what was set aside."""

from __future__ import annotations

from typing import TYPE_CHECKING

from analyzer.comparison.metrics import METRICS
from analyzer.display import ABSENT, Scale, System, clock, scale_of, sentence
from analyzer.export.table import Column, Table

if TYPE_CHECKING:
    from analyzer.comparison.records import Comparison, Difference

_MOST_SET_ASIDE = 30
"""Rows of the set-aside table; a logbook of thousands has more, and the JSON has them all."""


def groups_table(comparison: Comparison, system: System = "metric") -> Table:
    """Runs, flights, mean and interval of each group, highest mean first."""
    metric, groups = METRICS[comparison.metric], comparison.groups
    scale = scale_of(comparison.metric, system)
    what = f"{metric.what}s"
    return Table(
        f"{metric.label} by {comparison.by}",
        (
            Column(comparison.by, tuple(group.name for group in groups), is_number=False),
            Column(what, tuple(str(group.runs) for group in groups)),
            Column("flights", tuple(str(group.flights) for group in groups)),
            Column("mean", tuple(scale.text(group.mean) for group in groups), scale.symbol),
            Column("from", tuple(scale.text(group.low) for group in groups), scale.symbol),
            Column("to", tuple(scale.text(group.high) for group in groups), scale.symbol),
        ),
        note=_conditions(comparison),
    )


def _conditions(comparison: Comparison) -> str:
    """What the values are corrected to, and what the intervals mean."""
    reference = comparison.reference
    parts = [
        f"{reference.pack_voltage_v:.1f} V without load" if reference.pack_voltage_v is not None else "",
        f"{reference.air_density_kg_m3:.3f} kg/m³" if reference.air_density_kg_m3 is not None else "",
        f"{reference.mass_kg:.2f} kg" if reference.mass_kg is not None else "",
    ]
    known = ", ".join(part for part in parts if part)
    corrected = f"corrected to {known}" if known else "not corrected to common conditions"
    return f"{100.0 * comparison.confidence:.0f} % intervals of each mean; {corrected}"


def differences_table(comparison: Comparison, system: System = "metric") -> Table:
    """Every pair: the difference with its interval, odds, and what more flying would show."""
    pairs = comparison.differences
    scale = scale_of(comparison.metric, system)
    percent = Scale("%", 1.0, 1)
    what = METRICS[comparison.metric].what
    return Table(
        "Differences",
        (
            Column("pair", tuple(f"{pair.a} over {pair.b}" for pair in pairs), is_number=False),
            Column("difference", tuple(scale.text(pair.difference) for pair in pairs), scale.symbol),
            Column("", tuple(percent.text(pair.percent) for pair in pairs), "%"),
            Column("from", tuple(percent.text(pair.low_percent) for pair in pairs), "%"),
            Column("to", tuple(percent.text(pair.high_percent) for pair in pairs), "%"),
            Column("odds", tuple(map(_odds, pairs)), "to 1"),
            Column("decided", tuple("yes" if pair.decided else "no" for pair in pairs), is_number=False),
            Column(f"more {what}s", tuple(_more(pair) for pair in pairs), f"for {comparison.worthwhile_percent:g} %"),
        ),
        note=f"all intervals hold together with {100.0 * comparison.confidence:.0f} %",
    )


def _odds(pair: Difference) -> str:
    if pair.odds is None:
        return ABSENT
    return "> 1000" if pair.odds > 1000.0 else f"{pair.odds:.2g}" if pair.odds < 10.0 else f"{pair.odds:.0f}"


def _more(pair: Difference) -> str:
    return ABSENT if pair.more_runs_needed is None else str(pair.more_runs_needed)


def set_aside_table(comparison: Comparison, system: System = "metric") -> Table:
    """Runs that were not compared, each with its reason."""
    shown = comparison.set_aside[:_MOST_SET_ASIDE]
    hidden = len(comparison.set_aside) - len(shown)
    return Table(
        f"Set aside: {len(comparison.set_aside)}",
        (
            Column("log", tuple(entry.log for entry in shown), is_number=False),
            Column("at", tuple(clock(entry.start_s) for entry in shown)),
            Column("why", tuple(sentence(entry.why, system) for entry in shown), is_number=False),
        ),
        note=f"and {hidden} more, all of them in the JSON document" if hidden else "",
    )
