"""Tables aligned with blanks, some of whose cells are empty or hold blanks: a cell belongs to where it stands."""

from __future__ import annotations

import numpy as np
import pytest

from analyzer.ingest import read_log_bytes

ROWS = 80


def cells(row: int) -> list[str]:
    """Time, height, voltage, current; a voltage is missing in every seventh row."""
    clock = f"12:00:{row // 2:02d}.{50 * (row % 2):02d}"
    return [clock, f"{row * 0.5:.2f}", "" if row % 7 == 3 else f"{12.4 - row * 0.01:.2f}", f"{20 + row % 5}.25"]


def written(header: list[str], units: list[str], *, right: bool, preamble: str = "") -> bytes:
    def line(texts: list[str]) -> str:
        return "".join(text.rjust(14) if right else text.ljust(14) for text in texts).rstrip()

    return (preamble + "\n".join(map(line, [header, units, *map(cells, range(ROWS))])) + "\n").encode()


@pytest.mark.parametrize("right", [False, True])
@pytest.mark.parametrize("preamble", ["", "field logger, unit 3\n\n"])
@pytest.mark.parametrize(
    "header", [["Time", "Altitude", "Voltage", "Current"], ["Time of day", "Baro alt", "Pack volt", "Pack curr"]]
)
@pytest.mark.parametrize("of_time", ["[hh:mm:ss.cc]", "[h:m:s]", ""])
def test_an_empty_cell_moves_no_other(header: list[str], of_time: str, preamble: str, right: bool) -> None:
    log = read_log_bytes(written(header, [of_time, "[m]", "[V]", "[A]"], right=right, preamble=preamble), "x.txt")
    np.testing.assert_allclose(log.frame["time_s"], np.arange(ROWS) * 0.5)
    np.testing.assert_allclose(log.frame["altitude_m"], np.arange(ROWS) * 0.5)
    np.testing.assert_allclose(log.frame["current_a"], 20.25 + np.arange(ROWS) % 5)
    missing = np.arange(ROWS) % 7 == 3
    assert log.frame["voltage_v"][missing].isna().all()
    np.testing.assert_allclose(log.frame["voltage_v"][~missing], (12.4 - 0.01 * np.arange(ROWS))[~missing])


def test_a_cell_may_hold_blanks() -> None:
    modes = ("cruise", "thermal left", "")
    rows = "".join(f"{i * 0.5:<8.1f}{modes[i % 3]:<16}{i:<8}{12.4:<8}\n" for i in range(ROWS))
    log = read_log_bytes(f"{'time':<8}{'flight mode':<16}{'alt':<8}{'volts':<8}\n{rows}".encode(), "x.txt")
    np.testing.assert_allclose(log.frame["altitude_m"], np.arange(ROWS))
    assert set(log.frame["flight_mode"].dropna()) == {"cruise", "thermal left"}


def test_a_line_that_fits_no_columns_is_left_out_and_said() -> None:
    rows = [f"{i * 0.5:<8.1f}{i:<8}{12.4 - (i % 9) / 10:<8.1f}{20 + i % 5:<8}" for i in range(ROWS)]
    rows[40] = f"{20.0:<8.1f}{40:<8}{'':<8}{20:<8}"
    rows[50] = "    marker set by the pilot"
    log = read_log_bytes(("time    alt     volts   amps\n" + "\n".join(rows) + "\n").encode(), "x.txt")
    assert len(log.frame) == ROWS - 1
    assert np.isnan(log.frame["voltage_v"][40])
    assert log.frame["current_a"][40] == 20.0
    assert any(notice.code == "rows-dropped" for notice in log.notices)


def test_the_last_row_may_be_cut_off() -> None:
    whole = written(["Time", "Altitude", "Voltage", "Current"], ["[h:m:s]", "[m]", "[V]", "[A]"], right=False)
    log = read_log_bytes(whole + b"12:00:40.00   40.", "x.txt")
    assert len(log.frame) == ROWS
    assert any(notice.code == "log-cut-off" for notice in log.notices)
