"""Rows that a recorder fills with what it heard last are a silence; rest on the ground is none."""

import numpy as np
import pandas as pd
import pytest

from analyzer.analysis import analyze_conditioned
from analyzer.conditioning import CONDITIONING, condition
from analyzer.conditioning.unheard import without_unheard_rows
from analyzer.records import Log

TIME = np.round(np.arange(0.0, 200.0, 0.2), 1)
CLIMB_M_S, LOAD_A = 6.0, 30.0


def flown():
    """A minute on the ground, a climb of 30 s, a glide down again; the sensors are noisy."""
    rng = np.random.default_rng(5)
    climbing = (TIME >= 60.0) & (TIME < 90.0)
    height = np.interp(TIME, [0.0, 60.0, 90.0, 190.0], [0.0, 0.0, 30.0 * CLIMB_M_S, 20.0])
    return pd.DataFrame({
        "time_s": TIME,
        "altitude_m": (height + rng.normal(0.0, 0.1, TIME.size)).round(1),
        "voltage_v": (12.4 - 0.9 * climbing + rng.normal(0.0, 0.02, TIME.size)).round(2),
        "current_a": (0.3 + LOAD_A * climbing + rng.normal(0.0, 0.1, TIME.size)).round(1),
    })  # fmt: skip


def held(frame, from_s, until_s):
    lost = frame["time_s"].between(from_s, until_s, inclusive="right")
    channels = frame.columns.drop("time_s")
    return frame.assign(**{name: frame[name].mask(lost).ffill() for name in channels}), lost


@pytest.mark.parametrize(("from_s", "until_s"), [(70.0, 73.0), (80.0, 95.0), (120.0, 124.0), (110.0, 150.0)])
def test_what_is_held_over_a_loss_of_the_link_is_set_aside(from_s, until_s):
    frame, lost = held(flown(), from_s, until_s)
    found, notices = without_unheard_rows(Log("invented", "", frame), CONDITIONING)
    assert found.drop(columns="time_s").isna().to_numpy().all(axis=1).tolist() == lost.tolist()
    (notice,) = notices
    assert f"heard 1 time, for up to {until_s - from_s:.0f} s, at" in notice.message


@pytest.mark.parametrize("noisy", [True, False])
def test_rest_that_reads_the_same_for_long_was_heard(noisy):
    frame = flown() if noisy else flown().round(0)
    on_the_ground = TIME < 55.0
    still = frame.assign(
        **{name: frame[name].mask(on_the_ground, frame[name][0]) for name in frame.columns.drop("time_s")}
    )
    assert without_unheard_rows(Log("invented", "", still), CONDITIONING)[1] == []


def test_the_charge_of_a_run_whose_end_nobody_heard_is_no_surer_than_it_can_be():
    """30 s at 30 A; the link is lost 4 s before the stop and back 3 s after it, with 30 A held all the time."""
    frame, _ = held(flown(), 86.0, 93.0)
    summary = analyze_conditioned(condition(Log("invented", "", frame)))
    (run,) = summary.summary.motor_runs
    charge_ah = LOAD_A * 30.0 / 3600.0
    assert run.charge_ah == pytest.approx(charge_ah, abs=2.0 * run.charge_ah_se)
    assert run.charge_ah_se > 0.02 * charge_ah
    assert run.height_gain_m == pytest.approx(30.0 * CLIMB_M_S, abs=2.0 * run.height_gain_m_se)


@pytest.mark.parametrize("rows", [slice(620, 621), slice(700, 715)])
def test_rows_that_read_zero_in_every_channel_were_lost(rows):
    frame = flown()
    frame.iloc[rows, 1:] = 0.0
    found, (notice,) = without_unheard_rows(Log("invented", "", frame), CONDITIONING)
    lost = found.drop(columns="time_s").isna().to_numpy()
    assert np.flatnonzero(lost.all(axis=1)).tolist() == list(range(rows.start, rows.stop))
    assert notice.code == "readings-lost"
    assert "at 2:0" in notice.message or "at 2:2" in notice.message


def test_a_row_in_which_one_channel_reads_more_than_zero_was_heard():
    frame = flown()
    frame.iloc[620:630, 1:3] = 0.0
    assert without_unheard_rows(Log("invented", "", frame), CONDITIONING)[1] == []


def test_a_model_at_rest_with_its_pack_taken_out_was_heard():
    """Height, current and voltage read zero for the last half minute: no channel of these hardly ever does."""
    frame = flown().round(0)
    frame.iloc[850:, 1:] = 0.0
    assert without_unheard_rows(Log("invented", "", frame), CONDITIONING)[1] == []
