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


def test_a_pack_that_is_taken_out_is_told_of_and_no_reading():
    log = flown().log(channels=VOLTAGE + CURRENT)
    found = condition(lost(log, 5.0, 50, VOLTAGE))
    assert "no-pack" in {notice.code for notice in found.notices}
    assert found.frame["voltage_v"].min() > 10.0


def test_lost_readings_are_told_in_words():
    found = condition(lost(flown().log(channels=VOLTAGE + CURRENT), 34.0, 2, CURRENT))
    assert "current: 2 lost readings set aside, the first at 0:34" in [notice.message for notice in found.notices]
