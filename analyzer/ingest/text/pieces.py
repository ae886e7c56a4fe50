"""The careful way to read a text table: a piece at a time, every odd cell and row looked at."""

from __future__ import annotations

import csv
import warnings
from contextlib import closing
from typing import TYPE_CHECKING, Any, Final, Literal

import numpy as np
import pandas as pd
from pandas.errors import ParserWarning

from analyzer.ingest.clocks.time_text import TimeText
from analyzer.ingest.text.coordinates import parse_coordinates, parse_pairs
from analyzer.ingest.text.inner_headers import check_headers
from analyzer.ingest.text.labels import LabelGatherer
from analyzer.ingest.text.numbers import MISSING, parse_measures, parse_numbers
from analyzer.ingest.text.raw_table import BadCells, RawTable

if TYPE_CHECKING:
    from collections.abc import Generator, Iterator
    from io import BufferedReader, BytesIO

    from analyzer.arrays import Array, Mask
    from analyzer.ingest.source import Source
    from analyzer.ingest.text.layout import Layout
    from analyzer.ingest.text.raw_table import Plan, Role

CELLS_A_PIECE: Final = 2_000_000
"""Cells read at a time: about 100 MB while they are text."""

MIN_ROWS_A_PIECE: Final = 500

# A first row with more cells than expected loses some with no more than a warning; here it is an error.
warnings.filterwarnings("error", category=ParserWarning, module=r"analyzer\.ingest\.text\.(pieces|table)")

WORDS_FOR_MISSING: Final = [form for word in sorted(MISSING) for form in (word, word.upper(), word.capitalize())]
"""As pandas wants them, which compares case by case."""


