"""A random log written in a random dialect and read back is the same log."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from hypothesis import given
from hypothesis import strategies as st

from analyzer.errors import ClimbledgerError
from analyzer.ingest import read_log_bytes
from analyzer.units import unit_of

NAMES = {
    "altitude_m": (("Altitude", ("m", "ft", "cm")), ("Höhe", ("m",)), ("Baro alt", ("m", "ft"))),
    "voltage_v": (("Voltage", ("V", "mV")), ("Spannung", ("V",)), ("Batt", ("V", "mV"))),
    "current_a": (("Current", ("A", "mA")), ("Strom", ("A",)), ("Motor amps", ("A",))),
    "rpm": (("RPM", ("1/min", "Hz")), ("Drehzahl", ("1/min",)), ("Motor speed", ("rpm",))),
    "temperature_c": (("ESC temp", ("°C", "°F", "K")), ("Temperatur", ("°C",))),
    "ground_speed_m_s": (("GPS speed", ("m/s", "km/h", "kt")), ("SOG", ("kt",))),
}
RANGES = {
    "altitude_m": (-50.0, 800.0),
    "voltage_v": (6.0, 25.0),
    "current_a": (0.0, 80.0),
    "rpm": (0.0, 30_000.0),
    "temperature_c": (-10.0, 90.0),
    "ground_speed_m_s": (0.0, 60.0),
}
DIMENSIONS = {"rpm": "rotation", "temperature_c": "temperature", "ground_speed_m_s": "speed"}
HEADERS = ("{name} [{unit}]", "{name} ({unit})", "{name}/{unit}", "{name}, {unit}", "{name} in {unit}")


@dataclass(frozen=True)
class Style:
    """How a table is written."""

    separator: str
    decimal: str
    header: str
    units_row: bool
    quoted: bool
    encoding: str
    newline: str
    preamble: tuple[str, ...]
    time: str
    sparse: bool


@st.composite
def styles(draw: st.DrawFn) -> Style:
    separator = draw(st.sampled_from([",", ";", "\t", "|"]))
    quoted = draw(st.booleans())
    decimal = draw(st.sampled_from(".,")) if separator != "," or quoted else "."
    headers = HEADERS if quoted or separator != "," else tuple(form for form in HEADERS if "," not in form)
    return Style(
        separator=separator,
        decimal=decimal,
        header=draw(st.sampled_from(headers)),
        units_row=draw(st.booleans()),
        quoted=quoted,
        encoding=draw(st.sampled_from(["utf-8", "utf-8-sig", "utf-16", "utf-16-le", "utf-16-be", "cp1252"])),
        newline=draw(st.sampled_from(["\n", "\r\n", "\r"])),
        preamble=draw(st.sampled_from([(), ("# a log",), ("Logger: invented", ""), ("# a", "# b", "", "# c")])),
        time=draw(st.sampled_from(["s", "ms", "us", "clock", "iso", "epoch ms"])),
        sparse=draw(st.booleans()),
    )


@st.composite
def logs(draw: st.DrawFn) -> dict[str, np.ndarray]:
    count = draw(st.integers(3, 40))
    step = draw(st.sampled_from([0.05, 0.1, 0.2, 0.5, 1.0]))
    columns = {"time_s": np.round(np.arange(count) * step, 3)}
    others = draw(st.lists(st.sampled_from(sorted(set(NAMES) - {"altitude_m"})), unique=True, max_size=4))
    for name in ("altitude_m", *others):
        values = draw(st.lists(st.floats(*RANGES[name]), min_size=count, max_size=count))
        columns[name] = np.round(values, 2)
    return columns


def time_cell(seconds: float, style: Style) -> str:
    if style.time in ("s", "ms", "us"):
        return f"{seconds * {'s': 1.0, 'ms': 1e3, 'us': 1e6}[style.time]:.3f}".rstrip("0").rstrip(".") or "0"
    if style.time == "epoch ms":
        return f"{1.78e12 + seconds * 1e3:.0f}"
    clock = f"{int(seconds) // 3600 + 10:02d}:{int(seconds) // 60 % 60:02d}:{seconds % 60:06.3f}"
    return clock if style.time == "clock" else f"2026-05-17T{clock}Z"


def written(columns: dict[str, np.ndarray], style: Style, picks: dict[str, tuple[str, str]]) -> bytes:
    """Write a log in a style; `picks` gives the header's name and the unit of each channel."""
    time_unit = style.time if style.time in ("s", "ms", "us") else ""
    heads = [("Time", time_unit), *(picks[name] for name in columns if name != "time_s")]

    def header(name: str, unit: str) -> str:
        return name if style.units_row or not unit else style.header.format(name=name, unit=unit)

    table = [[header(name, unit) for name, unit in heads]]
    if style.units_row:
        table.append([unit or "-" for _, unit in heads])
    channels = [name for name in columns if name != "time_s"]
    for i, seconds in enumerate(columns["time_s"]):
        cells = []
        for name in channels:
            unit = unit_of(picks[name][1], DIMENSIONS.get(name))
            shown = (float(columns[name][i]) - unit.offset) / unit.factor
            cells.append(f"{shown:.6f}".replace(".", style.decimal))
        stamp = time_cell(float(seconds), style)
        stamp = stamp.replace(".", style.decimal) if time_unit else stamp
        if style.sparse:  # each sensor in a line of its own
            table += [[stamp, *(cell if k == j else "" for k, cell in enumerate(cells))] for j in range(len(cells))]
        else:
            table.append([stamp, *cells])
    mark = '"' if style.quoted else ""
    lines = [*style.preamble, *(style.separator.join(f"{mark}{cell}{mark}" for cell in row) for row in table)]
    return (style.newline.join(lines) + style.newline).encode(style.encoding)


