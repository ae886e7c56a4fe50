"""The whole flow, file in and summary out: what must add up, and what must not matter.

No published value is needed here: each test states a law (a sum, a symmetry) that any right answer obeys.
"""

from __future__ import annotations

from dataclasses import asdict
from functools import lru_cache
from itertools import pairwise

import numpy as np
import pandas as pd
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from simulator import scenario_for, simulate

from analyzer.analysis import analyze_bytes
from analyzer.records import FlightSummary

CHANNELS = ["time_s", "altitude_m", "voltage_v", "current_a", "rpm", "airspeed_m_s"]
FEW = settings(max_examples=12, deadline=None, suppress_health_check=[HealthCheck.too_slow])
SEEDS = st.sampled_from([("normal", 3), ("normal", 7), ("hard", 4), ("hard", 11)])


@lru_cache
def flown(difficulty: str, seed: int) -> pd.DataFrame:
    """One simulated log, without repeated stamps; absent channels left out."""
    log = simulate(scenario_for(difficulty, seed), seed).log  # type: ignore[arg-type]
    kept = log[[name for name in CHANNELS if name in log]].drop_duplicates("time_s")
    return kept[kept["time_s"].diff().fillna(1.0) > 0.0].reset_index(drop=True)


def analysed(log: pd.DataFrame, headers: dict[str, str] | None = None) -> FlightSummary:
    """The summary of a table written with six decimals, under the canonical headers unless others are given."""
    text = log.rename(columns=headers or {}).to_csv(index=False, float_format="%.6f")
    return analyze_bytes(text.encode(), "log.csv").summary


@lru_cache
def plain(difficulty: str, seed: int) -> FlightSummary:
    return analysed(flown(difficulty, seed))


def numbers(summary: FlightSummary) -> dict[str, float | str | None]:
    """Every figure of a summary by its path; the log's own description and the notices' words left out."""
    document = {key: value for key, value in asdict(summary).items() if key != "log"}
    found: dict[str, float | str | None] = {}

    def walk(value: object, path: str) -> None:
        if isinstance(value, dict):
            for key, item in value.items():
                walk(item, f"{path}.{key}")
        elif isinstance(value, list | tuple):
            for index, item in enumerate(value):
                walk(item, f"{path}[{index}]")
        else:
            assert value is None or isinstance(value, float | int | str)
            found[path] = value

    walk(document, "")
    return found


def assert_same(mine: FlightSummary, other: FlightSummary, within: float) -> None:
    a, b = numbers(mine), numbers(other)
    assert a.keys() == b.keys()
    for path, value in a.items():
        expected = pytest.approx(value, rel=within, abs=within) if isinstance(value, float | int) else value
        assert b[path] == expected, path


@pytest.mark.parametrize(("difficulty", "seed"), [("normal", 3), ("normal", 7), ("hard", 4), ("hard", 11)])
def test_totals_are_the_sums_of_their_parts(difficulty: str, seed: int) -> None:
    summary = plain(difficulty, seed)
    totals = summary.totals
    airborne = [run for run in summary.motor_runs if not run.on_ground]
    assert totals.flight_time_s == pytest.approx(sum(flight.end_s - flight.start_s for flight in summary.flights))
    assert totals.motor_time_s == pytest.approx(sum(run.end_s - run.start_s for run in summary.motor_runs))
    assert totals.motor_gain_m == pytest.approx(sum(run.height_gain_m or 0.0 for run in airborne), abs=0.01)
    assert totals.thermal_gain_m == pytest.approx(sum(climb.height_gain_m for climb in summary.thermal_climbs))
    lasting = sum(piece.end_s - piece.start_s for piece in summary.segments)
    assert lasting == pytest.approx(summary.log.duration_s)
    assert all(before.end_s == after.start_s for before, after in pairwise(summary.segments))


@pytest.mark.parametrize(("difficulty", "seed"), [("normal", 3), ("normal", 7), ("hard", 4)])
def test_charge_is_conserved(difficulty: str, seed: int) -> None:
    """What the motor drew and what runs all the time is what the pack gave (trapezoids over the log's stamps)."""
    log, summary = flown(difficulty, seed).dropna(subset=["current_a"]), plain(difficulty, seed)
    time, current = log["time_s"].to_numpy(), log["current_a"].to_numpy()
    running = np.zeros(len(time), dtype=bool)
    for run in summary.motor_runs:
        running |= (time >= run.start_s) & (time <= run.end_s)
    given_as = np.trapezoid(current, time)
    motor_as = 3600.0 * sum(run.charge_ah or 0.0 for run in summary.motor_runs)
    always_as = current[~running].mean() * (time[-1] - time[0])
    assert motor_as + always_as == pytest.approx(given_as, rel=0.02)


@FEW
@given(which=SEEDS, shift_s=st.floats(-1e6, 1e6), lift_m=st.floats(-300.0, 3000.0))
def test_when_it_was_and_how_high_the_field_lies_does_not_matter(
    which: tuple[str, int], shift_s: float, lift_m: float
) -> None:
    log = flown(*which)
    moved = log.assign(time_s=log["time_s"] + round(shift_s), altitude_m=log["altitude_m"] + round(lift_m))
    assert_same(plain(*which), analysed(moved), within=2e-3)


UNITS = {
    "time_s": {"Time (s)": 1.0, "Time (ms)": 1e3, "Time (us)": 1e6},
    "altitude_m": {"Altitude (m)": 1.0, "Altitude (ft)": 1 / 0.3048, "Altitude (cm)": 100.0},
    "voltage_v": {"Voltage (V)": 1.0, "Voltage (mV)": 1e3},
    "current_a": {"Current (A)": 1.0, "Current (mA)": 1e3},
    "rpm": {"RPM (1/min)": 1.0, "RPM (Hz)": 1 / 60.0},
    "airspeed_m_s": {"Airspeed (m/s)": 1.0, "Airspeed (km/h)": 3.6, "Airspeed (kt)": 3600 / 1852},
}


@FEW
@given(which=SEEDS, data=st.data())
def test_the_units_it_was_written_in_do_not_matter(which: tuple[str, int], data: st.DataObject) -> None:
    log = flown(*which)
    headers = {name: data.draw(st.sampled_from(sorted(UNITS[name])), label=name) for name in log}
    written = log.assign(**{name: log[name] * UNITS[name][header] for name, header in headers.items()})
    assert_same(plain(*which), analysed(written, headers), within=2e-3)


@FEW
@given(which=SEEDS, order=st.permutations(range(len(CHANNELS))))
def test_the_order_of_columns_does_not_matter(which: tuple[str, int], order: list[int]) -> None:
    log = flown(*which)
    shuffled = log[[log.columns[index] for index in order if index < len(log.columns)]]
    assert_same(plain(*which), analysed(shuffled), within=1e-9)
