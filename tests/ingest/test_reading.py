"""Reading logs from outside: what comes back, and what is said when nothing can."""

import os
from datetime import UTC, datetime
from pathlib import Path

import numpy as np
import pandas as pd
import pytest

from analyzer.channels import channel_of
from analyzer.errors import ClimbledgerError, ColumnMapError, LogFileError
from analyzer.ingest import describe_columns, read_log, read_log_bytes, source

HEADER = "time [s],altitude [m],voltage [V]\n"
ROWS = "".join(f"{i / 10:.1f},{i * 0.1:.2f},12.{i % 10}\n" for i in range(300))
GOOD = HEADER + ROWS


def read(text: str | bytes, **columns: str) -> pd.DataFrame:
    data = text if isinstance(text, bytes) else text.encode()
    return read_log_bytes(data, "x.csv", columns=columns or None).frame


def test_the_contract_of_a_log() -> None:
    log = read_log_bytes(GOOD.encode(), "../a/b\\flight.csv")
    assert log.name == "flight.csv"
    assert len(log.sha256) == 64
    assert log.steps == ("read 300 samples as a text table",)
    assert log.headers == {"time_s": "time [s]", "altitude_m": "altitude [m]", "voltage_v": "voltage [V]"}
    assert log.frame["time_s"].iloc[0] == 0.0
    assert (np.diff(log.frame["time_s"]) > 0.0).all()
    assert isinstance(log.frame.index, pd.RangeIndex)
    assert all(channel_of(column) for column in log.frame.columns)


def test_time_counts_from_the_first_sample() -> None:
    frame = read("t [s],alt [m]\n100.5,1\n101.0,2\n")
    assert frame["time_s"].tolist() == [0.0, 0.5]


def test_the_users_map_wins_over_the_headers() -> None:
    text = "time [s],altitude [m],Foo\n0,1,12500\n1,2,12400\n"
    frame = read(text, Foo="voltage_v [mV]", **{"altitude [m]": "altitude_m [ft]"})
    np.testing.assert_allclose(frame["voltage_v"], [12.5, 12.4])
    np.testing.assert_allclose(frame["altitude_m"], [0.3048, 0.6096])
    assert "voltage_v" not in read(text + "", **{"Foo": "ignore"})


def test_an_electrical_rpm_is_read_by_the_pole_pairs_the_user_gives() -> None:
    text = "time [s],altitude [m],eRPM\n0,1,42000\n1,2,42700\n"
    assert read(text)["rpm"].tolist() == [42_000.0, 42_700.0]
    np.testing.assert_allclose(read(text, eRPM="rpm [1/7 rpm]")["rpm"], [6000.0, 6100.0])
    assert "rpm-electrical" in {notice.code for notice in read_log_bytes(text.encode(), "x").notices}


def test_a_vertical_speed_counted_downward_is_turned() -> None:
    seconds = np.arange(600) * 0.2
    heights = 60.0 + 40.0 * np.sin(seconds / 15.0)
    sink = -40.0 / 15.0 * np.cos(seconds / 15.0)
    rows = "".join(f"{t:.1f},{h:.3f},{s:.3f}\n" for t, h, s in zip(seconds, heights, sink, strict=True))
    log = read_log_bytes(f"time [s],altitude [m],Sink rate\n{rows}".encode(), "x.csv")
    np.testing.assert_allclose(log.frame["vertical_speed_m_s"], -sink, atol=0.001)
    assert {notice.code for notice in log.notices} == {"unit-inferred", "vertical-speed-sign"}


def test_a_logger_switched_on_again_keeps_both_flights() -> None:
    log = read_log_bytes((HEADER + ROWS + HEADER + ROWS).encode(), "x.csv")
    assert len(log.frame) == 600
    assert np.diff(log.frame["time_s"]).max() == pytest.approx(10.0)
    assert {notice.code for notice in log.notices} == {"header-repeated", "clock-restarted"}


def test_utc_and_local_starts() -> None:
    utc = read_log_bytes(b"time,alt [m]\n2026-05-17T10:00:00Z,1\n2026-05-17T10:00:01Z,2\n", "x")
    local = read_log_bytes(b"time,alt [m]\n2026-05-17T10:00:00,1\n2026-05-17T10:00:01,2\n", "x")
    assert utc.started_at == datetime(2026, 5, 17, 10, tzinfo=UTC)
    assert local.started_at == datetime(2026, 5, 17, 10)


