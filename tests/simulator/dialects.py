"""Writes a canonical log as one of the many text tables that telemetry comes in.

The dialects are invented; each shows some of the habits that real files have: separators, decimal commas, units in
the header or in a row of their own, other units, clocks, preambles, encodings, one row a sensor, one row a value.
"""

from __future__ import annotations

import io
from dataclasses import dataclass, replace
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Literal

import numpy as np
import pandas as pd

TimeStyle = Literal["seconds", "milliseconds", "clock", "date and clock", "iso", "epoch"]
Layout = Literal["wide", "one row a sensor", "one row a value"]
START = datetime(2026, 5, 16, 10, 42, 7, tzinfo=UTC)
BEFORE_MIDNIGHT = datetime(2026, 6, 20, 23, 57, 30, tzinfo=UTC)


@dataclass(frozen=True)
class Column:
    """How a dialect shows a channel: header, unit, value = canonical * factor + shift, decimals."""

    header: str
    unit: str = ""
    factor: float = 1.0
    decimals: int = 2
    shift: float = 0.0


@dataclass(frozen=True)
class Dialect:
    """One way to write a log. `header` may use {name} and {unit}; `units_row` puts the units below the header."""

    name: str
    columns: dict[str, Column]
    separator: str = ","
    decimal: str = "."
    header: str = "{name} ({unit})"
    units_row: bool = False
    preamble: tuple[str, ...] = ()
    encoding: str = "utf-8"
    newline: str = "\n"
    quoted: bool = False
    time: TimeStyle = "seconds"
    time_header: tuple[str, ...] = ("Time",)
    layout: Layout = "wide"
    start: datetime = START
    epilogue: str = ""


