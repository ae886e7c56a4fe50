from __future__ import annotations

import dataclasses
import json
import math

import numpy as np
import pandas as pd
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from made_setup import made_setup
from measures.made_traces import cut, made_log
from simulator import scenario_for, simulate

from analyzer.conditioning import condition
from analyzer.measures import TUNING, measure
from analyzer.records import SEGMENT_KINDS, Flight, Log, Notice, Segment, Segmentation
from analyzer.segmentation.correction import rename_segment


def flight(idle=0.5, **channels):
    time = np.arange(0.0, 600.0, 0.2)
    motor = (time >= 60.0) & (time < 90.0)
    height = np.interp(time, [0, 60, 90, 200, 300, 560, 600], [0.0, 0.0, 150.0, 100.0, 220.0, 0.0, 0.0])
    made = {"current_a": np.where(motor, 20.0, 0.0) + idle, "voltage_v": np.full(time.size, 12.0), **channels}
    segmentation = cut(
        ("ground", 0.0, 60.0),
        ("motor_run", 60.0, 90.0),
        ("glide", 90.0, 200.0),
        ("thermal_climb", 200.0, 300.0),
        ("glide", 300.0, 560.0),
        ("ground", 560.0, 599.8),
    )
    return made_log(time, height, **{name: values for name, values in made.items() if values is not None}), segmentation


def test_totals_add_up():
    log, segmentation = flight()
    summary = measure(log, segmentation)
    totals = summary.totals
    assert totals.flight_time_s == 500.0
    assert totals.motor_time_s == 30.0
    assert totals.motor_gain_m == pytest.approx(150.0, abs=3.0)  # a climb that ends at once fits no pilot and no wing
    assert totals.thermal_gain_m == pytest.approx(120.0, abs=2.0)
    assert totals.lift_share == pytest.approx(totals.thermal_gain_m / (totals.thermal_gain_m + totals.motor_gain_m))
    assert totals.max_altitude_m == pytest.approx(220.0, abs=0.5)


def counted_flight():
    """A charge counter alone, on the pack of the flight before: 0.8 Ah, and 20 A for 30 s with 0.36 A beside."""
    time = np.arange(0.0, 600.0, 0.2)
    drawn = np.where((time >= 60.0) & (time < 90.0), 20.36, 0.36)
    return 0.8 + np.cumsum(drawn) * 0.2 / 3600.0


def test_a_counter_that_begins_anew_with_the_next_pack_is_summed_up():
    counter = counted_flight()
    counter[1000:] -= counter[1000]
    log, segmentation = flight(current_a=None, charge_ah=counter)
    whole = 30.0 * 20.0 / 3600.0 + 600.0 * 0.36 / 3600.0
    assert measure(log, segmentation).totals.charge_ah == pytest.approx(whole, abs=0.002)


def test_a_counter_that_falls_silent_for_good_is_told():
    counter = counted_flight()
    counter[500:] = np.nan
    log, segmentation = flight(current_a=None, charge_ah=counter)
    told = {notice.code: notice.message for notice in measure(log, segmentation).log.notices}
    assert "8 min" in told["silence-not-counted"]


def test_the_totals_hold_the_avionics_and_the_runs_do_not():
    log, segmentation = flight(idle=0.25)
    summary = measure(log, segmentation)
    motor = 20.0 * 30.0 / 3600.0
    # A reading of just the usual consumption counts as that, and no offset.
    assert summary.motor_runs[0].charge_ah == pytest.approx(motor, rel=0.01)
    assert summary.totals.charge_ah == pytest.approx(motor + 0.25 * 599.8 / 3600.0, rel=0.01)
    assert summary.totals.energy_wh == pytest.approx(12.0 * summary.totals.charge_ah, rel=0.01)


@pytest.mark.parametrize(("silent_s", "counts"), [(120.0, True), (3.0 * 3600.0, False)])
def test_a_recorder_that_was_off_between_two_flights_drew_nothing(silent_s, counts):
    """Two minutes without telemetry are the avionics' still; three hours are a pause."""
    log, segmentation = flight(idle=0.25)
    once = measure(log, segmentation).totals
    frame, lasts_s = log.frame, 599.8 + silent_s
    again = frame.assign(time_s=frame["time_s"] + lasts_s)
    twice = log.then("two flights", pd.concat([frame, again], ignore_index=True))
    pieces = [*segmentation.segments[:-1], Segment("ground", 560.0, lasts_s + 60.0, 0.0, 0.0)]
    pieces += [
        dataclasses.replace(piece, start_s=piece.start_s + lasts_s, end_s=piece.end_s + lasts_s)
        for piece in segmentation.segments[1:]
    ]
    summary = measure(twice, dataclasses.replace(segmentation, segments=tuple(pieces)))
    between_ah = 0.25 * silent_s / 3600.0 if counts else 0.0
    assert summary.totals.charge_ah == pytest.approx(2.0 * once.charge_ah + between_ah, rel=0.005)
    assert summary.totals.energy_wh == pytest.approx(12.0 * summary.totals.charge_ah, rel=0.005)
    assert ("silence-not-counted" in {notice.code for notice in summary.log.notices}) is not counts


