"""Long tables, one value a row with its time and the name of its channel: telling them, and gathering their rows."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

import numpy as np

from analyzer.ingest.columns import words
from analyzer.ingest.columns.headers import words_of
from analyzer.ingest.columns.meaning import meanings
from analyzer.ingest.text.cells import kind_of
from analyzer.units import find_units

if TYPE_CHECKING:
    from collections.abc import Callable, Collection

    from numpy.typing import NDArray

    from analyzer.arrays import Array, Indices
    from analyzer.ingest.text.layout import Layout


FEWEST_CHANNELS: Final = 2
"""A column that names fewer is one of flight modes, or of remarks."""


@dataclass(frozen=True, slots=True)
class LongColumns:
    """Where a long table keeps name, value, unit, and the device where two have a channel of one name; -1: nowhere."""

    name: int
    value: int
    unit: int = -1
    owner: int = -1


def find_long(layout: Layout, mapped: Collection[str] = ()) -> LongColumns | None:
    """Find the columns of a long table; None when the table is not one.

    Parameters
    ----------
    layout : Layout
        The table.
    mapped : collection of str
        Headers that the user's column map names; they are no columns of names or values.
    """
    headers = [() if header in mapped else words_of(header) for header in layout.headers]

    def headed(wanted: frozenset[str]) -> list[int]:
        return [i for i, parts in enumerate(headers) if len(parts) == 1 and parts[0] in wanted]

    def known(name: int) -> int:
        names = dict.fromkeys(layout.column_sample(name))
        found = [meanings(text) for text in names if kind_of(text) == "text"]
        return len({one[0].channel.name for one in found if one})

    if not any(layout.names):
        return _without_header(layout, known)
    names, values, units = (headed(wanted) for wanted in (words.LONG_NAME, words.LONG_VALUE, words.LONG_UNIT))
    name = max(names, key=known, default=-1)  # of "sensor" and "parameter", the one that tells more channels apart
    if name < 0 or not values or not (known(name) or _says_nothing(layout)):
        return None
    owner = next((i for i in headed(words.LONG_OWNER) if i != name and _share_names(layout, i, name)), -1)
    return LongColumns(name, values[0], units[0] if units else -1, owner)


def _says_nothing(layout: Layout) -> bool:
    """Whether a table's headers name no channel but the time: what it measures can only stand in its rows."""
    return all(meaning.channel.kind == "time" for name in layout.names for meaning in meanings(name))


def _share_names(layout: Layout, owner: int, name: int) -> bool:
    """Whether the same name stands beside two devices."""
    pairs = {(row[owner], row[name]) for row in layout.sample if len(row) > max(owner, name)}
    return len({called for _, called in pairs}) < len(pairs)


def _without_header(layout: Layout, known: Callable[[int], int]) -> LongColumns | None:
    """Find the columns by what is in them: names of several channels, then numbers, then perhaps units."""
    width = len(layout.headers)
    kinds = {i: {kind_of(cell) for cell in layout.column_sample(i)} for i in range(width)}
    words_only = [i for i in kinds if kinds[i] == {"text"}]
    name = next((i for i in words_only if known(i) >= FEWEST_CHANNELS), width)
    value = next((i for i in range(name + 1, width) if "number" in kinds[i]), -1)
    if value < 0:
        return None
    unit = next((i for i in words_only if i > name and all(map(find_units, layout.column_sample(i)))), -1)
    return LongColumns(name, value, unit)


@dataclass(frozen=True, eq=False)
class Pivot:
    """The rows of a long table gathered into rows of a wide one.

    Attributes
    ----------
    first_rows : numpy.ndarray of int
        For each row of the wide table, the first row of the long one in it.
    targets : numpy.ndarray of int
        For each row of the long table, its row in the wide one.
    by_channel : numpy.ndarray of int
        Rows of the long table, channel after channel, each in order of time.
    ends : numpy.ndarray of int
        Where each channel's rows end among these; they begin where those of the channel before end.
    """

    first_rows: Indices
    targets: NDArray[np.int32]
    by_channel: Indices
    ends: Indices

    def of(self, channel: int) -> Indices:
        """Rows of one channel, by the code of its name."""
        return self.by_channel[self.ends[channel - 1] if channel else 0 : self.ends[channel]]

    def column(self, channel: int, values: Array) -> Array:
        """Spread the values of one channel, NaN where it has none."""
        column = np.full(self.first_rows.size, np.nan)
        rows = self.of(channel)
        column[self.targets[rows]] = values[rows]
        return column


def pivot(stamps: Array, names: NDArray[np.int32], channels: int) -> Pivot:
    """Gather rows of one stamp: the first value of each channel into one row, the second into the next, and so on.

    Parameters
    ----------
    stamps : numpy.ndarray, shape (rows,)
        Never running backward.
    names : numpy.ndarray of int, shape (rows,)
        Code of each row's channel, from 0.
    channels : int
        How many names there are; some may stand in rows without a time only, which are not among these.
    """
    few = int(names.max()) <= np.iinfo(np.int16).max
    by_channel = np.argsort(names.astype(np.int16) if few else names, kind="stable")  # 16 bits sort in linear time
    ends = np.cumsum(np.bincount(names, minlength=channels))
    starts = np.flatnonzero(np.append(True, stamps[1:] > stamps[:-1]))
    sizes = np.diff(np.append(starts, stamps.size))
    targets = np.repeat(np.arange(starts.size, dtype=np.int32), sizes)
    occurrence = _occurrence(targets, names, by_channel)
    if occurrence is None:  # each channel has one value a stamp at most
        return Pivot(starts, targets, by_channel, ends)
    heights = np.maximum.reduceat(occurrence, starts) + 1
    targets = np.repeat(np.cumsum(heights, dtype=np.int32) - heights, sizes) + occurrence
    first_rows = np.full(int(heights.sum()), stamps.size, dtype=np.intp)
    np.minimum.at(first_rows, targets, np.arange(stamps.size))
    return Pivot(first_rows, targets, by_channel, ends)


def _occurrence(groups: NDArray[np.int32], names: NDArray[np.int32], by_channel: Indices) -> NDArray[np.int32] | None:
    """How many rows of the same group and name stand before each; None where there is none before any."""
    group, name = groups[by_channel], names[by_channel]
    again = (group[1:] == group[:-1]) & (name[1:] == name[:-1])
    if not again.any():
        return None
    firsts = np.flatnonzero(np.append(True, ~again))
    counts = np.diff(np.append(firsts, groups.size))
    occurrence = np.empty(groups.size, dtype=np.int32)
    occurrence[by_channel] = np.arange(groups.size) - np.repeat(firsts, counts)
    return occurrence