@pytest.mark.parametrize(
    ("text", "kind", "words"),
    [
        (
            "time,voltage\n0,12\n1,12\n",
            LogFileError,
            "no altitude among the columns 'time', 'voltage'; name the column with --map",
        ),
        (
            "altitude,voltage\n3,12\n1,12\n2,12\n",
            LogFileError,
            "no time among the columns 'altitude', 'voltage'; name the column with --map",
        ),
        (
            "time,altitude\n0,abc\n1,def\n",
            LogFileError,
            "line 2, column 'altitude': 'abc' is no number (2 of 2 cells are not)",
        ),
        ("time,altitude\nx,1\ny,2\n", LogFileError, "line 2, column 'time': 'x' is no time"),
        (
            "time,altitude [m],current [A]\n0,1,abc\n1,2,def\n",
            LogFileError,
            "line 2, column 'current [A]': 'abc' is no number",
        ),
        ("time,alt 1,alt 2\n0,1,9\n1,2,7\n2,5,3\n", ColumnMapError, "the altitude may be any of 'alt 1', 'alt 2'"),
        (
            "time,Baro\n0,950\n1,951\n",
            ColumnMapError,
            "the altitude may be any of 'Baro'; say so with --map \"Baro=altitude_m\"",
        ),
        (
            "time,altitude [m]\n0,99999\n1,99999\n",
            LogFileError,
            "no usable altitude: 2 of 2 values of 'altitude [m]' outside",
        ),
        ("time,altitude [m],v\n0,,1\n1,,1\n", LogFileError, "the altitude column 'altitude [m]' holds no value"),
        ("time,altitude\n5,1\n5,1\n", LogFileError, "its 2 samples all have the same time; name another column"),
    ],
)
def test_what_cannot_be_read_is_said_in_one_line(text: str, kind: type[ClimbledgerError], words: str) -> None:
    with pytest.raises(kind) as caught:
        read(text)
    assert words in str(caught.value)
    assert caught.value.exit_status == 2
    assert str(caught.value).isprintable()


def test_a_text_that_is_only_named_like_a_channel_is_left_out() -> None:
    log = read_log_bytes(b"time [s],altitude [m],Battery\n0,1,OK\n1,2,LOW\n", "x.csv")
    assert "voltage_v" not in log.frame
    assert "column-not-numbers" in {notice.code for notice in log.notices}


@pytest.mark.skipif(not hasattr(os, "mkfifo"), reason="no pipes here")
def test_only_regular_files_are_opened(tmp_path: Path) -> None:
    os.mkfifo(tmp_path / "pipe")
    (tmp_path / "folder").mkdir()
    (tmp_path / "to_pipe").symlink_to(tmp_path / "pipe")
    (tmp_path / "nowhere").symlink_to(tmp_path / "absent")
    for name, words in (
        ("pipe", "a pipe or a device"),
        ("to_pipe", "a pipe or a device"),
        ("folder", "is a folder"),
        ("nowhere", "no such file"),
        ("absent", "no such file"),
    ):
        with pytest.raises(LogFileError, match=words):
            read_log(tmp_path / name)
        with pytest.raises(LogFileError, match=words):
            describe_columns(tmp_path / name)


@pytest.mark.parametrize("path", ["nul\0byte", "x" * 5000, ""])
def test_impossible_paths(path: str) -> None:
    with pytest.raises(LogFileError):
        read_log(path)