class PieceReader:
    """Reads one table; made for one use.

    Parameters
    ----------
    source : Source
        The log.
    layout : Layout
        How it is written.
    plan : Plan
        What to read.
    quoting : int
        `csv.QUOTE_MINIMAL` or `csv.QUOTE_NONE`: whether quotes may hold separators and line ends.
    """

    def __init__(self, source: Source, layout: Layout, plan: Plan, quoting: Literal[0, 3] = csv.QUOTE_MINIMAL) -> None:
        self._source = source
        self._layout = layout
        self._plan = plan
        self._quoting = quoting
        self._table = RawTable(bad={position: BadCells() for position in plan.roles})
        self._table.times = {position: TimeText(kind) for position, kind in plan.time_kinds.items()}
        self._numbers: dict[int, list[Array]] = {}
        self._labels: dict[int, LabelGatherer] = {}

    def read(self) -> RawTable | None:
        """Read it all; None when pandas cannot cut it into rows.

        Raises
        ------
        LogFileError
            When a header with other columns stands inside the data.
        """
        with self._source.open() as stream, closing(self._pieces(stream)) as pieces:
            stream.seek(self._layout.data_offset)
            while (piece := _next_piece(pieces)) is not None:
                if piece.empty:
                    return self._finish()
                self._take(piece)
        return None

    def take(self, piece: pd.DataFrame) -> RawTable | None:
        """Take a table that was cut into rows elsewhere, in one piece."""
        self._take(piece)
        return self._finish()

    def _pieces(self, stream: BufferedReader | BytesIO) -> Generator[pd.DataFrame]:
        """Let pandas cut the stream into pieces of rows; an empty one stands at the end."""
        layout = self._layout
        yield from pd.read_csv(
            stream,
            sep=layout.dialect.separator,
            decimal=layout.dialect.decimal,
            header=None,
            names=range(layout.widest),
            index_col=False,
            dtype=self._plan.text_types(),
            na_values=WORDS_FOR_MISSING,
            skipinitialspace=True,
            skip_blank_lines=False,
            encoding=layout.encoding,
            encoding_errors="replace",
            on_bad_lines="skip",
            quoting=self._quoting,
            low_memory=False,
            chunksize=max(MIN_ROWS_A_PIECE, CELLS_A_PIECE // layout.widest),
        )
        yield pd.DataFrame()

    def _take(self, piece: pd.DataFrame) -> None:
        self._table.lines += len(piece)
        if self._quoting == csv.QUOTE_NONE:
            piece = piece.apply(lambda cells: cells.astype("str").str.strip('"') if _is_text(cells) else cells)
        rows = self._data_rows(piece)
        for position, role in self._plan.roles.items():
            if position not in self._table.times:
                self._take_column(piece[position] if rows.all() else piece.loc[rows, position], position, role)
            elif not rows.all():
                self._table.times[position].keep(rows)
        self._table.rows += int(rows.sum())

    def _data_rows(self, piece: pd.DataFrame) -> Mask:
        """Tell rows of data from others: without a time but with other text in its place, or with cells too many.

        Where no column tells the time, those of numbers stand for it.
        """
        times_at = [position for position, role in self._plan.roles.items() if role == "time"]
        positions = times_at or [position for position, role in self._plan.roles.items() if role == "number"]
        bad = np.column_stack([self._bad_times(piece[position], position) for position in positions])
        times = piece[positions].notna().to_numpy() & ~bad
        wide = self._beyond(piece).notna().any(axis=1).to_numpy()
        no_data = wide | (bad.any(axis=1) & ~times.any(axis=1))
        if no_data.any():
            self._note_lost(piece[no_data], positions)
        for column, position in enumerate(times_at):
            self._table.bad[position].note(bad[:, column] & ~no_data, piece[position], self._layout.data_line)
        return ~no_data

    def _note_lost(self, lost: pd.DataFrame, positions: list[int]) -> None:
        """Count rows without data, headers that stand again apart from others."""
        check_headers(lost, self._layout)
        headers = self._repeats_header(lost, positions)
        self._table.repeated_headers += int(headers.sum())
        self._table.no_data.note(~headers, lost[positions[0]], self._layout.data_line)

    def _beyond(self, piece: pd.DataFrame) -> pd.DataFrame:
        """Cells beyond the table's width; words there go on a remark in the last column, and are none of them."""
        width = self._layout.dialect.width
        beyond = piece.iloc[:, width:]
        remark = self._plan.roles.get(width - 1, "label") == "label"
        return beyond.apply(pd.to_numeric, errors="coerce") if remark else beyond

    def _bad_times(self, cells: pd.Series[Any], position: int) -> Mask:
        if position in self._table.times:
            return self._table.times[position].add(cells)
        return (
            parse_numbers(cells, self._layout.dialect.decimal).bad
            if _is_text(cells)
            else np.zeros(len(cells), dtype=bool)
        )

    def _repeats_header(self, piece: pd.DataFrame, positions: list[int]) -> Mask:
        repeats = np.zeros(len(piece), dtype=bool)
        for position in (position for position in positions if _is_text(piece[position])):
            repeats |= (piece[position].astype("str").str.strip() == self._layout.headers[position]).to_numpy(
                dtype=bool, na_value=False
            )
        return repeats

    def _take_column(self, cells: pd.Series[Any], position: int, role: Role) -> None:
        if role == "label":
            self._labels.setdefault(position, LabelGatherer()).add(cells)
            return
        if role == "mixed":
            self._take_mixed(cells, position)
            return
        if role == "pair":
            latitudes, longitudes = parse_pairs(cells)
            self._add_numbers(position, latitudes)
            self._add_numbers(~position, longitudes)
            return
        if not _is_text(cells):
            self._table.bad[position].filled += int(cells.notna().sum())
            self._add_numbers(position, cells.to_numpy(dtype=np.float64))
            return
        parsed = parse_numbers(cells, self._layout.dialect.decimal, self._table.unit_texts.get(position, ""))
        values, bad = parsed.values, parsed.bad
        if role == "coordinate":
            values = parse_coordinates(cells, self._layout.dialect.decimal)
            bad = np.isnan(values) & cells.notna().to_numpy()
        if parsed.unit_text:
            self._table.unit_texts.setdefault(position, parsed.unit_text)
        self._add_numbers(position, values)
        self._table.bad[position].note(bad, cells, self._layout.data_line)

    def _take_mixed(self, cells: pd.Series[Any], position: int) -> None:
        """Keep numbers, their own units, and words; each different cell is looked at once."""
        codes, found = pd.factorize(cells)
        texts = pd.Series(np.asarray(found, dtype=object), dtype="str")
        parsed = parse_numbers(texts, self._layout.dialect.decimal)
        if parsed.unit_text or ~position in self._labels:
            units = self._labels.setdefault(~position, LabelGatherer(self._table.rows))
            parsed, own_units = parse_measures(texts, self._layout.dialect.decimal)
            units.add_codes(codes, own_units)
        place = np.full(len(texts) + 1, -1)
        place[:-1][parsed.bad] = np.arange(np.count_nonzero(parsed.bad))
        self._labels.setdefault(position, LabelGatherer()).add_codes(place[codes], texts[parsed.bad])
        self._add_numbers(position, np.append(parsed.values, np.nan)[codes])
        self._table.bad[position].note(place[codes] >= 0, cells, self._layout.data_line)

    def _add_numbers(self, position: int, values: Array) -> None:
        self._numbers.setdefault(position, []).append(values)

    def _finish(self) -> RawTable | None:
        if not self._table.lines:
            return None
        self._table.numbers = {
            position: pieces[0] if len(pieces) == 1 else np.concatenate(pieces)
            for position, pieces in self._numbers.items()
        }
        self._table.labels = {position: gatherer.finish() for position, gatherer in self._labels.items()}
        return self._table


def _next_piece(pieces: Iterator[pd.DataFrame]) -> pd.DataFrame | None:
    """The next piece; None when pandas cannot cut it."""
    try:
        return next(pieces)
    except (ValueError, OverflowError, ParserWarning):
        return None


def _is_text(cells: pd.Series[Any]) -> bool:
    """Whether pandas did not read all of a column as numbers; words for true and false are text here."""
    return pd.api.types.is_bool_dtype(cells) or not pd.api.types.is_numeric_dtype(cells)
