"""Tables with one value a row."""

import numpy as np
import pytest

from analyzer.errors import ColumnMapError, LogFileError
from analyzer.ingest import describe_columns, read_log_bytes
from analyzer.ingest.text.long_table import pivot


def test_rows_of_one_time_make_one_row() -> None:
    data = (
        b"t [s],channel,value,unit\n0,Altitude,1,m\n0,Voltage,12.5,V\n1,Altitude,2,m\n2,Voltage,12.4,V\n2,Mode,glide,\n"
    )
    frame = read_log_bytes(data, "x.csv").frame
    assert frame["time_s"].tolist() == [0.0, 1.0, 2.0]
    np.testing.assert_array_equal(frame["altitude_m"], [1.0, 2.0, np.nan])
    np.testing.assert_array_equal(frame["voltage_v"], [12.5, np.nan, 12.4])
    assert frame["flight_mode"].isna().tolist() == [True, True, False]
    assert frame["flight_mode"].iloc[2] == "glide"


def test_a_channel_twice_within_one_tick_is_spread() -> None:
    data = "t [s],channel,value\n" + "".join(f"{i // 5},Altitude [m],{i}\n" for i in range(50))
    log = read_log_bytes(data.encode(), "x.csv")
    np.testing.assert_allclose(log.frame["time_s"], np.arange(50) * 0.2)
    assert log.frame["altitude_m"].tolist() == list(range(50))


def test_numbers_of_flight_modes_are_words() -> None:
    data = b"t [s],channel,value\n0,Altitude [m],1\n0,Flight mode,2\n1,Altitude [m],1\n1,Flight mode,3\n"
    assert read_log_bytes(data, "x.csv").frame["flight_mode"].tolist() == ["2", "3"]


def test_a_flight_mode_without_a_value_is_none() -> None:
    data = b"t [s],channel,value\n0,Altitude [m],1\n0,Flight mode,\n1,Altitude [m],1\n1,Flight mode,cruise\n"
    assert read_log_bytes(data, "x.csv").frame["flight_mode"].isna().tolist() == [True, False]


def test_units_are_converted_channel_by_channel() -> None:
    data = b"t [ms];type;value;unit\n0;Height;100;ft\n0;Battery;12600;mV\n500;Height;200;ft\n500;Battery;12500;mV\n"
    frame = read_log_bytes(data, "x.csv").frame
    np.testing.assert_allclose(frame["altitude_m"], [30.48, 60.96])
    np.testing.assert_allclose(frame["voltage_v"], [12.6, 12.5])
    assert frame["time_s"].tolist() == [0.0, 0.5]


def test_a_few_values_that_are_no_numbers_are_dropped() -> None:
    rows = "".join(f"{i},Altitude [m],{'oops' if i == 30 else i}\n" for i in range(60))
    log = read_log_bytes(f"t [s],channel,value\n{rows}".encode(), "x.csv")
    (notice,) = (notice for notice in log.notices if notice.code == "cells-dropped")
    assert notice.message == "dropped 1 of 60 cells of 'Altitude [m]', no numbers (first: line 32, 'oops')"


def test_the_users_map_names_channels_and_the_tables_own_headers() -> None:
    data = b"stamp_x,channel,value\n0,H,1\n0,U,12\n100,H,2\n100,U,12\n0,Altitude max,9\n"
    columns = {"stamp_x": "time_s [ms]", "H": "altitude_m [ft]", "U": "ignore"}
    log = read_log_bytes(data, "x.csv", columns=columns)
    np.testing.assert_allclose(log.frame["altitude_m"], [0.3048, 0.6096])
    assert list(log.frame.columns) == ["time_s", "altitude_m"]
    with pytest.raises(ColumnMapError, match="no column 'Hx'"):
        read_log_bytes(data, "x.csv", columns={"stamp_x": "time_s", "Hx": "altitude_m"})


def test_names_are_described() -> None:
    data = b"t [s],channel,value,unit\n0,Altitude,1,m\n0,Speed,9,m/s\n1,Altitude,2,m\n"
    described = {column.header: column for column in describe_columns(data)}
    assert list(described) == ["t [s]", "Altitude", "Speed"]
    assert (described["Altitude"].channel, described["Altitude"].unit, described["Altitude"].sample) == (
        "altitude_m",
        "m",
        ("1", "2"),
    )
    assert described["Speed"].alternatives == ("airspeed_m_s", "ground_speed_m_s")


def test_pivot_keeps_every_value() -> None:
    stamps = np.array([0.0, 0.0, 0.0, 1.0, 1.0])
    names = np.array([0, 1, 0, 1, 1], dtype=np.int32)
    gathered = pivot(stamps, names, 2)
    values = np.arange(5.0)
    np.testing.assert_array_equal(gathered.column(0, values), [0.0, 2.0, np.nan, np.nan])
    np.testing.assert_array_equal(gathered.column(1, values), [1.0, np.nan, 3.0, 4.0])
    assert stamps[gathered.first_rows].tolist() == [0.0, 0.0, 1.0, 1.0]


def test_of_two_columns_of_names_the_one_that_tells_channels_apart_is_read() -> None:
    rows = "".join(f"{i};Vario;Altitude;{i};m\n{i};Power;Voltage;12.0;V\n{i};Power;Current;3.0;A\n" for i in range(9))
    log = read_log_bytes(f"Time;Sensor;Parameter;Value;Unit\n{rows}".encode(), "x.csv")
    assert set(log.frame.columns) == {"time_s", "altitude_m", "voltage_v", "current_a"}
    assert log.frame["current_a"].tolist() == [3.0] * 9


