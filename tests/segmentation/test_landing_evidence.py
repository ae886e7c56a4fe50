"""What is a landing and what is not, where the vertical speed alone misleads."""

import numpy as np
import pytest
from segmentation.invented_flight import CRUISE_M_S, STEP_S, InventedFlight, cut


def test_a_level_leg_under_power_is_no_ground():
    flight = InventedFlight(30).rest(20).run(20).glide(20)
    flight.add("motor_run", np.zeros(round(100 / STEP_S)), 8.0).glide(4, 0.05).run(8).glide(60).land().rest(25)
    assert len(cut(flight.log()).flights) == 1


def test_gusts_on_the_static_port_hide_no_landing_from_the_airspeed():
    flight = InventedFlight(31)
    landed = []
    for _ in range(2):
        flight.run(20).glide(40).land()
        landed.append(flight.now_s)
        port = flight.gusts(round(50 / STEP_S), 0.4, 1.0)
        flight.add("ground", np.diff(port, prepend=0.0) / STEP_S, airspeed_m_s=0.0)
    found = cut(flight.log(channels=("current_a", "airspeed_m_s")))
    assert [end.end_s for end in found.flights] == pytest.approx(landed, abs=2.0)


def test_an_airspeed_that_never_showed_a_flight_tells_of_no_ground():
    flight = InventedFlight(32).rest(20).run(25).glide(90).land().rest(25)
    log = flight.log(channels=("current_a", "airspeed_m_s"))
    dead = cut(log.then("a blocked tube", log.frame.assign(airspeed_m_s=0.02 * CRUISE_M_S)))
    assert len(dead.flights) == 1
    assert dead.flights[0].end_s == pytest.approx(flight.pieces[-1][1], abs=1.5)
