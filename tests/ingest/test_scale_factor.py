"""A factor in a header does not say which way it goes: the values do, or the column is left out and both named."""

import numpy as np
import pytest

from analyzer.ingest import read_log_bytes
from analyzer.records import Log

SECONDS = np.arange(0.0, 80.0, 0.5)
CLIMBS = SECONDS < 20.0
TRUTH = {
    "altitude_m": np.where(CLIMBS, 7.0 * SECONDS, 140.0 - 0.7 * (SECONDS - 20.0)),
    "voltage_v": np.where(CLIMBS, 11.3, 12.2) + 0.1 * np.sin(SECONDS),
    "current_a": np.where(CLIMBS, 31.0, 0.4) + 0.1 * np.sin(SECONDS),
    "rpm": np.where(CLIMBS, 9200.0, 0.0),
    "vertical_speed_m_s": np.where(CLIMBS, 7.0, -0.7),
}


def log_of(columns: dict[str, np.ndarray]) -> Log:
    rows = (",".join(f"{value:g}" for value in row) for row in zip(*columns.values(), strict=True))
    return read_log_bytes("\n".join([",".join(columns), *rows, ""]).encode(), "x.csv")


@pytest.mark.parametrize(
    ("header", "channel", "counts"),
    [
        ("alt_x10", "altitude_m", 10.0),
        ("alt [m/10]", "altitude_m", 10.0),
        ("volt_x100", "voltage_v", 100.0),
        ("U [V*100]", "voltage_v", 100.0),
        ("amp x10", "current_a", 10.0),
        ("RPM/10", "rpm", 0.1),
        ("RPM/1000", "rpm", 0.001),
        ("rpm (x100)", "rpm", 0.01),
        ("vario [m/s*10]", "vertical_speed_m_s", 10.0),
    ],
)
def test_the_values_tell_the_side(header: str, channel: str, counts: float) -> None:
    altitude = {} if channel == "altitude_m" else {"alt": TRUTH["altitude_m"]}
    log = log_of({"time": SECONDS, **altitude, header: TRUTH[channel] * counts})
    assert np.abs(log.frame[channel].to_numpy() - TRUTH[channel]).max() < 0.01 * max(1.0, 1.0 / counts)
    assert any(header in notice.message for notice in log.notices if notice.code == "unit-inferred")


def test_where_both_sides_fit_the_column_is_left_out_and_both_are_offered() -> None:
    log = log_of({"time": SECONDS, "alt": TRUTH["altitude_m"], "amp x10": TRUTH["current_a"] / 2.0})
    assert "current_a" not in log.frame
    message = next(notice.message for notice in log.notices if notice.code == "unit-unknown")
    assert 'current_a [10 A]"' in message
    assert 'current_a [1/10 A]"' in message
    mapped = read_log_bytes(b"time,alt,amp x10\n0,1,50\n1,2,60\n", "x.csv", columns={"amp x10": "current_a [1/10 A]"})
    assert mapped.frame["current_a"].tolist() == [5.0, 6.0]


@pytest.mark.parametrize(("header", "counts"), [("time [s*10]", 10.0), ("t_ms/10", 100.0), ("time (x10 ms)", 100.0)])
def test_the_steps_tell_the_side_of_a_time(header: str, counts: float) -> None:
    log = log_of({header: SECONDS * counts, "alt": TRUTH["altitude_m"]})
    assert log.frame["time_s"].to_numpy() == pytest.approx(SECONDS)
