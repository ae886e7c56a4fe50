"""A flight held against its prediction: agreement where the model flies as predicted, and words where it does not."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from match_flight import climbing_log, summary_of
from match_planted import offsets, planted_runs, planted_setup

from analyzer.match import TUNING, match_summary
from analyzer.match.items import QUANTITIES
from analyzer.records import FlightSummary, MatchItem

SETUP = planted_setup()


def matched(true_offsets: np.ndarray, **changes) -> FlightSummary:
    run = planted_runs(SETUP, true_offsets, count=1)[0]
    log = climbing_log(
        3,
        current_a=run.current_a.value,
        loaded_v=run.voltage_v.value,
        rest_v=12.66,  # 12.5 V in the middle of the climb
        rpm=60.0 * run.speed_rev_s.value * 1.2,
        climb_m_s=run.climb_m_s.value,
        **changes,
    )
    return match_summary(summary_of(log), SETUP, log)


def whole(summary: FlightSummary) -> dict[str, MatchItem]:
    return {item.quantity: item for item in summary.match if item.run_start_s is None}


def test_as_predicted() -> None:
    summary = matched(offsets())
    items = whole(summary)
    assert tuple((item.quantity, item.unit) for item in items.values()) == QUANTITIES
    for item in items.values():
        assert item.within_uncertainty
        assert abs(item.difference_percent) < 6.0  # the airspeed is estimated
        assert item.predicted_low < item.predicted < item.predicted_high
    assert all(finding.verdict != "differs" for finding in summary.findings)


def test_a_heavy_propeller_shows_in_the_current_and_is_named() -> None:
    summary = matched(offsets(power=0.35, thrust=0.33))
    items = whole(summary)
    assert items["current"].within_uncertainty is False
    assert items["current"].difference_percent > 15.0
    assert items["pack voltage under load"].within_uncertainty
    first = summary.findings[0]
    assert first.quantity == "propeller power"
    assert first.fitted == pytest.approx(np.exp(0.35), rel=0.05)
    assert first.low < np.exp(0.35) < first.high


def test_the_flight_is_the_mean_of_its_climbs() -> None:
    summary = matched(offsets(power=0.1, thrust=0.1))
    items = whole(summary)
    climbs = [item for item in summary.match if item.run_start_s is not None]
    assert len(climbs) == 3 * len(QUANTITIES)
    current = [item.measured for item in climbs if item.quantity == "current"]
    assert items["current"].measured == pytest.approx(np.mean(current))
    rate = [item.measured for item in climbs if item.quantity == "climb rate"]
    assert items["climb per Ah"].measured == pytest.approx(3600.0 * np.mean(rate) / np.mean(current), rel=1e-6)
    power = items["electrical power"].measured
    assert power == pytest.approx(items["current"].measured * items["pack voltage under load"].measured, rel=1e-3)


def test_what_all_climbs_of_a_log_share_does_not_average_out() -> None:
    """The current sensor's scale, and the day's air: the mean over three climbs is no surer of these than one is."""
    summary = matched(offsets())
    items = whole(summary)
    assert items["current"].measured_se >= TUNING.current_scale * items["current"].measured
    assert items["climb rate"].measured_se >= TUNING.air_log_m_s
    one = next(item for item in summary.match if item.quantity == "climb rate")
    own_m_s = np.sqrt(one.measured_se**2 - TUNING.air_log_m_s**2)
    assert items["climb rate"].measured_se == pytest.approx(
        np.hypot(own_m_s / np.sqrt(3), TUNING.air_log_m_s), rel=0.05
    )


def test_part_throttle_is_predicted_at_its_throttle() -> None:
    full = whole(matched(offsets(), throttle=1.0))["current"].predicted
    part = whole(matched(offsets(), throttle=0.7))["current"].predicted
    assert 0.3 * full < part < 0.65 * full


def test_what_is_not_logged_is_left_out() -> None:
    run = planted_runs(SETUP, offsets(), count=1)[0]
    log = climbing_log(3, current_a=run.current_a.value, climb_m_s=run.climb_m_s.value, rest_v=12.66)
    bare = replace(log, frame=log.frame.drop(columns=["rpm", "voltage_v"]))
    items = whole(match_summary(summary_of(bare), SETUP, bare))
    assert set(items) == {"current", "climb rate", "climb per Ah"}


@pytest.mark.parametrize("dead", ["throttle", "rpm", "voltage_v", "airspeed_m_s"])
def test_a_channel_to_which_nothing_is_connected_is_as_if_it_were_not_logged(dead) -> None:
    run = planted_runs(SETUP, offsets(), count=1)[0]
    log = climbing_log(3, current_a=run.current_a.value, climb_m_s=run.climb_m_s.value, rest_v=12.66)
    without = replace(log, frame=log.frame.drop(columns=dead, errors="ignore"))
    zeros = replace(log, frame=log.frame.assign(**{dead: 0.0}))
    assert (
        match_summary(summary_of(zeros), SETUP, zeros).match == match_summary(summary_of(without), SETUP, without).match
    )


def test_level_flight_under_power_is_held_against_the_prediction_too() -> None:
    cruise = climbing_log(3, current_a=5.0, climb_m_s=0.0, throttle=0.5, rest_v=12.66)
    cruise.frame["height_m"] = 0.0
    items = whole(match_summary(summary_of(cruise), SETUP, cruise))
    assert items["climb per Ah"].measured == 0.0
    assert 0.0 < items["climb per Ah"].measured_se < 500.0


def test_a_log_without_climbs_says_why_there_is_no_match() -> None:
    log = climbing_log(3, climb_s=6.0)
    summary = match_summary(summary_of(log, 3, 6.0), SETUP, log)
    assert summary.match == ()
    assert summary.log.notices[-1].code == "not-matched"


def test_a_broken_coefficient_table_degrades_to_a_notice(tmp_path) -> None:
    setup = planted_setup("pitch_in = 6.5", 'pitch_in = 6.5\ncoefficients_csv = "gone.csv"')
    log = climbing_log(3)
    summary = match_summary(summary_of(log), setup.model_copy(update={"folder": tmp_path}), log)
    assert summary.match == ()
    assert "gone.csv" in summary.log.notices[-1].message


@pytest.mark.parametrize(
    ("line", "key"), [("mass_kg = 2.1\n", "[airframe] mass_kg"), ("pitch_in = 6.5\n", "[propeller] pitch_in")]
)
def test_a_setup_that_states_too_little_says_what_it_lacks(line: str, key: str) -> None:
    log = climbing_log(3)
    summary = match_summary(summary_of(log), planted_setup(line, ""), log)
    assert summary.match == ()
    assert summary.log.notices[-1].code == "not-matched"
    assert f"needs what is not given: {key};" in summary.log.notices[-1].message
