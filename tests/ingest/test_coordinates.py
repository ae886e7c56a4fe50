"""Coordinates written as text."""

import numpy as np
import pandas as pd
import pytest
from hypothesis import given
from hypothesis import strategies as st

from analyzer.ingest import read_log_bytes
from analyzer.ingest.text.coordinates import is_pair_column, parse_coordinate, parse_coordinates, parse_pairs


@pytest.mark.parametrize(
    ("text", "degrees"),
    [
        ("48.5", 48.5),
        ("-11.25", -11.25),
        ("48.5 N", 48.5),
        ("S48.5", -48.5),
        ("11.5W", -11.5),
        ("48.5°", 48.5),
        ("48° 30' 36\" N", 48.51),
        ("48 30.6 S", -48.51),
        ("N48:30:36", 48.51),
        ("W 11° 30' 36''", -11.51),
        ("-11° 30.6'", -11.51),
        ("4830.6000N", 48.51),
        ("01130.6W", -11.51),
        ("4830.6 S", -48.51),
    ],
)
def test_ways_to_write_a_coordinate(text: str, degrees: float) -> None:
    assert parse_coordinate(text) == pytest.approx(degrees, abs=1e-9)


@pytest.mark.parametrize("text", ["", "abc", "N", "48,5,5 N x", "12:00:00 am"])
def test_what_is_no_coordinate(text: str) -> None:
    assert np.isnan(parse_coordinate(text))


def test_columns_and_pairs() -> None:
    found = parse_coordinates(pd.Series(["48,5 N", None, "?"], dtype="str"), ",")
    np.testing.assert_array_equal(found, [48.5, np.nan, np.nan])
    sample = ["48.12345 11.54321", "48.12346 11.54320"]
    assert is_pair_column(sample)
    assert not is_pair_column(["48.12345", "48.1"])
    assert not is_pair_column([])
    latitudes, longitudes = parse_pairs(pd.Series([*sample, None], dtype="str"))
    np.testing.assert_array_equal(latitudes, [48.12345, 48.12346, np.nan])
    np.testing.assert_array_equal(longitudes, [11.54321, 11.5432, np.nan])


@given(st.floats(-89.9, 89.9))
def test_degrees_and_minutes_written_and_read(degrees: float) -> None:
    size = abs(degrees)
    text = f"{int(size)}° {(size - int(size)) * 60:.9f}' {'S' if degrees < 0 else 'N'}"
    if "60.000000000" not in text:
        assert parse_coordinate(text) == pytest.approx(degrees, abs=1e-9)


@pytest.mark.parametrize("header", ["time,lat,N/S,lon,E/W,alt", "time,lat,latdir,lon,londir,alt", "time,lat,,lon,,alt"])
@pytest.mark.parametrize(("north", "east"), [("N", "E"), ("S", "W"), ("s", "e")])
def test_hemispheres_in_columns_of_their_own(header: str, north: str, east: str) -> None:
    rows = "".join(f"{i / 2:.1f},47.{i:03d},{north},9.{i:03d},{east},{i}\n" for i in range(40))
    frame = read_log_bytes(f"{header}\n{rows}".encode(), "x.csv").frame
    assert frame["latitude_deg"].iloc[-1] == pytest.approx(-47.039 if north in "Ss" else 47.039)
    assert frame["longitude_deg"].iloc[-1] == pytest.approx(-9.039 if east == "W" else 9.039)
    assert "flight_mode" not in frame


def test_letters_apart_from_coordinates_are_no_hemisphere() -> None:
    rows = "".join(f"{i / 2:.1f},47.{i:03d},9.{i:03d},{i},{'EW'[i % 2]}\n" for i in range(40))
    assert (read_log_bytes(f"time,lat,lon,alt,fault\n{rows}".encode(), "x.csv").frame["longitude_deg"] > 0).all()


def test_degrees_and_minutes_in_one_number_beside_their_hemisphere() -> None:
    """NMEA 0183: ddmm.mmmm and dddmm.mmmm, the hemisphere in the next field; 4718.68 N is 47 degrees 18.68 minutes."""
    rows = (f"{i},{i % 9},4718.{6800 + i},N,00907.{1000 + i},W" for i in range(60))
    frame = read_log_bytes("\n".join(["time,alt,lat,ns,lon,ew", *rows, ""]).encode(), "x.csv").frame
    assert frame["latitude_deg"][0] == pytest.approx(47.0 + 18.68 / 60.0)
    assert frame["longitude_deg"][50] == pytest.approx(-9.0 - 7.105 / 60.0)