def test_what_no_avionics_draw_is_the_sensors_offset():
    log, segmentation = flight(idle=8.0)
    summary = measure(log, segmentation)
    motor = 20.0 * 30.0 / 3600.0
    assert summary.motor_runs[0].charge_ah == pytest.approx(motor, rel=0.01)
    assert summary.totals.charge_ah == pytest.approx(motor + 1.0 * 599.8 / 3600.0, rel=0.01)


@pytest.mark.parametrize("idle", [-0.3, 0.0, 0.1, 0.8])
def test_what_reads_unusual_is_partly_offset(idle):
    log, segmentation = flight(idle=idle)
    summary = measure(log, segmentation)
    avionics = (summary.totals.charge_ah - summary.motor_runs[0].charge_ah) * 3600.0 / 599.8
    usual = TUNING.usual_avionics_a
    assert max(min(idle, usual), 0.0) - 0.005 <= avionics <= max(idle, usual) + 0.005
    told = [notice for notice in summary.log.notices if notice.code == "idle-current"]
    assert len(told) == (idle != 0.0)


@pytest.mark.parametrize(
    ("cells", "chemistry", "contradicts"),
    [
        (3, "lipo", False),
        (2, "lipo", True),
        (4, "lipo", True),
        (6, "lipo", True),
        (4, "life", False),
        (3, "life", True),
    ],
)
def test_a_pack_of_other_cells_than_the_setups_is_said(cells, chemistry, contradicts):
    log, segmentation = flight(idle=0.0)
    log.frame["voltage_v"] = 12.0 - 0.02 * log.frame["current_a"]
    setup = made_setup("cells = 3", f'cells = {cells}\nmin_cell_v = 3.0\nchemistry = "{chemistry}"')
    summary = measure(log, segmentation, setup)
    told = [notice.message for notice in summary.log.notices if notice.code == "cells-contradict"]
    cell = next(limit for limit in summary.power_system.limits if limit.name == "cell voltage under load")
    assert bool(told) is contradicts
    assert (cell.ok is None) is contradicts
    assert (cell.measured is None) is contradicts
    assert all(f"{12.0 / cells:.2f} V for each of the setup's {cells} cells" in message for message in told)


def test_a_log_without_motor_has_totals_and_no_runs():
    time = np.arange(0.0, 300.0, 0.5)
    log = made_log(time, np.interp(time, [0, 100, 300], [100.0, 160.0, 60.0]))
    summary = measure(log, cut(("glide", 0.0, 20.0), ("thermal_climb", 20.0, 100.0), ("glide", 100.0, 299.5)))
    assert summary.motor_runs == ()
    assert summary.totals.charge_ah is None
    assert summary.totals.lift_share == 1.0
    assert "no-current" not in [notice.code for notice in summary.log.notices]


def test_a_log_that_shows_no_motor_tells_no_share_of_lift():
    time = np.arange(0.0, 300.0, 0.5)
    log = made_log(time, np.interp(time, [0, 100, 300], [100.0, 160.0, 60.0]))
    segmentation = cut(("glide", 0.0, 20.0), ("thermal_climb", 20.0, 100.0), ("glide", 100.0, 299.5))
    unknown = dataclasses.replace(segmentation, notices=(Notice("motor-unknown", "no motor runs are told"),))
    assert measure(log, unknown).totals.lift_share is None
    by_hand = rename_segment(unknown, 1, "motor_run")
    assert measure(log, by_hand).totals.lift_share == 0.0


def test_a_log_that_never_left_the_ground():
    time = np.arange(0.0, 60.0, 0.5)
    summary = measure(made_log(time, np.zeros(time.size)), cut(("ground", 0.0, 59.5)))
    assert summary.flights == ()
    assert summary.totals.flight_time_s == 0.0
    assert summary.totals.lift_share is None