ENGLISH = {
    "altitude_m": Column("Altitude", "m", decimals=2),
    "vertical_speed_m_s": Column("Vertical speed", "m/s"),
    "voltage_v": Column("Voltage", "V", decimals=3),
    "current_a": Column("Current", "A"),
    "rpm": Column("RPM", "rpm", decimals=0),
    "throttle": Column("Throttle", "%", 100.0, 0),
    "charge_ah": Column("Capacity used", "mAh", 1000.0, 0),
    "temperature_c": Column("ESC temperature", "°C", decimals=1),
    "receiver_voltage_v": Column("Receiver voltage", "V"),
    "airspeed_m_s": Column("Airspeed", "m/s"),
    "latitude_deg": Column("Latitude", "deg", decimals=6),
    "longitude_deg": Column("Longitude", "deg", decimals=6),
    "ground_speed_m_s": Column("Ground speed", "m/s"),
    "pressure_pa": Column("Static pressure", "hPa", 0.01, 3),
    "flight_mode": Column("Flight mode"),
}
GERMAN = {
    "altitude_m": Column("Höhe", "m"),
    "vertical_speed_m_s": Column("Steigen", "m/s"),
    "voltage_v": Column("Spannung", "V", decimals=3),
    "current_a": Column("Strom", "A"),
    "rpm": Column("Drehzahl", "1/min", decimals=0),
    "throttle": Column("Gas", "%", 100.0, 0),
    "charge_ah": Column("Verbrauch", "mAh", 1000.0, 0),
    "temperature_c": Column("Temperatur", "°C", decimals=1),
    "receiver_voltage_v": Column("Empfängerspannung", "V"),
    "airspeed_m_s": Column("Fahrt", "km/h", 3.6),
    "latitude_deg": Column("Breite", "°", decimals=6),
    "longitude_deg": Column("Länge", "°", decimals=6),
    "ground_speed_m_s": Column("GPS speed", "km/h", 3.6),
    "pressure_pa": Column("Luftdruck", "hPa", 0.01, 3),
    "flight_mode": Column("Flugphase"),
}
IMPERIAL = {
    **ENGLISH,
    "altitude_m": Column("Hgt", "ft", 1 / 0.3048),
    "vertical_speed_m_s": Column("Vario", "ft/min", 60 / 0.3048, 1),
    "rpm": Column("Motor RPM", "rpm", decimals=0),
    "temperature_c": Column("ESC Temp", "°F", 1.8, 1, 32.0),
    "airspeed_m_s": Column("Airspeed", "mph", 3600 / 1609.344),
    "ground_speed_m_s": Column("Ground speed", "kt", 3600 / 1852),
}
SHORT = {
    "altitude_m": Column("alt", "m"),
    "vertical_speed_m_s": Column("vspeed", "m/s"),
    "voltage_v": Column("vbat", "V", decimals=3),
    "current_a": Column("curr", "A"),
    "rpm": Column("rpm", "rpm", decimals=0),
    "throttle": Column("thr", "%", 100.0, 0),
    "charge_ah": Column("mah used", "mAh", 1000.0, 0),
    "temperature_c": Column("esc temp", "C", decimals=1),
    "receiver_voltage_v": Column("rxbt", "V"),
    "airspeed_m_s": Column("aspd", "kmh", 3.6),
    "latitude_deg": Column("lat", "deg", decimals=6),
    "longitude_deg": Column("lon", "deg", decimals=6),
    "ground_speed_m_s": Column("gspd", "kmh", 3.6),
    "pressure_pa": Column("static pressure", "Pa", decimals=1),
    "flight_mode": Column("fm"),
}
PREAMBLE = (
    "# telemetry download",
    "# model: Dunlin 27",
    "# recorder: field logger, firmware 0.9",
    "",
    "Pilot;club member 7",
)
_ALL = (
    Dialect("plain", ENGLISH),
    Dialect(
        "semicolon", GERMAN, ";", ",", "{name} [{unit}]", encoding="latin-1", newline="\r\n", time_header=("Zeit",)
    ),
    Dialect("units_row", ENGLISH, "\t", header="{name}", units_row=True),
    Dialect("feet", IMPERIAL, time="milliseconds", time_header=("Timestamp",)),
    Dialect("clock", SHORT, header="{name}({unit})", time="clock", start=BEFORE_MIDNIGHT),
    Dialect("date_and_clock", SHORT, header="{name}({unit})", time="date and clock", time_header=("Date", "Time")),
    Dialect("iso", ENGLISH, header="{name} [{unit}]", time="iso", time_header=("Timestamp",)),
    Dialect("epoch", ENGLISH, header="{name}_{unit}", time="epoch", time_header=("unix time",)),
    Dialect("preamble", ENGLISH, ";", encoding="utf-8-sig", preamble=PREAMBLE, newline="\r\n"),
    Dialect("utf16", GERMAN, "\t", ",", "{name} [{unit}]", encoding="utf-16", time_header=("Zeit",), newline="\r\n"),
    Dialect("quoted", ENGLISH, decimal=",", quoted=True),
    Dialect("spaces", SHORT, " ", header="{name}_{unit}", time_header=("t",)),
    Dialect("sensor_rows", ENGLISH, header="{name}, {unit}", quoted=True, layout="one row a sensor"),
    Dialect("long", ENGLISH, layout="one row a value", time="milliseconds", time_header=("time_ms",)),
)
DIALECTS: dict[str, Dialect] = {dialect.name: dialect for dialect in _ALL}
SENSOR_OF = {"altitude_m": 0, "vertical_speed_m_s": 0, "pressure_pa": 0, "airspeed_m_s": 2, "flight_mode": 3,
             "latitude_deg": 2, "longitude_deg": 2, "ground_speed_m_s": 2, "receiver_voltage_v": 3}  # fmt: skip
"""Which sensor a channel belongs to where each writes its own rows; the rest come from the speed controller (1)."""


def write_dialect(frame: pd.DataFrame, path: Path, dialect: str | Dialect) -> None:
    """Write a canonical log; channels that the dialect has no header for are left out, missing values are empty."""
    style = DIALECTS[dialect] if isinstance(dialect, str) else dialect
    if style.layout == "one row a value":
        lines = _long_lines(frame, style)
    else:
        table = _one_row_a_sensor(frame) if style.layout == "one row a sensor" else frame
        lines = _wide_lines(table, style)
    text = style.newline.join((*style.preamble, *lines, style.epilogue))
    path.write_bytes(text.encode(style.encoding))


