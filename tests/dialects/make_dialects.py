"""Writes one invented flight in the dialects of this folder.

Run by hand when the flight changes: ``python tests/dialects/make_dialects.py``. The files are kept, so that a dialect
can be looked at, and so that one can be added by hand: any file here is read by the test and has to give the same log.
"""

from __future__ import annotations

import json
from collections.abc import Callable, Sequence
from datetime import UTC, datetime, timedelta
from pathlib import Path

FOLDER = Path(__file__).parent
SAMPLES = 120
STEP_S = 0.2
START = datetime(2026, 6, 20, 23, 59, 50, tzinfo=UTC)

Row = dict[str, float | str]


def flight() -> list[Row]:
    """A hand launch, a climb of ten seconds, a glide; rounded to what every dialect can write."""
    rows: list[Row] = []
    height = 1.0
    for i in range(SAMPLES):
        motor = 10 <= i < 60
        height += STEP_S * (6.5 if motor else -0.5)
        rows.append(
            {
                "time_s": round(i * STEP_S, 3),
                "altitude_m": round(height, 2),
                "voltage_v": round(12.45 - (0.55 if motor else 0.0) - i * 0.0005, 2),
                "current_a": round(24.0 + 0.01 * i if motor else 0.25, 2),
                "rpm": float(7200 + i if motor else 0),
                "temperature_c": 20.0 + (i // 12),
                "throttle": 0.9 if motor else 0.0,
                "charge_ah": round(max(0, min(i, 60) - 10) * STEP_S * 24.3 / 3600.0, 3),
                "flight_mode": "launch" if motor else "cruise",
            }
        )
    return rows


ALL = ("time_s", "altitude_m", "voltage_v", "current_a", "rpm", "temperature_c", "throttle", "charge_ah", "flight_mode")


def text(value: float | str, decimals: int = 3, mark: str = ".") -> str:
    """A cell, without needless zeros."""
    return (
        value if isinstance(value, str) else f"{value:.{decimals}f}".rstrip("0").rstrip(".").replace(".", mark) or "0"
    )


def table(headers: Sequence[str], cells: Callable[[Row], Sequence[str]], separator: str = ",") -> str:
    """A plain table."""
    return "".join(separator.join(line) + "\n" for line in (headers, *map(cells, flight())))


def picked(*names: str, mark: str = ".") -> Callable[[Row], list[str]]:
    """Cells of some channels."""
    return lambda row: [text(row[name], mark=mark) for name in names]


def instant(row: Row) -> datetime:
    """Wall-clock time of a row."""
    return START + timedelta(seconds=float(row["time_s"]))


def canonical() -> str:
    return table(ALL, picked(*ALL))


def german() -> str:
    headers = (
        "Zeit [s]",
        "Höhe [m]",
        "Spannung [V]",
        "Strom [A]",
        "Drehzahl [1/min]",
        "Temperatur [°C]",
        "Gas [%]",
        "Verbrauch [mAh]",
        "Flugphase",
    )
    return table(
        headers, lambda row: [*picked(*ALL[:6], mark=",")(row), *scaled(row, ","), str(row["flight_mode"])], ";"
    )


def scaled(row: Row, mark: str = ".") -> list[str]:
    """Throttle in per cent, charge in mAh."""
    return [text(100.0 * float(row["throttle"]), mark=mark), text(1000.0 * float(row["charge_ah"]), mark=mark)]


def units_row() -> str:
    lines = table(("Time", "Altitude", "Voltage", "Current", "RPM"), picked(*ALL[:5]), "\t").split("\n")
    return "\n".join([lines[0], "\t".join(("s", "m", "V", "A", "1/min")), *lines[1:]])


def aligned() -> str:
    lines = [f"# {'t':>8} {'alt':>10} {'volt':>9} {'amp':>9}"]
    lines += [
        f"  {row['time_s']:8.2f} {row['altitude_m']:10.2f} {row['voltage_v']:9.2f} {row['current_a']:9.2f}"
        for row in flight()
    ]
    return "# an invented flight\n# columns: see below\n\n" + "\n".join(lines) + "\n"


def padded_preamble() -> str:
    body = table(("Time (s)", "Altitude (m)", "Voltage (V)", "Current (A)"), picked(*ALL[:4], mark=","), ";")
    return "Recorder;field logger;;\nPilot;club member 7;;\nDate;2026-06-20;;\n;;;\n" + body


def quoted() -> str:
    names = ("Time, s", "Altitude, m", "Voltage, V", "Current, A", "Flight mode")
    cells = picked("time_s", "altitude_m", "voltage_v", "current_a", "flight_mode", mark=",")
    return table([f'"{name}"' for name in names], lambda row: [f'"{cell}"' for cell in cells(row)])


def trailing() -> str:
    return table(("Time [s]", "Altitude [m]", "Voltage [V]", ""), lambda row: [*picked(*ALL[:3])(row), ""])


def other_units() -> str:
    headers = (
        "Timestamp (ms)",
        "Hgt (ft)",
        "Batt (mV)",
        "Curr (mA)",
        "Rotation (Hz)",
        "Temp (F)",
        "Thr (us)",
        "Used (mAh)",
    )

    def cells(row: Row) -> list[str]:
        return [
            f"{1000 * float(row['time_s']):.0f}",
            f"{float(row['altitude_m']) / 0.3048:.3f}",
            f"{1000 * float(row['voltage_v']):.0f}",
            f"{1000 * float(row['current_a']):.0f}",
            f"{float(row['rpm']) / 60:.4f}",
            f"{float(row['temperature_c']) * 1.8 + 32:.2f}",
            f"{1000 + 1000 * float(row['throttle']):.0f}",
            f"{1000 * float(row['charge_ah']):.0f}",
        ]

    return table(headers, cells)


def whole_second_clock() -> str:
    return table(("Time", "Alt (m)", "Volt (V)"), lambda row: [f"{instant(row):%H:%M:%S}", *picked(*ALL[1:3])(row)])


def clock_comma() -> str:
    def stamp(row: Row) -> str:
        return f"{instant(row):%H:%M:%S},{instant(row).microsecond // 1000:03d}"

    return table(
        ("Uhrzeit", "Höhe (m)", "Strom (A)"),
        lambda row: [stamp(row), *picked("altitude_m", "current_a", mark=",")(row)],
        ";",
    )


def date_and_clock() -> str:
    def cells(row: Row) -> list[str]:
        return [f"{instant(row):%d.%m.%Y}", f"{instant(row):%H:%M:%S.%f}"[:-3], *picked(*ALL[1:4])(row)]

    return table(("Date", "Time", "Altitude[m]", "Voltage[V]", "Current[A]"), cells)


def half_day_clock() -> str:
    def cells(row: Row) -> list[str]:
        return [
            f"{instant(row):%m/%d/%Y}",
            f"{instant(row):%I:%M:%S.%f}"[:-3] + f"{instant(row): %p}",
            *picked(*ALL[1:4])(row),
        ]

    return table(("Date", "Time", "Altitude (m)", "Voltage (V)", "Current (A)"), cells)


def iso_zone() -> str:
    def stamp(row: Row) -> str:
        return instant(row).isoformat(timespec="milliseconds").replace("+00:00", "Z")

    return table(("Timestamp", "Altitude / m", "Voltage / V"), lambda row: [stamp(row), *picked(*ALL[1:3])(row)])


def iso_local() -> str:
    return table(
        ("Zeitstempel", "Höhe in m", "Spannung in V"),
        lambda row: [f"{instant(row):%Y-%m-%d %H:%M:%S.%f}", *picked(*ALL[1:3], mark=",")(row)],
        ";",
    )


def epoch_milliseconds() -> str:
    def cells(row: Row) -> list[str]:
        return [f"{instant(row).timestamp() * 1000:.0f}", *picked(*ALL[1:5])(row)]

    return table(("time", "alt_m", "vbat_v", "current_a", "motor_rpm"), cells)


def sparse() -> str:
    lines = ["Time (s),Altitude (m),Voltage (V),Current (A),RPM"]
    for row in flight():
        stamp = text(row["time_s"])
        lines += [
            f"{stamp},{text(row['altitude_m'])},,,",
            f"{stamp},,{text(row['voltage_v'])},{text(row['current_a'])},",
            f"{stamp},,,,{text(row['rpm'])}",
        ]
    return "\n".join(lines) + "\n"


def long_with_units() -> str:
    lines = ["time;channel;value;unit"]
    for row in flight():
        stamp = text(row["time_s"], mark=",")
        for name, unit in (("Altitude", "m"), ("Voltage", "V"), ("Current", "A"), ("Flight mode", "")):
            key = {
                "Altitude": "altitude_m",
                "Voltage": "voltage_v",
                "Current": "current_a",
                "Flight mode": "flight_mode",
            }[name]
            lines.append(f"{stamp};{name};{text(row[key], mark=',')};{unit}")
    return "\n".join(lines) + "\n"


def long_by_channel() -> str:
    lines = ["sensor,t_ms,reading"]
    for name, key in (("Baro alt [m]", "altitude_m"), ("Pack voltage [V]", "voltage_v"), ("Odd thing", "rpm")):
        lines += [f"{name},{1000 * float(row['time_s']):.0f},{text(row[key])}" for row in flight()]
    return "\n".join(lines) + "\n"


def header_again() -> str:
    lines = table(("Time (s)", "Altitude (m)", "Voltage (V)"), picked(*ALL[:3])).splitlines()
    return "\n".join([*lines[:50], lines[0], *lines[50:90], "# marker set by the pilot", *lines[90:]]) + "\n"


def units_in_cells() -> str:
    def cells(row: Row) -> list[str]:
        return [
            f"{text(row['time_s'])} s",
            f"{text(row['altitude_m'])} m",
            f"{text(row['voltage_v'])}V",
            f"{100 * float(row['throttle']):.0f}%",
        ]

    return table(("Time", "Altitude", "Voltage", "Throttle"), cells, "|")


def no_units() -> str:
    headers = ("time", "altitude", "battery voltage", "current", "rpm", "throttle", "capacity used")

    def cells(row: Row) -> list[str]:
        thousand = (f"{1000 * float(row[key]):.0f}" for key in ("time_s", "voltage_v"))
        stamp, millivolts = thousand
        return [stamp, text(row["altitude_m"]), millivolts, text(row["current_a"]), text(row["rpm"]), *scaled(row)]

    return table(headers, cells)


def french() -> str:
    headers = ("Temps (s)", "Hauteur (m)", "Tension (V)", "Courant (A)", "Température (°C)", "Phase de vol")
    return table(
        headers,
        picked("time_s", "altitude_m", "voltage_v", "current_a", "temperature_c", "flight_mode", mark=","),
        "\t",
    )


def spanish() -> str:
    headers = ("Tiempo [s]", "Altura [m]", "Tensión [V]", "Corriente [A]", "Modo de vuelo")
    return table(headers, picked("time_s", "altitude_m", "voltage_v", "current_a", "flight_mode", mark=","), ";")


def grouped() -> str:
    lines = table(
        ("Time", "Altitude", "Temperature", "Voltage", "Temperature"),
        lambda row: [*picked("time_s", "altitude_m", "temperature_c", "voltage_v", "temperature_c")(row)],
        ";",
    ).splitlines()
    return "\n".join(["Logger;Vario;;ESC;", lines[0], "s;m;°C;V;°C", *lines[1:]]) + "\n"


def counter_overflow() -> str:
    offset_us = 2**32 - 7_000_000

    def cells(row: Row) -> list[str]:
        return [f"{(offset_us + round(1e6 * float(row['time_s']))) % 2**32}", *picked(*ALL[1:4])(row)]

    return table(("t (us)", "alt (m)", "vbat (V)", "amps (A)"), cells)


def thousands() -> str:
    def cells(row: Row) -> list[str]:
        return [text(row["time_s"]), text(row["altitude_m"]), f'"{row["rpm"]:,.1f}"']

    return table(("Time (s)", "Altitude (m)", "RPM"), cells)


def negative_discharge() -> str:
    return table(
        ("Time (s)", "Altitude (m)", "Current (A)"),
        lambda row: [*picked(*ALL[:2])(row), f"{-float(row['current_a']):.2f}"],
    )


def centred_throttle() -> str:
    return table(
        ("Time (s)", "Altitude (m)", "Throttle (%)"),
        lambda row: [*picked(*ALL[:2])(row), f"{200 * float(row['throttle']) - 100:.0f}"],
    )


def newest_first() -> str:
    lines = table(("Time (s)", "Altitude (m)", "Voltage (V)"), picked(*ALL[:3])).splitlines()
    return "\n".join([lines[0], *reversed(lines[1:])]) + "\n"


def packed_date_and_clock() -> str:
    def cells(row: Row) -> list[str]:
        return [instant(row).strftime("%Y%m%d"), instant(row).strftime("%H%M%S.%f")[:-5], *picked(*ALL[1:4])(row)]

    return table(("Date", "Time", "Altitude (m)", "Voltage (V)", "Current (A)"), cells)


def clock_in_parts() -> str:
    def cells(row: Row) -> list[str]:
        now = instant(row)
        return [str(now.hour), str(now.minute), f"{now.second + now.microsecond / 1e6:g}", *picked(*ALL[1:4])(row)]

    return table(("Hour", "Minute", "Second", "Altitude (m)", "Voltage (V)", "Current (A)"), cells)


def lettered_clock() -> str:
    def cells(row: Row) -> list[str]:
        return [f"0h00m{float(row['time_s']):04.1f}s", *picked(*ALL[1:4])(row)]

    return table(("Time", "Altitude (m)", "Voltage (V)", "Current (A)"), cells)


def pointed_clock() -> str:
    def cells(row: Row) -> list[str]:
        return [instant(row).strftime("%H.%M.%S.%f")[:-5], *picked(*ALL[1:4])(row)]

    return table(("Time", "Altitude (m)", "Voltage (V)", "Current (A)"), cells)


def month_by_name() -> str:
    def cells(row: Row) -> list[str]:
        return [f'"{instant(row).strftime("%b %d, %Y %H:%M:%S.%f")[:-3]}"', *picked(*ALL[1:4])(row)]

    return table(("Timestamp", "Altitude (m)", "Voltage (V)", "Current (A)"), cells)


def blank_thousands() -> str:
    def cells(row: Row) -> list[str]:
        return [*picked("time_s", "altitude_m", mark=",")(row), f"{row['rpm']:,.0f}".replace(",", "\N{NO-BREAK SPACE}")]

    return table(("Time (s)", "Altitude (m)", "RPM"), cells, ";")


def broken_headers() -> str:
    headers = [f'"{name}\n[{unit}]"' for name, unit in (("Time", "s"), ("Altitude", "m"), ("Voltage", "V"))]
    return "An invented flight\n\n" + table([*headers, '"Current\ndrawn\n[A]"'], picked(*ALL[:4]))


def cells_of_changing_unit() -> str:
    def cells(row: Row) -> list[str]:
        current = float(row["current_a"])
        return [
            f"{row['time_s']} s",
            f"{row['altitude_m']} m",
            f"{current} A" if current >= 1.0 else f"{1000 * current:.0f} mA",
            f"{row['rpm']:.0f} rpm",
        ]

    return table(("Time", "Height", "Current", "Speed"), cells)


def guarded_numbers() -> str:
    return table(
        ("Time (s)", "Altitude (m)", "Voltage (V)"), lambda row: [f'="{cell}"' for cell in picked(*ALL[:3])(row)]
    )


def guarded_and_quoted() -> str:
    cells = picked(*ALL[:3], mark=",")
    return table(
        ("Time (s)", "Altitude (m)", "Voltage (V)"), lambda row: [f'"=""{cell}"""' for cell in cells(row)], ";"
    )


def fixed_width() -> str:
    def line(cells: Sequence[str]) -> str:
        return "".join(cell.ljust(15) for cell in cells).rstrip() + "\n"

    heading = line(("Time", "Flight mode", "Altitude", "Voltage")) + line(("[hh:mm:ss.cc]", "", "[m]", "[V]"))
    cells = picked("flight_mode", "altitude_m", "voltage_v")
    return heading + "".join(line([f"{instant(row):%H:%M:%S.%f}"[:-4], *cells(row)]) for row in flight())


def json_array() -> str:
    return json.dumps(
        [{"time": row["time_s"], "pack": {"volt": row["voltage_v"]}, "alt": row["altitude_m"]} for row in flight()]
    )


PLAIN = (
    canonical,
    units_row,
    aligned,
    quoted,
    other_units,
    whole_second_clock,
    clock_comma,
    date_and_clock,
    half_day_clock,
    iso_zone,
)
PLAIN += (
    iso_local,
    epoch_milliseconds,
    sparse,
    long_with_units,
    long_by_channel,
    header_again,
    units_in_cells,
    no_units,
    spanish,
)
PLAIN += (packed_date_and_clock, clock_in_parts, lettered_clock, pointed_clock, month_by_name, blank_thousands)
PLAIN += (broken_headers, cells_of_changing_unit, guarded_numbers, guarded_and_quoted, fixed_width)
PLAIN += (grouped, counter_overflow, thousands, negative_discharge, centred_throttle, newest_first)


def main() -> None:
    """Write all of them."""
    for dialect in PLAIN:
        (FOLDER / f"{dialect.__name__}.csv").write_bytes(dialect().encode("utf-8"))
    windows = german().replace("\n", "\r\n")
    (FOLDER / "german_windows.csv").write_bytes(windows.encode("cp1252"))
    (FOLDER / "french_utf16.txt").write_bytes(french().encode("utf-16"))
    (FOLDER / "german_utf16_without_mark.txt").write_bytes(windows.encode("utf-16-le"))
    (FOLDER / "preamble_padded_with_mark.csv").write_bytes(padded_preamble().encode("utf-8-sig"))
    (FOLDER / "trailing_separators_carriage_returns.csv").write_bytes(trailing().replace("\n", "\r").encode("utf-8"))
    (FOLDER / "json_array.txt").write_text(json_array(), encoding="utf-8")
    (FOLDER / "cut_off.csv").write_bytes(canonical().encode("utf-8")[:-20])


if __name__ == "__main__":
    main()