def test_french_headings() -> None:
    rows = "".join(f"{i};Hauteur;{i};m\n{i};Tension;12,0;V\n" for i in range(9))
    log = read_log_bytes(f"Temps;Voie;Valeur;Unité\n{rows}".encode("cp1252"), "x.csv")
    assert set(log.frame.columns) == {"time_s", "altitude_m", "voltage_v"}


def test_a_name_that_stands_in_rows_without_a_time_only_is_no_channel() -> None:
    rows = "".join(f"{i},Altitude,{i}\n" for i in range(50))
    log = read_log_bytes(f"time,channel,value\n{rows},Voltage,12.0\n".encode(), "x.csv")
    assert list(log.frame.columns) == ["time_s", "altitude_m"]


@pytest.mark.parametrize("unit", ["", ";{}"])
def test_a_long_table_without_a_header_shows_in_its_cells(unit: str) -> None:
    values = [(i / 2, name, i + offset, own) for i in range(60) for name, offset, own in CHANNELS]
    rows = (f"{time:.1f};{name};{value:.1f}{unit.format(own)}" for time, name, value, own in values)
    frame = read_log_bytes("\n".join([*rows, ""]).encode(), "x.csv").frame
    assert frame["time_s"].tolist() == [i / 2 for i in range(60)]
    assert frame["altitude_m"].tolist() == [float(i) for i in range(60)]
    assert frame["current_a"].tolist() == [i + 2.0 for i in range(60)]


CHANNELS = (("alt", 0.0, "m"), ("volt", 1.0, "V"), ("curr", 2.0, "A"))


def test_a_name_in_a_cut_row_alone_is_described_too() -> None:
    text = "time,channel,value,unit\n" + "".join(f"{i},alt,{i},m\n" for i in range(20)) + "20,volt\n21,alt,3,m\n"
    assert [column.header for column in describe_columns(text.encode())] == ["time", "alt", "volt"]


def test_a_name_that_two_devices_share_stands_behind_the_devices() -> None:
    rows = "".join(
        f"{i};rx;volt;5.1\n{i};esc;volt;{16 - i / 100:.2f}\n{i};baro;alt;{i}\n{i};;volt;9\n" for i in range(60)
    )
    data = f"time (s);device;parameter;value\n{rows}".encode()
    frame = read_log_bytes(data, "x.csv").frame
    np.testing.assert_allclose(frame["receiver_voltage_v"], 5.1)
    np.testing.assert_allclose(frame["voltage_v"], 16.0 - np.arange(60) / 100.0)
    assert frame["altitude_m"].tolist() == list(range(60))
    assert {column.header for column in describe_columns(data) if column.channel} >= {"rx volt", "esc volt", "baro alt"}


def test_units_behind_the_values_are_each_channels_own() -> None:
    rows = "".join(
        f"{i};Höhe;{i * 100} cm\n{i};Spannung;{16 - i / 100:.2f} V\n{i};Strom;{current}\n"
        for i, current in enumerate(f"{i} A" if i % 2 else f"{i * 1000} mA" for i in range(60))
    )
    frame = read_log_bytes(f"Zeit [s];Sensor;Wert\n{rows}".encode(), "x.csv").frame
    assert frame["altitude_m"].tolist() == list(range(60))
    np.testing.assert_allclose(frame["voltage_v"], 16.0 - np.arange(60) / 100.0)
    np.testing.assert_allclose(frame["current_a"], np.arange(60.0))


def test_units_that_appear_in_a_later_piece_only(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("analyzer.ingest.text.pieces.CELLS_A_PIECE", 30)
    monkeypatch.setattr("analyzer.ingest.text.pieces.MIN_ROWS_A_PIECE", 10)
    rows = "".join(f"{i};Height;{i}{'' if i < 20 else ' m'}\n{i};Pack;12.{i % 10}\n" for i in range(60))
    frame = read_log_bytes(f"t [s];sensor;value\n{rows}".encode(), "x.csv").frame
    assert frame["altitude_m"].tolist() == list(range(60))


def test_channels_whose_names_say_nothing_are_named_by_the_user() -> None:
    rows = "".join(f"{i},hh,{i}\n{i},uu,12.5\n" for i in range(20))
    data = f"t [s],channel,value\n{rows}".encode()
    with pytest.raises(LogFileError, match="no altitude among the columns 'hh', 'uu'"):
        read_log_bytes(data, "x.csv")
    assert [column.header for column in describe_columns(data)] == ["t [s]", "hh", "uu"]
    log = read_log_bytes(data, "x.csv", columns={"hh": "altitude_m [ft]"})
    assert log.frame["altitude_m"].iloc[-1] == pytest.approx(19 * 0.3048)


def test_a_wide_table_may_have_a_column_of_names_and_one_of_values() -> None:
    rows = "".join(f"{i},{'on' if i % 2 else 'off'},{i},7\n" for i in range(20))
    log = read_log_bytes(f"t [s],signal,Altitude [m],value\n{rows}".encode(), "x.csv")
    assert log.frame["altitude_m"].tolist() == list(range(20))
