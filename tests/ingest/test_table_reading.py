"""The fast and the careful way to read a table."""

from pathlib import Path

import numpy as np
import pandas as pd
import pytest

from analyzer.ingest import read_log, read_log_bytes
from analyzer.ingest.text import table
from analyzer.ingest.text.pieces import PieceReader
from analyzer.ingest.text.table import THREADED_MIN_BYTES

HEADER = "time (s),altitude (m),voltage (V),mode\n"


def rows(count: int) -> list[str]:
    return [
        f"{i / 10:.1f},{i * 0.1:.2f},{12 - i * 1e-4:.4f},{('launch', 'cruise', '')[i // 7 % 3]}\n" for i in range(count)
    ]


@pytest.fixture
def small_steps(monkeypatch: pytest.MonkeyPatch) -> None:
    """Make small files go the ways of large ones: the threaded reader, and many pieces."""
    monkeypatch.setattr(table, "THREADED_MIN_BYTES", 1000)
    monkeypatch.setattr("analyzer.ingest.text.pieces.CELLS_A_PIECE", 400)
    monkeypatch.setattr("analyzer.ingest.text.pieces.MIN_ROWS_A_PIECE", 97)


@pytest.mark.parametrize("newline", ["\n", "\r\n", "\r"])
@pytest.mark.parametrize("preamble", ["", "Logger 3\n\n"])
@pytest.mark.parametrize("from_a_file", [True, False])
def test_both_ways_give_the_same_log(
    preamble: str, newline: str, from_a_file: bool, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    path = tmp_path / "log.csv"
    data = (preamble + HEADER + "".join(rows(1000))).replace("\n", newline).encode()
    careful = read_log_bytes(data, "log.csv")
    monkeypatch.setattr(table, "THREADED_MIN_BYTES", 1000)
    monkeypatch.setattr(PieceReader, "read", lambda _: pytest.fail("the careful way was taken"))
    path.write_bytes(data)
    fast = read_log(path) if from_a_file else read_log_bytes(data, "log.csv")
    pd.testing.assert_frame_equal(fast.frame, careful.frame)
    assert len(fast.frame) == 1000
    assert fast.notices == careful.notices


@pytest.mark.usefixtures("small_steps")
@pytest.mark.parametrize("bad", ["", "noon"])
def test_clock_times_go_the_fast_way_unless_one_is_odd(bad: str, tmp_path: Path) -> None:
    lines = [f"12:{i // 600:02d}:{i / 10 % 60:04.1f},{i},launch\n" for i in range(1000)]
    lines[500] = f"{bad or '12:00:50.0'},500,launch\n"
    path = tmp_path / "log.csv"
    path.write_text("time,altitude (m),mode\n" + "".join(lines), encoding="utf-8")
    log = read_log(path)
    assert len(log.frame) == (999 if bad else 1000)
    assert log.frame["time_s"].iloc[-1] == pytest.approx(99.9)


@pytest.mark.usefixtures("small_steps")
@pytest.mark.parametrize(
    ("damage", "lost", "code"),
    [
        ("80.0,oops,11.2,cruise\n", 0, "cells-dropped"),
        ("time (s),altitude (m),voltage (V),mode\n", 1, "header-repeated"),
        ("# a remark\n", 1, "rows-dropped"),
        ("80.0,1,2,3,4,5,6,7\n", 1, "rows-dropped"),
        ("80.0, -- ,11.2,cruise\n", 0, ""),
        ("\n", 1, ""),
        ('80.0,80.0,11.2,"cruise\n', 0, ""),
        ('80.0,"80.0,11.2,cruise\n', 0, ""),
        ("x" * 100_000 + "\n", 1, "rows-dropped"),
        ("80.0\0,80.0,11.2,cruise\n", 0, ""),
    ],
)
def test_one_odd_line_costs_one_line_at_most(damage: str, lost: int, code: str, tmp_path: Path) -> None:
    lines = rows(1000)
    lines[800] = damage
    path = tmp_path / "log.csv"
    path.write_text(HEADER + "".join(lines), encoding="utf-8")
    log = read_log(path)
    assert len(log.frame) == 1000 - lost
    kept = np.delete(np.arange(1000), 800) if lost else np.arange(1000)
    np.testing.assert_allclose(log.frame["time_s"], kept / 10, atol=1e-9)
    others = kept != 800
    np.testing.assert_allclose(log.frame["altitude_m"][others], kept[others] * 0.1, atol=0.006)
    assert {notice.code for notice in log.notices} == ({code} if code else set())
    if code in ("cells-dropped", "rows-dropped") and "," not in damage.replace("80.0,oops", ""):
        assert any("line 802" in notice.message for notice in log.notices)


@pytest.mark.usefixtures("small_steps")
def test_dropped_cells_are_pointed_at_across_pieces(tmp_path: Path) -> None:
    lines = rows(1000)
    for i in (500, 900):
        lines[i] = lines[i].replace(f",{i * 0.1:.2f},", ",bad!,")
    path = tmp_path / "log.csv"
    path.write_text(HEADER + "".join(lines), encoding="utf-8")
    (notice,) = read_log(path).notices
    assert notice.message == "dropped 2 of 1000 cells of 'altitude (m)', no numbers (first: line 502, 'bad!')"


def test_a_log_that_stops_in_a_row_keeps_what_is_whole() -> None:
    whole = (HEADER + "".join(rows(100))).encode()
    for cut in range(1, 12):
        log = read_log_bytes(whole[: -cut - 1], "x.csv")
        assert len(log.frame) in (99, 100)
        assert ("log-cut-off" in {notice.code for notice in log.notices}) == (len(log.frame) == 99)


@pytest.mark.parametrize("newline", ["\n", "\r\n", "\r"])
def test_ends_of_lines(newline: str) -> None:
    log = read_log_bytes((HEADER + "".join(rows(100))).replace("\n", newline).encode(), "x.csv")
    assert len(log.frame) == 100
    assert log.notices == ()


def test_blanks_around_cells_and_words_do_not_matter() -> None:
    log = read_log_bytes(b"time (s) , altitude (m) , mode\n 0 , 1 , launch \n 1 , 2 ,cruise\n", "x.csv")
    assert log.frame["altitude_m"].tolist() == [1.0, 2.0]
    assert log.frame["flight_mode"].tolist() == ["launch", "cruise"]


def test_thousands_of_columns_that_mean_nothing() -> None:
    extra = ",".join(f"x{i}" for i in range(3000))
    data = f"time (s),altitude (m),{extra}\n" + "".join(f"{i},{i},{','.join(['1'] * 3000)}\n" for i in range(5))
    log = read_log_bytes(data.encode(), "x.csv")
    assert list(log.frame.columns) == ["time_s", "altitude_m"]
    assert "and 2988 more" in log.notices[0].message


def test_words_for_true_and_false_beside_a_stray_quote() -> None:
    lines = "".join(f"{i},{i},{'True' if i % 2 else 'False'},{chr(34) if i == 9 else ''}x\n" for i in range(30))
    log = read_log_bytes(f"time (s),altitude (m),armed,note\n{lines}".encode(), "x.csv")
    assert len(log.frame) == 30


def test_a_large_file_with_line_breaks_in_its_headers_is_read_whole(tmp_path: Path) -> None:
    rows = "".join(f"{i / 10:.1f},{i % 300},{'0.25'.ljust(40, '0')}\n" for i in range(120_000))
    path = tmp_path / "long.csv"
    path.write_text('"Time\n[s]","Altitude\n[m]","Current\n[A]"\n' + rows)
    assert path.stat().st_size > THREADED_MIN_BYTES
    assert len(read_log(path).frame) == 120_000


@pytest.mark.parametrize("remark", ["fix lost, 3 satellites", "a, b, c"])
def test_separators_in_a_remark_in_the_last_column_cost_no_row(remark: str) -> None:
    lines = [f"{i},{i * 0.5},12.1,{remark if i % 20 == 0 else ''}\n" for i in range(100)]
    log = read_log_bytes(("time s,alt m,volt,status\n" + "".join(lines)).encode(), "x.csv")
    assert log.frame["time_s"].tolist() == list(range(100))
    assert "rows-dropped" not in {notice.code for notice in log.notices}
