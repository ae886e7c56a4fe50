"""Numbers from cells that are text: decimal commas, thousands marks, units behind the number, words for "no value"."""

from __future__ import annotations

import re
from collections import Counter
from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

import numpy as np
import pandas as pd

from analyzer.units import base_symbol, find_units

if TYPE_CHECKING:
    from analyzer.arrays import Array, Mask

MISSING: Final = frozenset((
    "", "-", "--", "---", "----", "n/a", "na", "n.a.", "nan", "null", "none", "nil", "?", "*",
    "#n/a", "#div/0!", "#value!", "#ref!", "inf", "-inf", "+inf", ".",
    "err", "error", "invalid", "missing", "no data", "nodata",
))  # fmt: skip
"""How loggers and spreadsheets write that there is no value, lower case."""

_MEASURE: Final = re.compile(
    r"(?P<number>[+\-\u2212]?"
    r"(?:[1-9]\d{0,2}(?P<mark>[.,'\u2019 \u00a0\u202f])\d{3}(?:(?P=mark)\d{3})*(?P<rest>(?!(?P=mark))[.,]\d*)?"
    r"|\d+(?:\.\d*|,\d+)?|[.,]\d+)(?:[eE][+-]?\d+)?)"
    r"(?:\s*(?P<unit>[^\d\s.,:;/-][^\d:]{0,7}(?:-1)?|(?<=\s)1?/[a-z]{1,3}))?"
)
"""A number and perhaps a unit. A mark that parts thousands stands before each three digits; any other mark is the
decimal one."""


@dataclass(frozen=True)
class Numbers:
    """What the cells of one column hold as numbers.

    Attributes
    ----------
    values : numpy.ndarray
        NaN where there is no value.
    bad : numpy.ndarray of bool
        Cells that hold something else than a number or a word for "no value".
    unit_text : str
        The unit most cells write behind their number ("12.5 V"), or "".
    """

    values: Array
    bad: Mask
    unit_text: str = ""


def parse_number(text: str, decimal: str) -> tuple[float, str]:
    """Read one cell: its value (NaN where it is no number) and the unit written behind it.

    Parameters
    ----------
    text : str
        The cell, stripped.
    decimal : str
        The table's decimal mark. It decides only what else would be open: whether "1,234" has decimals or
        thousands. In any other cell the marks show that themselves: thousands come in threes.

    Examples
    --------
    >>> parse_number("1.234,5", ","), parse_number("85 %", ".")
    ((1234.5, ''), (85.0, '%'))
    """
    match = _MEASURE.fullmatch(text)
    if match is None:
        return np.nan, ""
    number, unit, mark = match["number"].replace("\N{MINUS SIGN}", "-"), (match["unit"] or "").strip(), match["mark"]
    if unit and not find_units(unit):
        return np.nan, ""
    if mark and (mark != decimal or match["rest"] or number.count(decimal) > 1):
        number = number.replace(mark, "")
    return float(number.replace(",", ".")), unit


def parse_numbers(cells: pd.Series[str], decimal: str, unit: str = "") -> Numbers:
    """Read a column of text cells as numbers.

    Parameters
    ----------
    cells : pandas.Series
        Text; missing where a cell is empty.
    decimal : str
        The table's decimal mark, "." or ",".
    unit : str
        The unit to bring cells to that write another behind their number ("900 mA" under "1.2 A"); the usual one of
        these cells where none is given.
    """
    texts = cells.astype("str")
    values = np.full(len(texts), np.nan)
    if decimal == ".":  # what reads as a number at once, which is nearly all
        values = pd.to_numeric(texts, errors="coerce").to_numpy(dtype=np.float64, copy=True)
    rest = np.flatnonzero(np.isnan(values) & texts.notna().to_numpy())
    bad = np.zeros(len(texts), dtype=bool)
    units: Counter[str] = Counter()
    known: dict[str, tuple[float, str, bool]] = {}
    for row, text in zip(rest, texts.iloc[rest], strict=True):
        if text not in known:
            plain = _without_zeros(text)
            value, behind = parse_number(plain, decimal)
            known[text] = value, behind, bool(np.isnan(value)) and plain.casefold() not in MISSING
        values[row], behind, bad[row] = known[text]
        units[behind] += 1
    del units[""]
    unit = unit or (units.most_common(1)[0][0] if units else "")
    if units.keys() - {unit}:
        known = {text: _in_unit(cell, unit) for text, cell in known.items()}
        for row, text in zip(rest, texts.iloc[rest], strict=True):
            values[row], _, bad[row] = known[text]
    return Numbers(values, bad, unit)


def parse_measures(texts: pd.Series[str], decimal: str) -> tuple[Numbers, list[str]]:
    """Read cells that hold different quantities, each with its own unit, which is brought to its dimension's base unit.

    Parameters
    ----------
    texts : pandas.Series
        Text.
    decimal : str
        The table's decimal mark.

    Returns
    -------
    numbers : Numbers
        Their values.
    units : list of str
        Their units; "" where a cell has none.
    """
    plain = [_without_zeros(text) for text in texts]
    measures = [_in_base_unit(*parse_number(text, decimal)) for text in plain]
    values = np.array([value for value, _ in measures], dtype=np.float64)
    there = np.array([text.casefold() not in MISSING for text in plain], dtype=bool)
    return Numbers(values, np.isnan(values) & there), [unit for _, unit in measures]


def _without_zeros(text: str) -> str:
    """A cell without the zeros that a card leaves behind which lost its power."""
    return text.replace("\0", "").strip()


def _in_base_unit(value: float, unit: str) -> tuple[float, str]:
    """A value in its dimension's base unit; one whose unit may be of two dimensions stays as it is."""
    units = find_units(unit)
    if len(units) != 1:
        return value, unit
    return units[0].to_base(value), base_symbol(units[0].dimension)


def _in_unit(cell: tuple[float, str, bool], unit: str) -> tuple[float, str, bool]:
    """Bring a cell to the column's unit; one of another dimension is bad."""
    value, behind, bad = cell
    if not behind or behind == unit:
        return cell
    pairs = ((own, other) for own in find_units(behind) for other in find_units(unit))
    pair = next(((own, other) for own, other in pairs if own.dimension == other.dimension), None)
    if pair is None:
        return np.nan, behind, True
    own, other = pair
    return (own.to_base(value) - other.offset) / other.factor, unit, bad
