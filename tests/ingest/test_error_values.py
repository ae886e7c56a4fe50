"""Numbers and words that say "no reading" are no measurements: they decide no unit and reach no channel."""

import numpy as np
import pytest

from analyzer.errors import LogFileError
from analyzer.ingest import read_log_bytes
from analyzer.records import Log

SECONDS = np.arange(0.0, 60.0, 0.5)
HEIGHT_M = np.where(SECONDS < 20.0, 7.0 * SECONDS, 140.0 - 0.7 * (SECONDS - 20.0))


def log_of(header: str, cells: list[str]) -> Log:
    rows = (f"{time:.1f},{cell},12.4" for time, cell in zip(SECONDS, cells, strict=True))
    return read_log_bytes("\n".join([f"time,{header},volt", *rows, ""]).encode(), "x.csv")


@pytest.mark.parametrize(
    ("header", "counts_a_metre", "mark"),
    [
        ("alt", 1.0, "-999"),
        ("alt", 1.0, "-9999"),
        ("alt", 1.0, "9999"),
        ("alt [m]", 1.0, "6553.5"),
        ("alt_cm", 100.0, "65535"),
        ("alt_dm", 10.0, "32767"),
        ("alt_dm", 10.0, "-32768"),
        ("alt_mm", 1000.0, "2147483647"),
        ("alt", 1.0, "ERR"),
    ],
)
def test_a_mark_for_no_reading_is_dropped_and_said(header: str, counts_a_metre: float, mark: str) -> None:
    digits = 1 if counts_a_metre == 1.0 else 0
    cells = [mark if i % 9 == 0 else f"{h * counts_a_metre:.{digits}f}" for i, h in enumerate(HEIGHT_M)]
    log = log_of(header, cells)
    altitude = log.frame["altitude_m"].to_numpy()
    assert np.isnan(altitude[::9]).all()
    assert np.nanmax(np.abs(altitude - HEIGHT_M)) < 0.1
    if mark != "ERR":
        assert any(mark in notice.message for notice in log.notices if notice.code == "values-out-of-range")


def test_both_ends_of_a_counter_are_marks() -> None:
    cells = [{0: "32767", 5: "-32768"}.get(i % 10, f"{h * 10:.0f}") for i, h in enumerate(HEIGHT_M)]
    altitude = log_of("alt_dm", cells).frame["altitude_m"].to_numpy()
    assert np.isnan(altitude[::5]).all()
    assert np.nanmax(altitude) < 141.0


def test_a_height_of_nines_among_heights_is_a_height() -> None:
    altitude = log_of("alt", [f"{h + 859:.0f}" for h in HEIGHT_M]).frame["altitude_m"].to_numpy()
    assert np.nanmax(altitude) == 999.0


def test_a_throttle_that_is_on_or_off_is_no_mark() -> None:
    rows = (f"{time:.1f},{h:.1f},{999 if time < 20.0 else 0},0" for time, h in zip(SECONDS, HEIGHT_M, strict=True))
    log = read_log_bytes("\n".join(["time,alt,thr,rpm", *rows, ""]).encode(), "x.csv")
    assert not any(notice.code == "values-out-of-range" for notice in log.notices)


@pytest.mark.parametrize("word", ["no sensor", "0x7FFF", "OFFLINE", "***"])
def test_a_word_again_and_again_says_no_reading(word: str) -> None:
    log = log_of("alt", [word if i % 9 == 0 else f"{h:.1f}" for i, h in enumerate(HEIGHT_M)])
    altitude = log.frame["altitude_m"].to_numpy()
    assert np.isnan(altitude[::9]).all()
    assert np.nanmax(np.abs(altitude - HEIGHT_M)) < 0.1
    assert any(word in notice.message for notice in log.notices if notice.code == "cells-dropped")


def test_many_different_words_are_refused() -> None:
    with pytest.raises(LogFileError, match="is no number"):
        log_of("alt", [f"x{i}" if i % 9 == 0 else f"{h:.1f}" for i, h in enumerate(HEIGHT_M)])


def test_a_position_of_zero_before_the_fix_is_none() -> None:
    degrees = [0.0 if time < 20.0 else 47.3 + time * 1e-5 for time in SECONDS]
    rows = (f"{t:.1f},{h:.1f},{d:.6f},{d / 5:.6f}" for t, h, d in zip(SECONDS, HEIGHT_M, degrees, strict=True))
    frame = read_log_bytes("\n".join(["time,alt,lat,lon", *rows, ""]).encode(), "x.csv").frame
    assert np.isnan(frame["latitude_deg"][:40]).all()
    assert np.isnan(frame["longitude_deg"][:40]).all()
    assert frame["latitude_deg"][40:].min() > 47.0


def test_a_flight_across_the_meridian_keeps_its_zeros() -> None:
    rows = (f"{t:.1f},{h:.1f},51.4,{(t - 20.0) * 1e-5:.6f}" for t, h in zip(SECONDS, HEIGHT_M, strict=True))
    frame = read_log_bytes("\n".join(["time,alt,lat,lon", *rows, ""]).encode(), "x.csv").frame
    assert frame["longitude_deg"][40] == 0.0
