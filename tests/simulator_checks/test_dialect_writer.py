"""The dialect writer says the same thing in every dialect."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pandas as pd
import pytest
from simulator import DIALECTS, scenario_for, simulate, write_dialect, write_igc


@pytest.fixture(scope="module")
def frame() -> pd.DataFrame:
    return simulate(scenario_for("normal", 5), 5).log.iloc[1000:1400].reset_index(drop=True)


def read(path: Path, name: str, **options: object) -> pd.DataFrame:
    style = DIALECTS[name]
    return pd.read_csv(path, sep=style.separator, decimal=style.decimal, encoding=style.encoding, **options)


@pytest.mark.parametrize("name", ["plain", "semicolon", "feet", "utf16", "quoted", "epoch"])
def test_altitude_survives(frame: pd.DataFrame, tmp_path: Path, name: str) -> None:
    path = tmp_path / "log.csv"
    write_dialect(frame, path, name)
    column = DIALECTS[name].columns["altitude_m"]
    table = read(path, name)
    header = next(header for header in table.columns if header.startswith(column.header))
    values = table[header].astype(str).str.replace(",", ".").astype(float) / column.factor
    assert np.allclose(values, frame["altitude_m"], atol=0.01, equal_nan=True)


def test_units_have_a_row_of_their_own(frame: pd.DataFrame, tmp_path: Path) -> None:
    path = tmp_path / "log.csv"
    write_dialect(frame, path, "units_row")
    header, units, first = path.read_text(encoding="utf-8").splitlines()[:3]
    assert header.split("\t")[:2] == ["Time", "Altitude"]
    assert units.split("\t")[:2] == ["s", "m"]
    assert len(first.split("\t")) == len(frame.columns)


def test_clock_passes_midnight(tmp_path: Path) -> None:
    path = tmp_path / "log.csv"
    write_dialect(pd.DataFrame({"time_s": [0.0, 200.0], "altitude_m": [0.0, 1.0]}), path, "clock")
    assert [line[:8] for line in path.read_text(encoding="utf-8").splitlines()[1:3]] == ["23:57:30", "00:00:50"]


def test_long_table_has_one_row_a_value(frame: pd.DataFrame, tmp_path: Path) -> None:
    path = tmp_path / "log.csv"
    write_dialect(frame, path, "long")
    table = pd.read_csv(path)
    assert list(table.columns) == ["time_ms", "channel", "value", "unit"]
    values = table.loc[table["channel"] == "Voltage", "value"]
    assert np.allclose(values.astype(float), frame["voltage_v"].dropna())


def test_each_sensor_may_write_its_own_rows(frame: pd.DataFrame, tmp_path: Path) -> None:
    path = tmp_path / "log.csv"
    write_dialect(frame, path, "sensor_rows")
    table = read(path, "sensor_rows")
    assert len(table) > 2 * len(frame)
    assert table["Altitude, m"].notna().sum() == frame["altitude_m"].notna().sum()


@pytest.mark.parametrize("name", sorted(DIALECTS))
def test_every_dialect_ends_its_file_with_a_line_end(frame: pd.DataFrame, tmp_path: Path, name: str) -> None:
    path = tmp_path / "log.csv"
    write_dialect(frame, path, name)
    assert path.read_bytes().decode(DIALECTS[name].encoding).endswith(DIALECTS[name].newline)


def test_igc_records_have_the_published_layout(tmp_path: Path) -> None:
    # FAI technical specification for IGC flight recorders: B HHMMSS DDMMmmmN DDDMMmmmE V PPPPP GGGGG, 35 characters
    path = tmp_path / "log.igc"
    frame = pd.DataFrame({
        "time_s": [0.0, 2.5], "altitude_m": [0.0, 25.0], "latitude_deg": [47.5, 47.5], "longitude_deg": [-8.25, -8.25],
    })  # fmt: skip
    write_igc(frame, path, elevation_m=400.0, glider="Heron")
    fixes = [line for line in path.read_text(encoding="ascii").splitlines() if line.startswith("B")]
    assert fixes[0] == "B1042074730000N00815000WA0040000400"
    assert fixes[1] == "B1042084730000N00815000WA0041000410"
