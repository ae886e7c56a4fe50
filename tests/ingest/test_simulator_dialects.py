"""Every dialect that the simulator writes is read back as the log it was written from."""

from pathlib import Path

import numpy as np
import pandas as pd
import pytest
from simulator.dialects import DIALECTS, write_dialect

from analyzer.ingest import read_log

TOLERANCE = {"temperature_c": 0.06, "throttle": 0.006, "charge_ah": 6e-4, "rpm": 0.6, "pressure_pa": 0.6}
"""What the dialects round to; else 0.006 in the channel's unit."""


def flight() -> pd.DataFrame:
    """Three invented minutes in which every channel moves."""
    seconds = np.round(np.arange(900) * 0.2, 3)
    motor = (seconds > 20.0) & (seconds < 50.0)
    height = 50.0 + 40.0 * np.sin(seconds / 30.0)
    return pd.DataFrame(
        {
            "time_s": seconds,
            "altitude_m": height.round(2),
            "vertical_speed_m_s": (40.0 / 30.0 * np.cos(seconds / 30.0)).round(2),
            "voltage_v": (12.4 - seconds / 1000.0 - 0.5 * motor).round(3),
            "current_a": np.where(motor, 25.0, 0.3),
            "rpm": np.where(motor, 7200.0, 0.0),
            "throttle": np.where(motor, 0.9, 0.0),
            "charge_ah": np.round(np.cumsum(np.where(motor, 25.0, 0.3)) * 0.2 / 3600.0, 3),
            "temperature_c": np.round(20.0 + seconds / 50.0, 1),
            "receiver_voltage_v": np.where(motor, 5.05, 5.1),
            "airspeed_m_s": np.round(9.0 + np.sin(seconds), 2),
            "latitude_deg": np.round(48.0 + seconds * 1e-5, 6),
            "longitude_deg": np.round(11.0 + seconds * 1e-5, 6),
            "ground_speed_m_s": np.round(8.0 + np.cos(seconds), 2),
            "pressure_pa": np.round(95_000.0 - 11.5 * height),
            "flight_mode": np.where(motor, "launch", "cruise"),
        }
    )


@pytest.mark.parametrize("name", DIALECTS)
def test_written_by_the_simulator_and_read_back(name: str, tmp_path: Path) -> None:
    written = flight()
    write_dialect(written, tmp_path / "log.csv", name)
    log = read_log(tmp_path / "log.csv")
    assert set(log.frame.columns) == set(written.columns)
    # A table with a row a sensor keeps the sensors' own times, some milliseconds apart.
    nearest = pd.merge_asof(
        log.frame, written, on="time_s", direction="nearest", tolerance=0.1, suffixes=("", "_written")
    )
    for column in log.frame.columns.drop(["time_s", "flight_mode"]):
        there = nearest[column].notna()
        assert there.sum() == len(written), column
        expected = nearest.loc[there, f"{column}_written"]
        np.testing.assert_allclose(nearest.loc[there, column], expected, atol=TOLERANCE.get(column, 0.006), rtol=0)
    modes = nearest.dropna(subset="flight_mode")
    assert modes["flight_mode"].tolist() == modes["flight_mode_written"].tolist()
