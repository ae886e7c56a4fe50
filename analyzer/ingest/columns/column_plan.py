"""What each column of a table may be, and so how it is to be read, before any but the first rows are known."""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Final

import numpy as np

from analyzer.channels import BY_NAME
from analyzer.errors import LogFileError
from analyzer.ingest.clocks.stated_rate import stated_interval_s
from analyzer.ingest.clocks.time_text import time_kind
from analyzer.ingest.columns import words
from analyzer.ingest.columns.column_map import map_option, none_among, resolve_map
from analyzer.ingest.columns.derived import find_cells
from analyzer.ingest.columns.headers import readings, words_of
from analyzer.ingest.columns.meaning import PART, TERM, UNIT_ONLY, Meaning, meanings, unit_for
from analyzer.ingest.text.cells import kind_of
from analyzer.ingest.text.coordinates import coordinates_of, is_pair_column, letter_columns
from analyzer.ingest.text.numbers import parse_number
from analyzer.ingest.text.raw_table import Plan

if TYPE_CHECKING:
    from collections.abc import Mapping

    from analyzer.ingest.clocks.time_text import TimeKind
    from analyzer.ingest.columns.column_map import Target
    from analyzer.ingest.text.layout import Layout
    from analyzer.ingest.text.raw_table import Role

MAX_NUMERIC_LABELS: Final = 30
"""A column of numbers with more different values in its first rows is a measurement, not a flight mode."""

MIN_RISES: Final = 2
"""Steps up that a clock shows in its first rows; a constant interval shows one at most, after a first zero."""

NAMELESS_TIME_COLUMNS: Final = 3
"""Where no header says time, it is looked for in the first columns."""


@dataclass(frozen=True)
class ColumnPlan:
    """What the columns of a table may be.

    Attributes
    ----------
    meanings : dict of int to tuple of Meaning
        By position; columns that mean nothing are not in it.
    explicit : frozenset of int
        Positions that the user's map names.
    ignored : tuple of int
        Positions of columns that mean nothing to the channel table.
    cells : tuple of int
        Positions of single cells of the pack, to be summed.
    hemispheres : dict of int to int
        Columns of letters (N or S, E or W), and the column of coordinates each belongs to.
    reading : Plan
        How to read them.
    row_interval_s : float
        Time from row to row, where no column tells the time but the preamble does; else 0.
    """

    meanings: Mapping[int, tuple[Meaning, ...]]
    explicit: frozenset[int]
    ignored: tuple[int, ...]
    cells: tuple[int, ...]
    hemispheres: Mapping[int, int]
    reading: Plan
    row_interval_s: float = 0.0


def plan_columns(layout: Layout, columns: Mapping[str, str]) -> ColumnPlan:
    """Look at headers, the user's map and the first rows.

    Raises
    ------
    ColumnMapError
        When the map does not fit the log.
    LogFileError
        When no column can tell the time.
    """
    targets = resolve_map(columns, layout.headers)
    letters = {i: pair for i, pair in letter_columns(layout).items() if i not in targets}
    others = (i for i in range(len(layout.headers)) if i not in letters)
    found = {i: column_meanings(layout, i, targets.get(i)) for i in others}
    found = {i: meaning for i, meaning in found.items() if meaning}
    hemispheres = coordinates_of(letters, found)
    times = _time_columns(layout, found, targets)
    row_interval_s = 0.0 if times else stated_interval_s(layout.preamble)
    kinds = _time_kinds(layout, times) if times else {}
    found = {i: meaning for i, meaning in found.items() if not _is_time(meaning)} | {i: times[i] for i in kinds}
    has_voltage = any(meaning.channel.name == "voltage_v" for group in found.values() for meaning in group)
    cells = () if has_voltage else find_cells(layout.names, layout.units)
    roles: dict[int, Role] = {i: _role(meaning) for i, meaning in found.items()}
    roles.update(dict.fromkeys(hemispheres, "label"))
    roles |= dict.fromkeys(cells, "number")
    if not times and not (row_interval_s and "number" in roles.values()):
        raise no_time(layout)
    unknown = (i for i in range(len(layout.headers)) if i not in roles and i not in targets)
    ignored = tuple(i for i in unknown if layout.column_sample(i))
    reading = Plan(roles, {i: kind for i, kind in kinds.items() if kind != "number"})
    return ColumnPlan(found, frozenset(targets), ignored, cells, hemispheres, reading, row_interval_s)


def no_time(layout: Layout) -> LogFileError:
    """Say that no column tells the time."""
    example = 'with its unit: "time_s [ms]"; of a count: "time_s [0.1 s]"'
    return none_among("time", layout.headers, "time_s", example)


