"""Long tables, one value a row with its time and the name of its channel: telling them, and gathering their rows."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

import numpy as np

from analyzer.ingest.cells import kind_of
from analyzer.ingest.headers import words_of
from analyzer.ingest.meaning import meanings

if TYPE_CHECKING:
    from collections.abc import Collection

    from numpy.typing import NDArray

    from analyzer.ingest.layout import Layout

NAME_WORDS: Final = frozenset((
    "channel", "sensor", "name", "parameter", "signal", "measurement", "variable", "quantity", "key", "item", "field",
    "kanal", "messgrosse", "messgroesse", "bezeichnung", "canal", "capteur", "nom", "nombre", "canale", "kanaal",
))  # fmt: skip
VALUE_WORDS: Final = frozenset((
    "value", "values", "reading", "data", "val", "wert", "messwert", "valeur", "valor", "valore", "waarde", "hodnota",
    "wartosc",
))  # fmt: skip
UNIT_WORDS: Final = frozenset(("unit", "units", "einheit", "unite", "unidad", "unita", "eenheid", "jednotka", "uom"))


@dataclass(frozen=True, slots=True)
class LongColumns:
    """Where a long table keeps name, value and unit; no unit column: -1."""

    name: int
    value: int
    unit: int = -1


def find_long(layout: Layout, mapped: Collection[str] = ()) -> LongColumns | None:
    """Find the columns of a long table; None when the table is not one.

    Parameters
    ----------
    layout : Layout
        The table.
    mapped : collection of str
        Headers that the user's column map names; they are no columns of names or values.
    """
    words = [() if header in mapped else words_of(header) for header in layout.headers]

    def headed(wanted: frozenset[str]) -> int:
        return next((i for i, parts in enumerate(words) if len(parts) == 1 and parts[0] in wanted), -1)

    name, value = headed(NAME_WORDS), headed(VALUE_WORDS)
    if name < 0 or value < 0:
        return None
    names = dict.fromkeys(layout.column_sample(name))
    known = any(meanings(text) for text in names if kind_of(text) == "text")
    return LongColumns(name, value, headed(UNIT_WORDS)) if known else None


@dataclass(frozen=True, eq=False)
class Pivot:
    """The rows of a long table gathered into rows of a wide one.

    Attributes
    ----------
    first_rows : numpy.ndarray of int
        For each row of the wide table, the first row of the long one in it.
    targets : numpy.ndarray of int
        For each row of the long table, its row in the wide one.
    """

    first_rows: NDArray[np.intp]
    targets: NDArray[np.intp]

    def column(self, rows: NDArray[np.bool_], values: NDArray[np.float64]) -> NDArray[np.float64]:
        """Spread the values of one channel, NaN where it has none."""
        column = np.full(self.first_rows.size, np.nan)
        column[self.targets[rows]] = values[rows]
        return column


def pivot(stamps: NDArray[np.float64], names: NDArray[np.int32]) -> Pivot:
    """Gather rows of one stamp: the first value of each channel into one row, the second into the next, and so on.

    Parameters
    ----------
    stamps : numpy.ndarray, shape (rows,)
        Never running backward.
    names : numpy.ndarray of int, shape (rows,)
        Code of each row's channel.
    """
    starts = np.flatnonzero(np.append(True, stamps[1:] > stamps[:-1]))
    sizes = np.diff(np.append(starts, stamps.size))
    occurrence = _occurrence(np.repeat(np.arange(starts.size), sizes) * (int(names.max()) + 1) + names)
    heights = np.maximum.reduceat(occurrence, starts) + 1
    targets = (np.repeat(np.cumsum(heights, dtype=np.intp) - heights, sizes) + occurrence).astype(np.intp, copy=False)
    first_rows = np.full(int(heights.sum()), stamps.size, dtype=np.intp)
    np.minimum.at(first_rows, targets, np.arange(stamps.size))
    return Pivot(first_rows, targets)


def _occurrence(keys: NDArray[np.intp]) -> NDArray[np.int32]:
    """How many equal keys stand before each."""
    order = np.argsort(keys, kind="stable")
    firsts = np.flatnonzero(np.append(True, np.diff(keys[order]) > 0)).astype(np.int32)
    occurrence = np.empty(keys.size, dtype=np.int32)
    counts = np.diff(np.append(firsts, keys.size))
    occurrence[order] = np.arange(keys.size, dtype=np.int32) - np.repeat(firsts, counts)
    return occurrence
