"""The tables of a flight held against its prediction, and what explains the difference."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

from analyzer.display import ABSENT, Scale, System, clock, scale_for_symbol, with_intervals
from analyzer.export.table import Column, Table

if TYPE_CHECKING:
    from collections.abc import Iterable

    from analyzer.records import Finding, FlightSummary, MatchItem

SHORT: Final = {
    "propeller rpm": "rpm",
    "pack voltage under load": "voltage",
    "electrical power": "power",
    "climb per Ah": "per Ah",
    "climb per Wh": "per Wh",
}
"""Quantities of a match whose names are too long for a narrow column."""


def match_rows(summary: FlightSummary) -> tuple[MatchItem, ...]:
    """What `match_table` shows: the values of the whole flight; of its climbs, where it has none."""
    whole = tuple(item for item in summary.match if item.run_start_s is None)
    return whole or summary.match


def match_table(summary: FlightSummary, system: System) -> Table:
    """Prediction against flight."""
    items = match_rows(summary)
    verdicts = {True: "agrees", False: "DIFFERS", None: ABSENT}
    scales = [scale_for_symbol(item.unit, system, item.quantity) for item in items]
    how = "" if "airspeed_m_s" in summary.log.channels else " (estimated, since none is logged)"
    return Table(
        "Prediction against flight",
        (
            Column("", tuple(verdicts[item.within_uncertainty] for item in items), is_number=False),
            Column("climb at", tuple(clock(item.run_start_s) for item in items)),
            Column("quantity", tuple(map(_named, items, scales)), is_number=False),
            Column("apart", tuple(_signed(item.difference_percent) for item in items), "%"),
            Column("measured", tuple(map(_measured, items, scales))),
            Column("predicted", tuple(map(_predicted, items, scales))),
        ),
        "Steady parts of the climbs, predicted for the same pack voltage, air, throttle and "
        f"airspeed{how}; 95 % intervals.",
    ).without_empty_columns()


def match_by_climb_table(summary: FlightSummary) -> Table:
    """How far each climb is from its prediction, in per cent; empty where there is only one."""
    items = [item for item in summary.match if item.run_start_s is not None]
    starts = list(dict.fromkeys(item.run_start_s for item in items))
    found = {(item.run_start_s, item.quantity): item for item in items}
    quantities = list(dict.fromkeys(item.quantity for item in items))
    if len(starts) < 2:
        return Table("", ())
    columns = [
        Column(SHORT.get(quantity, quantity), tuple(_difference(found.get((start, quantity))) for start in starts))
        for quantity in quantities
    ]
    return Table(
        "Climb by climb: measured over predicted, in per cent",
        (Column("climb at", tuple(clock(start) for start in starts)), *columns),
        "! beyond the combined uncertainty of prediction and measurement",
    )


def finding_lines(findings: Iterable[Finding]) -> tuple[str, ...]:
    """What explains the difference, and what the flights do not tell, in sentences."""
    findings = tuple(findings)
    told = [finding.said for finding in findings if finding.verdict != "open"]
    untold = [finding.quantity for finding in findings if finding.verdict == "open"]
    pairs = {tuple(sorted((finding.quantity, other))) for finding in findings for other in finding.not_told_from}
    return (
        *told,
        *([f"Not told by these climbs: {', '.join(untold)}."] if untold else []),
        *(f"Not told apart by these climbs: {one} and {other}." for one, other in sorted(pairs)),
    )


def _named(item: MatchItem, scale: Scale) -> str:
    """A quantity with its unit, where that is not its name."""
    name = item.quantity.removesuffix(" under load")
    return name if name.endswith(scale.symbol) else f"{name} ({scale.symbol})"


def _predicted(item: MatchItem, scale: Scale) -> str:
    value = scale.text(item.predicted)
    if item.predicted_low is None or item.predicted_high is None:
        return value
    return f"{value} ({scale.text(item.predicted_low)} to {scale.text(item.predicted_high)})"


def _measured(item: MatchItem, scale: Scale) -> str:
    return with_intervals(scale, [item.measured], [item.measured_se])[0]


def _signed(value: float | None) -> str:
    return ABSENT if value is None else f"{value:+.1f}"


def _difference(item: MatchItem | None) -> str:
    if item is None or item.difference_percent is None:
        return ABSENT
    shown = f"{item.difference_percent:+.0f}"
    return ("0" if float(shown) == 0.0 else shown) + (" !" if item.within_uncertainty is False else "")
