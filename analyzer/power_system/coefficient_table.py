"""The user's own propeller table: J, C_T and C_P from a CSV beside the setup file."""

from __future__ import annotations

import csv
from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

import numpy as np

from analyzer.errors import SetupFileError
from analyzer.power_system.propeller_curves import ADVANCE_GRID, LOG_REYNOLDS_GRID, PropellerCurves
from analyzer.setup_file import written_text
from analyzer.wording import counted

if TYPE_CHECKING:
    from pathlib import Path

    from analyzer.arrays import Array
    from analyzer.power_system.propeller import Propeller


TABLE_SPREAD: Final = (0.02, 0.03)
"""Standard deviation of a user's C_T and C_P, as shares of the peak (common practice for model test stands)."""

FEWEST_ROWS: Final = 3
LARGEST_COEFFICIENT: Final = 2.0


@dataclass(frozen=True, slots=True)
class CoefficientTable:
    """A table of coefficients: where it stands, and its text where that is at hand already.

    CSV (comma, semicolon or tab) with a header naming the columns J, CT and CP in any order; J rising.
    """

    path: Path
    text: str | None = None

    def read(self) -> str:
        """Its text.

        Raises
        ------
        SetupFileError
            When the file is not there, too large, or no text.
        """
        if self.text is not None:
            return self.text
        return written_text(self.path, "coefficient table", "check [propeller] coefficients_csv")


def table_curves(propeller: Propeller, table: CoefficientTable) -> PropellerCurves:
    """Curves of a propeller from its table.

    Parameters
    ----------
    propeller : Propeller
        The propeller that the table belongs to.
    table : CoefficientTable
        The table.

    Returns
    -------
    PropellerCurves
        Straight lines between the rows, the first row held down to J = 0, the last two rows' line beyond the end;
        no dependence on Reynolds number.

    Raises
    ------
    SetupFileError
        Naming the file, the line and what is wrong.
    """
    rows = read_table(table)
    scale = _zero_thrust_advance(rows)
    advance = ADVANCE_GRID * scale
    values = np.stack([_extended(advance, rows[:, 0], rows[:, column]) for column in (1, 2)])
    tables = np.repeat(values[:, :, None], LOG_REYNOLDS_GRID.size, axis=2)
    spread = np.array(TABLE_SPREAD) * rows[:, 1:].max(axis=0)
    modes = np.zeros((2, 2, *tables.shape[1:]))
    modes[0, 0], modes[1, 1] = spread[0], spread[1]
    return PropellerCurves(
        propeller=propeller,
        tier="table",
        basis_note=f"your table {table.path.name}",
        advance_scale=scale,
        thrust=tables[0],
        power=tables[1],
        thrust_modes=modes[:, 0],
        power_modes=modes[:, 1],
    )


def read_table(source: CoefficientTable) -> Array:
    """Rows of J, C_T, C_P, shape (n, 3), checked.

    Raises
    ------
    SetupFileError
        Naming the file, the line and what is wrong.
    """
    path, cells = source.path, _cells(source.read())
    rows = [(number, row) for number, row in enumerate(cells, start=1) if any(cell.strip() for cell in row)]
    rows = [(number, row) for number, row in rows if not row[0].lstrip().startswith("#")]
    if not rows:
        raise _error(path, "is empty", "", "give a header J,CT,CP and rows of numbers")
    columns = _columns(path, rows[0][1])
    table = np.array([_numbers(path, number, row, columns) for number, row in rows[1:]]).reshape(-1, 3)
    if len(table) < FEWEST_ROWS:
        raise _error(
            path, f"has {counted(len(table), 'row')} of numbers", "", f"give at least {FEWEST_ROWS}, from J = 0 upwards"
        )
    falls = np.flatnonzero(np.diff(table[:, 0]) <= 0)
    if falls.size or table[0, 0] < 0:
        line = rows[int(falls[0]) + 2][0] if falls.size else rows[1][0]
        raise _error(path, "J does not rise from 0 upwards", f"line {line}", "sort the rows by J, one row for each J")
    if table[:, 2].max() <= 0 or table[:, 1].max() <= 0:
        raise _error(path, "has no row with thrust and power above zero", "", "check the columns CT and CP")
    return table


def _cells(text: str) -> list[list[str]]:
    separator = max(",;\t", key=text.count)
    return list(csv.reader(text.splitlines(), delimiter=separator))


def _columns(path: Path, header: list[str]) -> tuple[int, int, int]:
    names = ["".join(character for character in cell.casefold() if character.isalnum()) for cell in header]
    missing = [name for name in ("j", "ct", "cp") if name not in names]
    if missing:
        raise _error(path, f"has no column {', '.join(missing).upper()}", "header", "name the columns J, CT and CP")
    return names.index("j"), names.index("ct"), names.index("cp")


def _numbers(path: Path, line: int, row: list[str], columns: tuple[int, int, int]) -> tuple[float, ...]:
    remedy = "write plain numbers with a decimal point"
    try:
        values = tuple(float(row[column]) for column in columns)
    except (ValueError, IndexError):
        raise _error(path, "a cell is no number", f"line {line}", remedy) from None
    if not all(np.isfinite(values)) or max(map(abs, values[1:])) > LARGEST_COEFFICIENT:
        raise _error(path, "a value is impossible for J, CT or CP", f"line {line}", remedy)
    return values


def _error(path: Path, problem: str, where: str, remedy: str) -> SetupFileError:
    return SetupFileError(problem, source=str(path), where=where, remedy=remedy)


def _zero_thrust_advance(table: Array) -> float:
    """J where the last thrust ends; where the table stops before that, where its last line would reach it."""
    last = min(int(np.flatnonzero(table[:, 1] > 0.0)[-1]) + 1, len(table) - 1)
    (j0, t0), (j1, t1) = table[last - 1, :2], table[last, :2]
    if t1 >= t0:
        return float(table[-1, 0])
    return float(np.clip(j0 + t0 * (j1 - j0) / (t0 - t1), j0, 3.0 * j1))


def _extended(advance: Array, known: Array, values: Array) -> Array:
    slope = (values[-1] - values[-2]) / (known[-1] - known[-2])
    inside = np.interp(advance, known, values)
    extended: Array = inside + np.minimum(slope, 0.0) * np.maximum(advance - known[-1], 0.0)
    return extended
