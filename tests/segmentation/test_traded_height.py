"""Height that speed, a tow or a silence of the altimeter gives is no lift, also where no airspeed shows it."""

import numpy as np
import pytest
from segmentation.invented_flight import STEP_S, InventedFlight, cut, spans


def weak_lift(flight, lasts_s, climb_m_s=0.2):
    return flight.add("glide", np.full(round(lasts_s / STEP_S), climb_m_s))


@pytest.mark.parametrize("channels", [(), ("airspeed_m_s",), ("current_a",)])
def test_a_tow_before_weak_lift_is_no_climb(channels):
    flight = InventedFlight(40).rest(20).add("glide", np.full(round(5 / STEP_S), 9.0))
    flight = weak_lift(flight, 20).glide(90).land().rest(30)
    assert not spans(cut(flight.log(channels=channels)), "thermal_climb")


def test_a_thermal_right_after_a_tow_begins_at_its_top():
    flight = InventedFlight(41).rest(20).add("glide", np.full(round(5 / STEP_S), 9.0))
    top = flight.now_s
    flight.thermal(60).glide(90).land().rest(30)
    found = spans(cut(flight.log(channels=())), "thermal_climb")
    assert found == [pytest.approx((top, top + 60.0), abs=4.0)]


def test_a_dive_that_is_pulled_out_is_no_climb():
    flight = InventedFlight(42).rest(20).run(25).glide(20)
    flight.add("glide", np.full(round(3 / STEP_S), -7.0)).add("glide", np.full(round(2 / STEP_S), 8.0))
    flight = weak_lift(flight, 25, 0.15).glide(60).land().rest(30)
    assert not spans(cut(flight.log()), "thermal_climb")


def test_figures_flown_one_into_the_other_are_no_climb():
    flight = InventedFlight(44).rest(20).run(25)
    for rate_m_s, lasts_s in ((-7.0, 4.0), (6.0, 2.0), (-6.0, 1.5), (8.0, 2.0), (-9.0, 1.5), (8.0, 2.0)):
        flight.add("glide", np.full(round(lasts_s / STEP_S), rate_m_s))
    flight = weak_lift(flight, 15, 0.1).glide(60).land().rest(30)
    assert not spans(cut(flight.log()), "thermal_climb")


def test_a_rise_across_a_silence_is_no_climb():
    flight = InventedFlight(43).rest(20).run(20).glide(30).run(15).glide(60).land().rest(30)
    log = flight.log()
    start = flight.pieces[3][1]
    lost = (log.frame["time_s"] > start - 10.0) & (log.frame["time_s"] < start + 15.0)
    found = cut(log.then("gap", log.frame[~lost].reset_index(drop=True)))
    assert not spans(found, "thermal_climb")
