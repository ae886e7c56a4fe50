"""Rows of zeros that are lost readings, in mid-run, and real stops of the motor."""

from dataclasses import replace

import numpy as np
import pytest
from segmentation.invented_flight import InventedFlight, cut, spans

from analyzer.conditioning import condition

VOLTAGE, CURRENT = ("voltage_v",), ("current_a",)


def flown():
    return InventedFlight(51).rest(20).run(30).glide(60).land().rest(20)


def lost(log, start_s, rows, columns, value=0.0):
    first = int(np.searchsorted(log.frame["time_s"], start_s))
    frame = log.frame.copy()
    frame.loc[first : first + rows - 1, list(columns)] = value
    return replace(log, frame=frame)


def held(log):
    """A log whose rpm is left at its last value where nothing is drawn: there the controller says nothing."""
    unsteady = np.random.default_rng(8).normal(0.0, 20.0, len(log.frame)).round()
    turning = (log.frame["rpm"] + unsteady).where(log.frame["current_a"] > 1.0)
    return replace(log, frame=log.frame.assign(rpm=turning.ffill().fillna(0.0)))


def without_current(log):
    return replace(log, frame=log.frame.drop(columns="current_a"))


def runs_of(log):
    return np.ravel(spans(cut(log), "motor_run"))


@pytest.mark.parametrize("rate_hz", [1.0, 2.0, 5.0])
@pytest.mark.parametrize("rows", [1, 2])
@pytest.mark.parametrize("columns", [VOLTAGE, CURRENT, VOLTAGE + CURRENT])
@pytest.mark.parametrize("value", [0.0, -1.0])
def test_zeros_do_not_split_a_run_while_the_other_channel_shows_it(rate_hz, rows, columns, value):
    flight = flown()
    log = flight.log(rate_hz=rate_hz, channels=VOLTAGE + CURRENT)
    (run,) = spans(cut(lost(log, 34.0, rows, columns, value)), "motor_run")
    assert run == pytest.approx((20.0, 50.0), abs=1.0)


def test_zeros_do_not_split_a_run_from_a_pack_that_hardly_sags():
    log = flown().log(rate_hz=5.0, channels=VOLTAGE + CURRENT)
    volts = log.frame["voltage_v"]
    stiff = replace(log, frame=log.frame.assign(voltage_v=volts.max() - 0.1 * (volts.max() - volts)))
    (run,) = spans(cut(lost(stiff, 34.0, 8, CURRENT)), "motor_run")
    assert run == pytest.approx((20.0, 50.0), abs=1.0)


def test_a_motor_that_stops_for_two_seconds_has_stopped():
    flight = InventedFlight(52).rest(20).run(15).glide(2).run(15).glide(60).land().rest(20)
    log = flight.log(rate_hz=5.0, channels=VOLTAGE + CURRENT)
    bare = replace(
        log, frame=log.frame.assign(current_a=np.where(log.frame["current_a"] < 1.0, 0.0, log.frame["current_a"]))
    )
    for one in (log, bare):
        assert len(spans(cut(one), "motor_run")) == 2


@pytest.mark.parametrize(("share", "lasts_s"), [(1.0, 15.0), (1.0, 2.0), (0.2, 15.0)])
def test_an_rpm_that_is_held_while_the_motor_stands_does_not_join_two_runs(share, lasts_s):
    full = 30.0
    flight = InventedFlight(53).rest(20).run(20, current=full).glide(60)
    flight = flight.run(lasts_s, current=share * full).glide(60).run(20, current=full).glide(60).land().rest(20)
    log = flight.log(rate_hz=5.0, channels=("current_a", "rpm"))
    assert runs_of(held(log)) == pytest.approx(runs_of(log), abs=0.5)


def test_an_open_throttle_tells_that_the_motor_runs_on_while_the_current_is_lost():
    """A stick stands where the pilot left it, to the last digit."""
    log = InventedFlight(55).rest(20).run(30).glide(60).land().rest(20).log(rate_hz=5.0, channels=("current_a",))
    throttle = np.where(log.frame["current_a"] > 1.0, 1.0, 0.0)
    (run,) = spans(cut(lost(replace(log, frame=log.frame.assign(throttle=throttle)), 30.0, 30, CURRENT)), "motor_run")
    assert run == pytest.approx((20.0, 50.0), abs=1.0)


def test_an_rpm_that_is_held_in_glides_shows_the_runs_alone():
    flight = InventedFlight(54).rest(20).run(20).glide(90).run(15, current=12.0).glide(90).land().rest(20)
    log = flight.log(rate_hz=5.0, channels=("current_a", "rpm"))
    alone = without_current(held(log))
    assert runs_of(alone) == pytest.approx(runs_of(log), abs=2.5)  # the last reading counts for so long
    assert "held" in next(notice for notice in condition(alone).notices if notice.code == "frozen-values").message


def test_a_pack_that_is_taken_out_is_told_of_and_no_reading():
    log = flown().log(channels=VOLTAGE + CURRENT)
    found = condition(lost(log, 5.0, 50, VOLTAGE))
    assert "no-pack" in {notice.code for notice in found.notices}
    assert found.frame["voltage_v"].min() > 10.0


def test_lost_readings_are_told_in_words():
    found = condition(lost(flown().log(channels=VOLTAGE + CURRENT), 34.0, 2, CURRENT))
    assert "current: 2 lost readings set aside, the first at 0:34" in [notice.message for notice in found.notices]
