"""The records of an IGC file as columns.

Source: FAI International Gliding Commission, *Technical Specification for GNSS Flight Recorders*, Appendix A: records H
(date and site), I and J (what extends B and K), B (fixes) and K (further data). All fields stand at fixed places, so
that a whole file is cut at once.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from datetime import date
from typing import TYPE_CHECKING, Final

import numpy as np
import pandas as pd

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping, Sequence

    from numpy.typing import NDArray

    from analyzer.arrays import Array, Mask

PRESSURE_ALTITUDE: Final = "pressure altitude"
GNSS_ALTITUDE: Final = "GNSS altitude"
LATITUDE: Final = "latitude"
LONGITUDE: Final = "longitude"
CLOCK: Final = "clock"

FIX_BYTES: Final = 35
"""Length of a B record without its extensions."""

FURTHER_DATA_BYTES: Final = 7
"""Length of a K record without its data."""

CENTURY_PIVOT: Final = 80
"""Two-digit years from 80 on are of the last century: the format is of 1994."""

CODES: Final[dict[str, tuple[int, float]]] = {
    "GSP": (0, 500.0),
    "TAS": (0, 500.0),
    "IAS": (0, 500.0),
    "VAR": (1, 50.0),
    "TRT": (0, 360.0),
    "HDT": (0, 360.0),
    "OAT": (0, 60.0),
    "RPM": (0, 150_000.0),
}
"""Codes read, each with the decimals that the standard gives it and the highest value it can have. The standard writes
no point; some recorders add decimals in longer fields, which shows in values that would else be impossible."""

_DATE: Final = re.compile(rb"^H[FOP]DTE(?:DATE)?[ \t]*:?[ \t]*(\d{2})(\d{2})(\d{2})", re.MULTILINE)
_SITE: Final = re.compile(rb"^H[FOP]SIT(?:[^:\r\n]*:)?[ \t]*([^\r\n]*)", re.MULTILINE)
_EXTENSION: Final = re.compile(rb"(\d{2})(\d{2})([A-Z0-9]{3})")
_MINUTE_DECIMALS: Final = 3
"""Decimals of the minutes of latitude and longitude in the body of a B record."""

Field = tuple[int, int]
"""First byte and the byte after the last of a field in its record."""


@dataclass(frozen=True, eq=False)
class IgcRecords:
    """What an IGC file says, a row a B or K record, in the order of the file.

    Attributes
    ----------
    flown_on : date, optional
        UTC date of the first record; None where no H record says it.
    site : str
        Where, or "".
    clock_s : numpy.ndarray, shape (rows,)
        Seconds of the UTC day.
    columns : dict of str to numpy.ndarray
        "pressure altitude" and "GNSS altitude" in metres, "latitude" and "longitude" in degrees, and the codes of
        `CODES` in the units of the standard (km/h, m/s, degrees, °C, 1/min); NaN where a row does not say.
    damaged : int
        B records that cannot be read.
    without_position : int
        Fixes that the recorder marks as not valid (V): their height is from pressure alone.
    """

    flown_on: date | None
    site: str
    clock_s: Array
    columns: Mapping[str, Array]
    damaged: int
    without_position: int


def parse_records(data: bytes) -> IgcRecords:
    """Read the records of an IGC file."""
    lines = {number: line.rstrip(b"\r ") for number, line in enumerate(data.split(b"\n"))}
    fixes = {number: line for number, line in lines.items() if line.startswith(b"B")}
    whole = {number: line for number, line in fixes.items() if len(line) >= FIX_BYTES}
    further = {n: line for n, line in lines.items() if line.startswith(b"K") and len(line) > FURTHER_DATA_BYTES}
    block = _block(list(whole.values()))
    columns, sound, valid = _fix_columns(block, _extensions(lines.values(), b"I"))
    fix_rows = pd.DataFrame(columns, index=list(whole))[sound]
    further_block, further_fields = _block(list(further.values())), _extensions(lines.values(), b"J")
    further_columns = {CLOCK: _clock(further_block, further_fields)} | _code_columns(further_block, further_fields)
    table = pd.concat([fix_rows, pd.DataFrame(further_columns, index=list(further)).dropna(subset=CLOCK)]).sort_index()
    return IgcRecords(
        flown_on=_flown_on(data),
        site=_site(data),
        clock_s=table[CLOCK].to_numpy(),
        columns={str(name): table[name].to_numpy() for name in table.columns if name != CLOCK},
        damaged=len(fixes) - len(fix_rows),
        without_position=int((sound & ~valid).sum()),
    )


def _block(lines: Sequence[bytes]) -> NDArray[np.uint8]:
    """Lines as rows of bytes, padded with blanks."""
    width = max(map(len, lines), default=FIX_BYTES)
    return np.frombuffer(b"".join(line.ljust(width) for line in lines), dtype=np.uint8).reshape(len(lines), width)


def _extensions(lines: Iterable[bytes], kind: bytes) -> dict[str, Field]:
    """Fields that an I or J record adds, by code; the standard counts bytes from 1."""
    line = next((line for line in lines if line.startswith(kind) and line[1:3].isdigit()), b"")
    fields: dict[str, Field] = {}
    for first, last, code in _EXTENSION.findall(line[3:]):
        if 0 < int(first) <= int(last):
            fields.setdefault(code.decode("ascii"), (int(first) - 1, int(last)))
    return fields


def _integers(block: NDArray[np.uint8], field: Field) -> Array:
    """The numbers in one field, a minus sign allowed in front; NaN where it holds anything else."""
    first, end = field
    if end > block.shape[1]:
        return np.full(block.shape[0], np.nan)
    digits = block[:, first:end].astype(np.int64) - ord("0")
    negative = block[:, first] == ord("-")
    digits[negative, 0] = 0
    values = digits @ (10 ** np.arange(end - first - 1, -1, -1))
    sound = np.all((digits >= 0) & (digits <= 9), axis=1)
    return np.where(sound, np.where(negative, -values, values), np.nan)


def _code_columns(block: NDArray[np.uint8], fields: Mapping[str, Field]) -> dict[str, Array]:
    """The values of each code read, its decimals in place."""
    columns = {}
    for code, field in fields.items():
        if code in CODES:
            values = _integers(block, field)
            decimals, highest = CODES[code]
            largest = float(np.nanmax(np.abs(values), initial=0.0))
            while largest / 10.0**decimals > highest and decimals < field[1] - field[0]:
                decimals += 1
            columns[code] = values / 10.0**decimals
    return columns


def _decimals(block: NDArray[np.uint8], fields: Mapping[str, Field], code: str, already: int) -> Array:
    """What a code for further decimals (TDS, LAD, LOD) adds after those in the body; 0 where it is not there."""
    if code not in fields:
        return np.zeros(block.shape[0])
    return np.nan_to_num(_integers(block, fields[code])) / 10.0 ** (already + fields[code][1] - fields[code][0])


def _clock(block: NDArray[np.uint8], fields: Mapping[str, Field]) -> Array:
    hours, minutes, seconds = (_integers(block, field) for field in ((1, 3), (3, 5), (5, 7)))
    in_range = (hours < 24.0) & (minutes < 60.0) & (seconds <= 60.0)
    hours = np.where(in_range, hours, np.nan)
    return hours * 3600.0 + minutes * 60.0 + seconds + _decimals(block, fields, "TDS", 0)


def _degrees(block: NDArray[np.uint8], start: int, degree_digits: int, negative: str, more: Array) -> Array:
    """Degrees of one coordinate: whole degrees, minutes with three decimals, hemisphere."""
    minutes_at, end = start + degree_digits, start + degree_digits + 5
    degrees, thousandths = _integers(block, (start, minutes_at)), _integers(block, (minutes_at, end))
    size = degrees + (thousandths / 10.0**_MINUTE_DECIMALS + more) / 60.0
    return np.where(block[:, end] == ord(negative), -size, size)


def _fix_columns(block: NDArray[np.uint8], fields: Mapping[str, Field]) -> tuple[dict[str, Array], Mask, Mask]:
    """Columns of the B records; which of them are sound, and which have a valid position."""
    latitude = _degrees(block, 7, 2, "S", _decimals(block, fields, "LAD", _MINUTE_DECIMALS))
    longitude = _degrees(block, 15, 3, "W", _decimals(block, fields, "LOD", _MINUTE_DECIMALS))
    pressure_altitude = _integers(block, (25, 30))
    valid = block[:, 24] == ord("A")
    clock = _clock(block, fields)
    sound = np.all(np.isfinite([clock, pressure_altitude, latitude, longitude]), axis=0)
    columns = {
        CLOCK: clock,
        PRESSURE_ALTITUDE: pressure_altitude,
        GNSS_ALTITUDE: np.where(valid, _integers(block, (30, 35)), np.nan),
        LATITUDE: np.where(valid, latitude, np.nan),
        LONGITUDE: np.where(valid, longitude, np.nan),
    }
    columns |= _code_columns(block, fields)
    return columns, sound, np.asarray(valid)


def _flown_on(data: bytes) -> date | None:
    match = _DATE.search(data)
    if match is None:
        return None
    day, month, year = (int(part) for part in match.groups())
    try:
        return date(year + (1900 if year >= CENTURY_PIVOT else 2000), month, day)
    except ValueError:
        return None


def _site(data: bytes) -> str:
    match = _SITE.search(data)
    return match[1].decode("utf-8", errors="replace").strip() if match else ""