@pytest.mark.parametrize(
    ("time", "rate_hz"),
    [
        (np.arange(0.0, 60.0, 0.1), 10.0),
        (np.round(np.arange(0.0, 60.0, 0.125) - 1e-9, 1), 8.0),  # a clock of tenths
        (
            (np.arange(0.0, 60.0, 0.2)[:, None] + [0.0, 0.004, 0.008, 0.012]).ravel(),
            20.0,
        ),  # four sensors report in turn
        (np.delete(np.arange(0.0, 60.0, 0.1), slice(100, 300)), 10.0),  # a gap
    ],
)
def test_the_sample_rate_is_that_of_rows(time, rate_hz):
    facts = measure(made_log(time, np.zeros(time.size)), cut(("ground", 0.0, time[-1]))).log
    assert facts.sample_rate_hz == pytest.approx(rate_hz, rel=0.01)


def test_facts_of_the_log_name_its_own_channels_only():
    log, segmentation = flight()
    facts = measure(log, segmentation).log
    assert facts.samples == 3000
    assert facts.sample_rate_hz == pytest.approx(5.0)
    assert facts.duration_s == pytest.approx(599.8)
    assert set(facts.channels) <= {"time_s", "altitude_m", "current_a", "voltage_v", "power_w"}
    assert "height_m" not in facts.channels


def test_lag_and_wash_that_were_taken_out_are_said():
    flown = simulate(scenario_for("normal", 3), 3)
    log = condition(Log("simulated", "", flown.log.drop_duplicates("time_s").reset_index(drop=True)))
    codes = [notice.code for notice in measure(log, true_segmentation(flown)).log.notices]
    assert "altimeter-lag" in codes or "altimeter-lag-assumed" in codes


def true_segmentation(flown) -> Segmentation:
    return Segmentation(
        tuple(Flight(*times) for times in flown.truth.flights),
        tuple(Segment(s.kind, s.start_s, s.end_s, 0.0, 0.0) for s in flown.truth.segments),
    )


def numbers(value):
    """Every number in a record, however deep."""
    if dataclasses.is_dataclass(value):
        for entry in dataclasses.fields(value):
            yield from numbers(getattr(value, entry.name))
    elif isinstance(value, tuple):
        for part in value:
            yield from numbers(part)
    elif isinstance(value, float):
        yield value


@pytest.fixture(scope="module")
def sparse_logs():
    """Conditioned logs of several kinds: complete, with channels and stretches missing, and short."""
    logs = []
    for seed in (2, 5, 8):
        flown = simulate(scenario_for("hard", seed), seed)
        frame = flown.log.drop_duplicates("time_s").reset_index(drop=True)
        logs.append(condition(Log(f"hard {seed}", "", frame)))
    whole = logs[0].frame
    logs.append(Log("short", "", whole.iloc[:3].reset_index(drop=True)))
    holed = whole.copy()
    holed.loc[len(holed) // 3 : len(holed) // 2, holed.columns != "time_s"] = np.nan
    logs.append(Log("holed", "", holed))
    return logs


@settings(max_examples=60, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(data=st.data())
def test_any_cut_of_any_log_gives_finite_numbers_or_none(sparse_logs, data):
    log = data.draw(st.sampled_from(sparse_logs))
    time = log.frame["time_s"].to_numpy()
    inner = data.draw(st.lists(st.sampled_from(list(time[1:-1])), unique=True, max_size=8))
    bounds = [float(time[0]), *sorted(map(float, inner)), float(time[-1])]
    kinds = data.draw(st.lists(st.sampled_from(SEGMENT_KINDS), min_size=len(bounds) - 1, max_size=len(bounds) - 1))
    segments = tuple(
        Segment(kind, start, end, 0.0, 0.0) for kind, start, end in zip(kinds, bounds[:-1], bounds[1:], strict=True)
    )
    summary = measure(log, Segmentation((Flight(bounds[0], bounds[-1]),), segments))
    assert all(math.isfinite(number) for number in numbers(summary))
    assert len(summary.motor_runs) == kinds.count("motor_run")
    assert len(summary.glides) == kinds.count("glide")
    assert len(summary.thermal_climbs) == kinds.count("thermal_climb")
    errors = [value for run in summary.motor_runs for name, value in vars_of(run) if name.endswith("_se")]
    assert all(error is None or error >= 0.0 for error in errors)


def vars_of(record):
    return [(entry.name, getattr(record, entry.name)) for entry in dataclasses.fields(record)]


def test_the_summary_is_plain_data():
    log, segmentation = flight()
    assert json.dumps(dataclasses.asdict(measure(log, segmentation)))


@pytest.mark.parametrize(("idle", "told"), [(0.0, 1), (0.1, 0), (-0.3, 0)])
def test_a_current_that_reads_exactly_zero_at_idle_is_told(idle, told):
    log, segmentation = flight(idle=idle)
    notices = [notice for notice in measure(log, segmentation).log.notices if notice.code == "idle-reads-zero"]
    assert len(notices) == told