def column_meanings(layout: Layout, position: int, target: Target | None = None) -> tuple[Meaning, ...]:
    """What a column may be by its header, its first cells and the user's map; latitude and longitude for pairs."""
    header, unit_text = layout.names[position], layout.units[position]
    if target is not None:
        return mapped_meanings(target, header, unit_text)
    sample = layout.column_sample(position)
    if not words.POSITION.isdisjoint(words_of(header)) and is_pair_column(sample):
        return tuple(Meaning(BY_NAME[name], None, TERM) for name in ("latitude_deg", "longitude_deg"))
    found = meanings(header, unit_text)
    if len(found) != 1 and not any(way.units for way in readings(header, unit_text)):
        # Units behind the numbers say what a column is; into which to convert, the whole column shows later.
        by_cells = meanings(header, _unit_in_cells(sample, layout.dialect.decimal))
        found = tuple(replace(meaning, unit=None) for meaning in by_cells)
    if len(header) == 1 and _counts_rows(sample, layout.dialect.decimal):
        found = tuple(meaning for meaning in found if meaning.channel.kind == "time")
    return tuple(meaning for meaning in found if meaning.channel.kind != "label" or _are_labels(sample))


def _counts_rows(sample: tuple[str, ...], decimal: str) -> bool:
    """Whether a column goes up by one from row to row: under "i", an index and no current."""
    steps = np.diff([parse_number(cell, decimal)[0] for cell in sample])
    return steps.size > 1 and bool(np.all(steps == 1.0))


def _unit_in_cells(sample: tuple[str, ...], decimal: str) -> str:
    """The unit that most cells write behind their numbers, or ""."""
    units = Counter(parse_number(cell, decimal)[1] for cell in sample)
    unit, count = units.most_common(1)[0] if units else ("", 0)
    return unit if count > len(sample) / 2 else ""


def mapped_meanings(target: Target, header: str, unit_text: str) -> tuple[Meaning, ...]:
    """The meaning that the user's map gives; a unit it leaves out is taken from the header."""
    if target.channel is None:
        return ()
    unit = target.unit or unit_for(target.channel, readings(header, unit_text))
    return (Meaning(target.channel, unit, TERM, rank=-1),)


def _are_labels(sample: tuple[str, ...]) -> bool:
    """Whether cells may be names or numbers of flight modes rather than measurements."""
    numbers = [cell for cell in sample if kind_of(cell) == "number"]
    whole = all(cell.lstrip("+-").isdigit() for cell in numbers)
    return len(numbers) < len(sample) / 2 or (whole and len(set(numbers)) <= MAX_NUMERIC_LABELS)


def _is_time(meaning: tuple[Meaning, ...]) -> bool:
    return any(one.channel.kind == "time" for one in meaning)


def _time_columns(
    layout: Layout, found: Mapping[int, tuple[Meaning, ...]], targets: Mapping[int, Target]
) -> dict[int, tuple[Meaning, ...]]:
    """Columns that may tell the time: those mapped, else the best named, else the first that runs like a clock."""
    named = {i: tuple(one for one in meaning if one.channel.kind == "time") for i, meaning in found.items()}
    named = {i: meaning for i, meaning in named.items() if meaning}
    mapped = {i: meaning for i, meaning in named.items() if i in targets}
    for tier in (mapped, *({i: m for i, m in named.items() if m[0].sureness >= least} for least in (PART, UNIT_ONLY))):
        if tier:
            return tier
    for i in range(min(NAMELESS_TIME_COLUMNS, len(layout.headers))):
        counts = not words.COUNTERS.isdisjoint(words_of(layout.names[i]))
        if i not in found and i not in targets and not counts and _runs_like_a_clock(layout, i):
            return {i: (Meaning(BY_NAME["time_s"], None, UNIT_ONLY),)}
    return {}


def _runs_like_a_clock(layout: Layout, position: int) -> bool:
    """Whether a column without a name holds clock times, or is the first and never falls, and counts no samples."""
    sample = layout.column_sample(position)
    kind = time_kind(sample)
    if kind != "number" or position > 0:
        return kind in ("clock", "date-time")
    steps = np.diff([parse_number(cell, layout.dialect.decimal)[0] for cell in sample])
    rising = steps > 0.0
    return bool(np.all(steps >= 0.0) and np.sum(rising) >= MIN_RISES and np.any(rising & (steps != 1.0)))


def _time_kinds(layout: Layout, times: Mapping[int, tuple[Meaning, ...]]) -> dict[int, TimeKind]:
    """Kind of time in each column; columns that hold something else are passed over while another is left."""
    kinds = {i: time_kind(layout.column_sample(i)) for i in times}
    good = {i: kind for i, kind in kinds.items() if kind is not None}
    if not any(kind != "date" for kind in good.values()):
        position = next(iter(times))
        text = next(iter(layout.column_sample(position)), "")
        problem = f"'{text[:40]}' is no time" if text else "no time in it"
        where = f"line {layout.data_line}, column '{layout.headers[position]}'"
        another = map_option("Header", "time_s")
        remedy = f"write seconds, a clock time or ISO 8601, or name another column with {another}"
        raise LogFileError(problem, where=where, remedy=remedy)
    return good


def _role(meaning: tuple[Meaning, ...]) -> Role:
    """How a column is read."""
    names = {one.channel.name for one in meaning}
    if names == {"latitude_deg", "longitude_deg"}:
        return "pair"
    if names & {"latitude_deg", "longitude_deg"}:
        return "coordinate"
    kinds = {one.channel.kind for one in meaning}
    return "time" if "time" in kinds else "label" if "label" in kinds else "number"
