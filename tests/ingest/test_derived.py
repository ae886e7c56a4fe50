"""Channels that follow from others."""

import ambiance
import numpy as np
import pytest

from analyzer.ingest import read_log_bytes
from analyzer.ingest.columns.derived import cell_volts, find_cells, pressure_altitude_m


@pytest.mark.parametrize(
    ("pressure_pa", "height_m"),
    # ISO 2533:1975 (equal to the U.S. Standard Atmosphere 1976 below 32 km), geopotential height; values computed from
    # the standard's definition, November 2026. 0.02 m is the pressures' rounding to 0.01 Pa.
    [
        (101_325.0, 0.0),
        (95_460.84, 500.0),
        (89_874.56, 1000.0),
        (84_555.99, 1500.0),
        (79_495.20, 2000.0),
        (70_108.53, 3000.0),
        (54_019.89, 5000.0),
    ],
)
def test_pressure_altitude_of_the_standard_atmosphere(pressure_pa: float, height_m: float) -> None:
    assert float(pressure_altitude_m(np.array(pressure_pa))) == pytest.approx(height_m, abs=0.02)


def test_pressure_altitude_agrees_with_a_general_library() -> None:
    geometric = np.array([0.0, 250.0, 1000.0, 4000.0, 9000.0])
    geopotential = 6_356_766.0 * geometric / (6_356_766.0 + geometric)
    np.testing.assert_allclose(pressure_altitude_m(ambiance.Atmosphere(geometric).pressure), geopotential, atol=0.01)


def test_altitude_from_pressure_where_only_pressure_is_logged() -> None:
    log = read_log_bytes(b"time_s,Pressure (hPa)\n0,1013.25\n1,898.7456\n", "x.csv")
    np.testing.assert_allclose(log.frame["altitude_m"], [0.0, 1000.0], atol=0.01)
    assert log.headers["altitude_m"] == "Pressure (hPa)"
    assert "altitude-from-pressure" in {notice.code for notice in log.notices}


@pytest.mark.parametrize(
    ("headers", "positions"),
    [
        (["t", "Cell 1 [V]", "Cell 2 [V]", "Cell 3 [V]"], [1, 2, 3]),
        (["cell_2_v", "cell_1_v"], [1, 0]),
        (["Zelle 1", "Zelle 2"], [0, 1]),
        (["Cell 1", "Cell 3"], []),
        (["Cell 1"], []),
        (["Cell 1 [A]", "Cell 2 [A]"], []),
        (["Lowest cell 1", "Cell 2"], []),
        (["Cells", "Cell count"], []),
    ],
)
def test_cells_are_found_if_none_is_missing(headers: list[str], positions: list[int]) -> None:
    assert list(find_cells(headers, [""] * len(headers))) == positions


def test_pack_voltage_is_the_sum_of_the_cells() -> None:
    data = b"time_s,altitude_m,Cell 1 (mV),Cell 2 (mV)\n0,1,4100,4080\n1,2,4000,\n2,3,3900,3890\n"
    log = read_log_bytes(data, "x.csv")
    np.testing.assert_allclose(log.frame["voltage_v"], [8.18, np.nan, 7.79])
    assert log.headers["voltage_v"] == "Cell 1 (mV) + Cell 2 (mV)"
    assert cell_volts(np.array([3.9])).tolist() == [3.9]


def test_cells_give_way_to_a_logged_pack_voltage() -> None:
    log = read_log_bytes(b"time_s,altitude_m,Voltage (V),Cell 1,Cell 2\n0,1,8.1,4,4\n1,2,8.0,4,4\n", "x.csv")
    assert log.frame["voltage_v"].tolist() == [8.1, 8.0]


def test_latitude_and_longitude_from_one_column() -> None:
    data = b"time_s;altitude_m;GPS\n0;1;48.12345 11.54321\n1;2;48.12346 11.54322\n"
    log = read_log_bytes(data, "x.csv")
    np.testing.assert_allclose(
        log.frame[["latitude_deg", "longitude_deg"]], [[48.12345, 11.54321], [48.12346, 11.54322]]
    )


@pytest.mark.parametrize(
    ("cells", "sum_v"), [(("4.0", "4.1", ""), 8.1), (("4.0", "", "4.1"), None), (("", "", ""), None)]
)
def test_cells_that_the_pack_does_not_have_are_empty_at_the_end(cells: tuple[str, ...], sum_v: float | None) -> None:
    rows = "".join(f"{i},{i % 9},{','.join(cells)}\n" for i in range(60))
    frame = read_log_bytes(f"time s,alt m,Cell 1,Cell 2,Cell 3\n{rows}".encode(), "x.csv").frame
    assert ("voltage_v" in frame) == (sum_v is not None)
    if sum_v is not None:
        np.testing.assert_allclose(frame["voltage_v"], sum_v)