def _wide_lines(frame: pd.DataFrame, style: Dialect) -> list[str]:
    names = [name for name in frame.columns if name in style.columns]
    columns = {name: style.columns[name] for name in names}
    cells = [*_time_cells(frame["time_s"].to_numpy(), style), *(_cells(frame[n], c, style) for n, c in columns.items())]
    time_unit = {"seconds": "s", "milliseconds": "ms"}.get(style.time, "")
    shown = [(header, time_unit) for header in style.time_header]
    shown += [(column.header, column.unit) for column in columns.values()]
    rows = [[_header(name, unit, style) for name, unit in shown]]
    if style.units_row:
        rows.append([unit for _, unit in shown])
    rows += map(list, zip(*cells, strict=True))
    return [_join(row, style) for row in rows]


def _header(name: str, unit: str, style: Dialect) -> str:
    text = style.header.format(name=name, unit=unit) if unit else name
    return text.replace(" ", "_") if style.separator == " " else text


def _join(row: list[str], style: Dialect) -> str:
    if style.quoted:
        row = [f'"{cell}"' if cell else "" for cell in row]
    if style.separator == " ":
        return "  ".join(cell or "-" for cell in row)
    return style.separator.join(row)


def _cells(values: pd.Series, column: Column, style: Dialect) -> list[str]:
    if values.dtype == object or pd.api.types.is_string_dtype(values):
        return ["" if pd.isna(value) else str(value) for value in values]
    shown = values.to_numpy(float) * column.factor + column.shift
    return [_number(value, column.decimals, style.decimal) for value in shown]


def _number(value: float, decimals: int, decimal: str) -> str:
    return "" if np.isnan(value) else f"{value:.{decimals}f}".replace(".", decimal)


def _time_cells(seconds: np.ndarray, style: Dialect) -> list[list[str]]:  # type: ignore[type-arg]
    if style.time == "seconds":
        return [[_number(value, 3, style.decimal) for value in seconds]]
    if style.time == "milliseconds":
        return [[f"{value * 1000:.0f}" for value in seconds]]
    if style.time == "epoch":
        return [[f"{style.start.timestamp() + value:.3f}" for value in seconds]]
    moments = [style.start + timedelta(seconds=float(value)) for value in seconds]
    if style.time == "iso":
        return [[moment.isoformat(timespec="milliseconds").replace("+00:00", "Z") for moment in moments]]
    clock = [moment.time().isoformat(timespec="milliseconds") for moment in moments]
    if style.time == "clock":
        return [clock]
    return [[moment.date().isoformat() for moment in moments], clock]


def _one_row_a_sensor(frame: pd.DataFrame) -> pd.DataFrame:
    """Split every row into one row a sensor, a few milliseconds apart; the other sensors' cells are empty."""
    names = [name for name in frame.columns if name != "time_s"]
    parts = []
    for sensor in range(4):
        own = [name for name in names if SENSOR_OF.get(name, 1) == sensor]
        if own:
            part = frame[["time_s", *own]].dropna(how="all", subset=own)
            parts.append(part.assign(time_s=part["time_s"] + 0.004 * sensor))
    return pd.concat(parts).sort_values("time_s", kind="stable").reindex(columns=frame.columns)


def _long_lines(frame: pd.DataFrame, style: Dialect) -> list[str]:
    """Time, channel, value, unit: one row a value."""
    times = _time_cells(frame["time_s"].to_numpy(), replace(style, layout="wide"))[0]
    out = io.StringIO()
    out.write(_join([*style.time_header, "channel", "value", "unit"], style))
    names = [name for name in frame.columns if name in style.columns]
    cells = {name: _cells(frame[name], style.columns[name], style) for name in names}
    for index, time in enumerate(times):
        for name in names:
            if cells[name][index]:
                column = style.columns[name]
                out.write("\n" + _join([time, column.header, cells[name][index], column.unit], style))
    return out.getvalue().split("\n")