def test_a_file_without_permission(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    path = tmp_path / "log.csv"
    path.write_text(GOOD, encoding="utf-8")

    def refuse(*_: object, **__: object) -> None:
        raise PermissionError(13, "Permission denied")

    monkeypatch.setattr(Path, "open", refuse)
    with pytest.raises(LogFileError, match=r"Permission denied.*check its permissions"):
        read_log(path)


def test_a_file_that_is_too_large(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(source, "MAX_FILE_BYTES", 10)
    with pytest.raises(LogFileError, match="is too large"):
        read(GOOD)


def test_formulas_and_markup_are_text() -> None:
    text = "time [s],altitude [m],mode,=1+1,<script>\n0,1,=cmd|' /c calc'!A1,2,3\n1,2,@x,2,3\n"
    log = read_log_bytes(text.encode(), "=cmd().csv")
    assert log.frame["flight_mode"].tolist() == ["=cmd|' /c calc'!A1", "@x"]
    assert "'=1+1', '<script>'" in log.notices[0].message


def test_reading_is_repeatable(tmp_path: Path) -> None:
    path = tmp_path / "log.csv"
    path.write_text(GOOD, encoding="utf-8")
    one, other = read_log(path), read_log(path)
    pd.testing.assert_frame_equal(one.frame, other.frame)
    assert (one.notices, one.sha256) == (other.notices, other.sha256)
    assert path.read_text(encoding="utf-8") == GOOD


def test_flight_modes_of_a_sparse_log_are_joined_too() -> None:
    text = "time [s],altitude [m],Flight mode,phase\n0,1,,\n0,,launch,x\n1,2,,\n1,,cruise,x\n"
    log = read_log_bytes(text.encode(), "x.csv")
    assert log.frame["flight_mode"].tolist() == ["launch", "cruise"]
    (notice,) = (notice for notice in log.notices if notice.code == "column-chosen")
    assert notice.message == "flight mode is read from 'Flight mode' (its name fits best); not used: 'phase'"


def test_coordinates_with_hemispheres() -> None:
    text = "time [s],altitude [m],Lat,Lon\n0,1,48.5 N,11.25 W\n1,2,48.6 N,11.26 W\n"
    log = read_log_bytes(text.encode(), "x.csv")
    assert log.frame["latitude_deg"].tolist() == [48.5, 48.6]
    assert log.frame["longitude_deg"].tolist() == [-11.25, -11.26]


def test_a_log_of_clock_times_that_stops_in_a_row() -> None:
    rows = "".join(f"12:00:{i:02d},{i},5\n" for i in range(30))
    log = read_log_bytes(f"time,altitude [m],x\n{rows}12:00".encode(), "x.csv")
    assert len(log.frame) == 30
    assert [notice.code for notice in log.notices] == ["log-cut-off", "column-ignored"]


def test_times_that_are_mostly_none_are_refused_with_their_place() -> None:
    rows = "".join(f"{i if i % 5 else 'late'},2026-05-17T12:00:{i:02d},{i}\n" for i in range(60))
    with pytest.raises(LogFileError, match="line 2, column 'time \\[s\\]': 'late' is no time"):
        read(f"time [s],stamp,altitude [m]\n{rows}", **{"time [s]": "time_s", "stamp": "time_s"})


def test_a_file_that_goes_away_while_it_is_read(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    path = tmp_path / "log.csv"
    path.write_text(GOOD, encoding="utf-8")
    made = source.open_source(path)
    path.unlink()
    monkeypatch.setattr("analyzer.ingest.reading.open_source", lambda _: made)
    with pytest.raises(LogFileError, match="cannot be read"):
        read_log(path)


def test_a_description_reads_decimal_commas_as_the_log_is_read() -> None:
    data = "Zeit;Höhe;Spannung\n" + "\n".join(f"{i},5;{i % 7},25;12,{600 - i}" for i in range(60))
    described = {column.header: column.unit for column in describe_columns(data.encode())}
    assert described["Spannung"] == "V"
    assert read_log_bytes(data.encode(), "x.csv").frame["voltage_v"].iloc[0] == 12.6


def test_a_count_of_frames_is_no_time() -> None:
    rows = "".join(f"{i * 13},{i},12.{i % 10}\n" for i in range(60))
    with pytest.raises(LogFileError, match="no time among the columns 'frame'"):
        read(f"frame,alt,volt\n{rows}")


def test_the_clock_of_a_spreadsheet_without_seconds_spreads_its_rows() -> None:
    stamps = [f"5/17/2026 {(14 * 60 + 58 + (40 + i) // 60) // 60}:{(58 + (40 + i) // 60) % 60:02d}" for i in range(100)]
    rows = "".join(f"{stamp},{i},12.{i % 10}\n" for i, stamp in enumerate(stamps))
    assert np.allclose(np.diff(read(f"Time,Alt,Volt\n{rows}")["time_s"]), 1.0)
