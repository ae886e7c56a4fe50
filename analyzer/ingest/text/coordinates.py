"""Latitude and longitude as written: degrees and minutes, letters of hemispheres in the cell or beside it, pairs."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING, Final

import numpy as np

from analyzer.ingest.text.numbers import parse_number

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping

    import pandas as pd

    from analyzer.arrays import Array
    from analyzer.ingest.columns.meaning import Meaning
    from analyzer.ingest.text.labels import Labels
    from analyzer.ingest.text.layout import Layout

_PARTS: Final = re.compile(
    r"(?P<before>[NSEWnsew]?)\s*(?P<sign>[+-]?)(?P<degrees>\d{1,3})\s*[°ºd:\s]\s*(?P<minutes>\d{1,2}(?:[.,]\d+)?)\s*['\u2032m:\s]?\s*"
    r"(?:(?P<seconds>\d{1,2}(?:[.,]\d+)?)\s*(?:[\"\u2033s]|'')?)?\s*(?P<after>[NSEWnsew]?)"
)
_PACKED: Final = re.compile(
    r"(?P<degrees>\d{2}(?=\d{2}\.\d+\s*[NSns])|\d{3}(?=\d{2}\.\d+\s*[EWew]))(?P<minutes>\d{2}\.\d+)\s*(?P<after>[NSEWnsew])"
)
"""NMEA 0183 writes two or three digits of degrees and then minutes, 4807.038 N."""

_DECIMAL: Final = re.compile(r"(?P<before>[NSEWnsew]?)\s*(?P<number>[+-]?\d[\d.,]*)\s*°?\s*(?P<after>[NSEWnsew]?)")
_PAIR: Final = re.compile(
    r"\s*(?P<first>[NSns]?\s*[+-]?\d{1,2}\.\d{3,}\s*[NSns]?)[\s,;/]+(?P<second>[EWew]?\s*[+-]?\d{1,3}\.\d{3,}\s*[EWew]?)\s*"
)

MIN_PAIR_SHARE: Final = 0.8
"""Share of a column's sampled cells that have to be pairs of coordinates."""


LARGEST_DEGREES: Final = 180.0
"""Coordinates beyond are no plain degrees."""


def parse_coordinate(text: str, decimal: str = ".") -> float:
    r"""Decimal degrees of one coordinate, south and west negative; NaN when it is none.

    Examples
    --------
    >>> parse_coordinate("48.5 N"), parse_coordinate("W 11° 30' 36\"")
    (48.5, -11.51)
    """
    text = text.strip()
    if match := _PACKED.fullmatch(text):
        degrees = float(match["degrees"]) + float(match["minutes"]) / 60.0
        return -degrees if match["after"].upper() in "SW" else degrees
    if match := _DECIMAL.fullmatch(text):
        degrees, negative = parse_number(match["number"], decimal)[0], False
    elif match := _PARTS.fullmatch(text):
        parts = (match[part] for part in ("degrees", "minutes", "seconds"))
        degrees = sum(float((part or "0").replace(",", ".")) / 60.0**power for power, part in enumerate(parts))
        negative = match["sign"] == "-"
    else:
        return np.nan
    hemisphere = (match["before"] or match["after"]).upper()
    return -degrees if negative or hemisphere in ("S", "W") else degrees


def is_pair_column(sample: Iterable[str]) -> bool:
    """Whether most cells hold latitude and longitude together ("48.12345 11.54321")."""
    matches = [_PAIR.fullmatch(cell) is not None for cell in sample]
    return bool(matches) and sum(matches) >= MIN_PAIR_SHARE * len(matches)


def parse_coordinates(cells: pd.Series[str], decimal: str) -> Array:
    """Read a column of coordinates."""
    texts = cells.to_numpy(dtype=object, na_value="")
    known = {text: parse_coordinate(str(text), decimal) for text in dict.fromkeys(texts)}
    return np.array([known[text] for text in texts], dtype=np.float64)


def parse_pairs(cells: pd.Series[str]) -> tuple[Array, Array]:
    """Read a column of latitude and longitude together."""
    matches = [_PAIR.fullmatch(str(text)) for text in cells.to_numpy(dtype=object, na_value="")]
    pairs = [(parse_coordinate(m["first"]), parse_coordinate(m["second"])) if m else (np.nan, np.nan) for m in matches]
    both = np.array(pairs, dtype=np.float64).reshape(-1, 2)
    return both[:, 0], both[:, 1]


def letter_columns(layout: Layout) -> dict[int, str]:
    """Columns of nothing but the letters of hemispheres, and the coordinate these belong to."""
    found = {}
    for i in range(len(layout.headers)):
        letters = {cell.upper() for cell in layout.column_sample(i)}
        for channel, pair in (("latitude_deg", {"N", "S"}), ("longitude_deg", {"E", "W"})):
            if letters and letters <= pair:
                found[i] = channel
    return found


def coordinates_of(letters: Mapping[int, str], found: Mapping[int, tuple[Meaning, ...]]) -> dict[int, int]:
    """Give each column of letters the column of its coordinate beside it; of two the one before it."""
    places = {
        i: [at for at, meaning in found.items() if any(one.channel.name == channel for one in meaning)]
        for i, channel in letters.items()
    }
    beside = {i: [at for at in ats if abs(at - i) == 1] for i, ats in places.items()}
    return {i: min(ats) for i, ats in beside.items() if ats}


def signed(values: Array, letters: Labels) -> Array:
    """Coordinates in degrees, south and west negative.

    Satellite receivers write them as degrees and minutes in one number, ddmm.mmmm (NMEA 0183).
    """
    size = np.abs(values)
    if np.nanmax(size, initial=0.0) > LARGEST_DEGREES:
        size = size // 100.0 + size % 100.0 / 60.0
    negative = [code for code, word in enumerate(letters.words) if word.upper() in ("S", "W")]
    return np.where(np.isin(letters.codes, negative), -size, np.copysign(size, values))
