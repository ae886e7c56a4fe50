"""Columns of tables from records: each value in its unit, with its 95 % interval where its error is known."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from analyzer.display import Scale, System, clock, scale_of, with_intervals
from analyzer.export.table import Column

if TYPE_CHECKING:
    from collections.abc import Sequence

    from analyzer.power_system.prediction_records import Estimate


def numbers(entries: Sequence[object]) -> Column:
    """Numbers from 1, as the figures name the same entries."""
    return Column("no.", tuple(str(number) for number in range(1, len(entries) + 1)))


def starts(entries: Sequence[Any]) -> Column:
    """When each begins."""
    return Column("start", tuple(clock(entry.start_s) for entry in entries))


def durations(entries: Sequence[Any]) -> Column:
    """How long each lasts."""
    return Column("time", tuple(clock(entry.end_s - entry.start_s) for entry in entries))


def measured(
    title: str,
    records: Sequence[Any],
    field: str,
    system: System,
    *,
    error: str = "",
    error_records: Sequence[Any] | None = None,
    shown_as: str = "",
) -> Column:
    """One field of some records.

    Parameters
    ----------
    title : str
        Heading.
    records : sequence
        Records; a missing one (None) gives an empty cell.
    field : str
        Name of the value.
    system : System
        Units.
    error : str
        Field of its standard error; ``<field>_se`` where there is one, by default.
    error_records : sequence, optional
        Where the error stands in other records than the value.
    shown_as : str
        A name whose ending says how to show a field that could mean two things: a wind or a climb in m/s.
    """
    scale = scale_of(shown_as or field, system)
    values = [None if record is None else getattr(record, field) for record in records]
    errors = [getattr(record, error or f"{field}_se", None) for record in error_records or records]
    return Column(title, with_intervals(scale, values, errors), scale.symbol)


def plain(title: str, scale: Scale, values: Sequence[float | None]) -> Column:
    """Values without an interval."""
    return Column(title, tuple(scale.text(value) for value in values), scale.symbol)


def estimated(title: str, scale: Scale, values: Sequence[Estimate | None]) -> Column:
    """Predicted values."""
    middles = [None if one is None else one.value for one in values]
    errors = [None if one is None else one.standard_error for one in values]
    return Column(title, with_intervals(scale, middles, errors), scale.symbol)