@st.composite
def cases(draw: st.DrawFn) -> tuple[dict[str, np.ndarray], Style, dict[str, tuple[str, str]]]:
    columns, style = draw(logs()), draw(styles())
    picks = {}
    for name in columns:
        if name != "time_s":
            head, units = draw(st.sampled_from(NAMES[name]))
            picks[name] = (head, draw(st.sampled_from(units)))
    return columns, style, picks


@given(cases())
def test_written_and_read_is_the_same(case: tuple[dict[str, np.ndarray], Style, dict[str, tuple[str, str]]]) -> None:
    columns, style, picks = case
    log = read_log_bytes(written(columns, style, picks), "x.csv")
    assert set(log.frame.columns) == set(columns)
    for name, values in columns.items():
        np.testing.assert_allclose(log.frame[name], values, atol=2e-4, rtol=0, err_msg=name)


@given(cases(), st.floats(0.0, 1.0), st.binary(max_size=40), st.floats(0.0, 1.0))
def test_damage_gives_a_log_or_one_line(
    case: tuple[dict[str, np.ndarray], Style, dict[str, tuple[str, str]]], place: float, noise: bytes, end: float
) -> None:
    columns, style, picks = case
    data = written(columns, style, picks)
    start = int(place * len(data))
    damaged = data[:start] + noise + data[start + int(end * (len(data) - start)) :]
    try:
        log = read_log_bytes(damaged, "x.csv")
    except ClimbledgerError as error:
        assert str(error).isprintable()
    else:
        assert (np.diff(log.frame["time_s"]) > 0.0).all()
        assert log.frame["time_s"].iloc[0] == 0.0


@given(st.binary(max_size=2000))
def test_any_bytes_give_a_log_or_one_line(data: bytes) -> None:
    try:
        read_log_bytes(data, "x.csv")
    except ClimbledgerError as error:
        assert str(error).isprintable()


@given(st.text(alphabet="0123456789.,;:-+eE \t\n\r\"'#abtimealVmsZT/[]()%", max_size=400))
def test_any_table_like_text_gives_a_log_or_one_line(text: str) -> None:
    try:
        read_log_bytes(("time,alt\n" + text).encode(), "x.csv")
    except ClimbledgerError as error:
        assert str(error).isprintable()
