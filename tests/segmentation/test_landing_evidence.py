"""What is a landing and what is not, where the vertical speed alone misleads."""

import numpy as np
import pandas as pd
import pytest
from segmentation.invented_flight import CRUISE_M_S, STEP_S, InventedFlight, cut


def test_a_level_leg_under_power_is_no_ground():
    flight = InventedFlight(30).rest(20).run(20).glide(20)
    flight.add("motor_run", np.zeros(round(100 / STEP_S)), 8.0).glide(4, 0.05).run(8).glide(60).land().rest(25)
    assert len(cut(flight.log()).flights) == 1


@pytest.mark.parametrize(("up_m", "rests_s", "flights"), [(300.0, 70.0, 1), (60.0, 70.0, 1), (60.0, 200.0, 2)])
def test_nobody_launches_high_above_the_field_sooner_than_he_can_walk_there(up_m, rests_s, flights):
    flight = InventedFlight(35).rest(20).run(up_m / 6.0 + 5.0).glide(40)
    flight.add("glide", np.zeros(round(rests_s / STEP_S))).run(8).glide(60).land().rest(25)
    assert len(cut(flight.log()).flights) == flights


@pytest.mark.parametrize(
    ("on_m", "rests_s", "down"), [(8.0, 28.0, True), (-8.0, 28.0, True), (12.0, 35.0, True), (30.0, 35.0, False)]
)
def test_where_the_field_slopes_a_long_rest_is_a_landing_though_the_model_is_carried_home(on_m, rests_s, down):
    flight = InventedFlight(36).rest(20).run(25).glide(60).land(on_m=on_m)
    landed = flight.now_s
    home = carried(flight.rest(rests_s), -on_m, 0.5).now_s
    flight.rest(15).run(20).glide(60).land().rest(25)
    assert cut(flight.log()).flights[0].end_s == pytest.approx(landed if down else home, abs=2.0)


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


def gusts_on_the_port(flight, lasts_s, strength_m=1.0, airspeed_m_s=0.0):
    port = flight.gusts(round(lasts_s / STEP_S), strength_m, 1.5)
    return flight.add("ground", np.diff(port, prepend=0.0) / STEP_S, airspeed_m_s=airspeed_m_s)


def test_wind_in_the_tube_of_a_model_that_lies_or_is_carried_home_hides_no_landing():
    """Wind of 2 to 5 m/s is up to half of the usual airspeed, and blows hardest just before the log ends."""
    flight = InventedFlight(45).rest(20).run(25).glide(60).land(on_m=2.0)
    landed = flight.now_s
    for wind_m_s, lasts_s in ((2.0, 40.0), (5.0, 3.0), (3.0, 20.0), (5.0, 3.0), (2.0, 4.0)):
        flight.add("ground", np.zeros(round(lasts_s / STEP_S)), airspeed_m_s=wind_m_s)
    found = cut(flight.log(channels=("current_a", "airspeed_m_s")))
    assert [end.end_s for end in found.flights] == pytest.approx([landed], abs=2.0)


def carried(flight, up_m, rate_m_s):
    return flight.add("ground", np.full(round(abs(up_m) / rate_m_s / STEP_S), np.sign(up_m) * rate_m_s))


def test_a_drive_home_over_hills_is_no_flight():
    flight = InventedFlight(33).rest(20).run(20).glide(60).land()
    landed = flight.now_s
    flight.rest(25)
    for up_m, rate_m_s in ((40.0, 1.0), (-30.0, 0.8), (25.0, 1.2), (-35.0, 1.5)):
        carried(flight, up_m, rate_m_s)
    found = cut(flight.log())
    assert [end.end_s for end in found.flights] == pytest.approx([landed], abs=1.5)
    assert not found.of_kind("thermal_climb")


def test_a_model_thrown_off_a_slope_flies_before_its_motor_runs():
    flight = InventedFlight(37).rest(20)
    thrown = flight.now_s
    flight.thermal(90).glide(60).thermal(60).glide(120).run(10).glide(60).land()
    landed = flight.now_s
    flight.rest(25)
    found = cut(flight.log())
    assert [(one.start_s, one.end_s) for one in found.flights] == [pytest.approx((thrown, landed), abs=3.0)]
    assert len(found.of_kind("thermal_climb")) == 2


@pytest.mark.parametrize(("down_m", "lies_s", "pace_m_s"), [(25.0, 15.0, 0.2), (40.0, 60.0, 0.4), (40.0, 200.0, 0.3)])
def test_a_model_that_landed_low_and_is_carried_back_up_does_not_fly_there(down_m, lies_s, pace_m_s):
    flight = InventedFlight(38).rest(20).run(20).glide(60).land(on_m=-down_m)
    landed = flight.now_s
    top = carried(flight.rest(lies_s), down_m, pace_m_s).rest(20).now_s
    flight.run(20).glide(60).land(on_m=-down_m)
    again = flight.now_s
    carried(flight.rest(lies_s), down_m, pace_m_s).rest(20)
    found = cut(flight.log())
    assert [one.end_s for one in found.flights] == pytest.approx([landed, again], abs=2.0)
    assert found.flights[1].start_s == pytest.approx(top, abs=1.5)
    assert not found.of_kind("thermal_climb")


def test_walking_up_a_hill_is_no_flight_and_its_top_is_known_ground():
    flight = InventedFlight(34).rest(20)
    top = carried(flight, 45.0, 0.35).rest(10).now_s
    flight.run(20).glide(60).land(on_m=45.0)
    landed = flight.now_s
    carried(flight.rest(25), -45.0, 0.35)
    found = cut(flight.log())
    assert [(one.start_s, one.end_s) for one in found.flights] == [pytest.approx((top, landed), abs=1.5)]


@pytest.mark.parametrize(("seed", "sink"), [(12, 0.3), (24, 0.3), (36, 0.3), (18, 0.4), (44, 0.4)])
def test_a_lull_in_a_flat_last_glide_is_no_landing(seed, sink):
    """About a tenth of such glides still end early: a longer lull near the ground looks like it."""
    strength = 0.1 if sink < 0.35 else 0.25
    flight = InventedFlight(seed).rest(20).run(12, climb=4.0)
    flight.add("glide", -sink + flight.gusts(round(47.0 / sink / STEP_S), strength))
    while flight.level_m > 0.05:
        flight.add("glide", -sink + flight.gusts(50, strength))
    landed = flight.now_s
    assert [end.end_s for end in cut(flight.rest(40).log()).flights] == pytest.approx([landed], abs=2.0)


def steadily(flight, lasts_s, climb_m_s, strength=0.03):
    count = round(lasts_s / STEP_S)
    return flight.add("glide", climb_m_s + flight.gusts(count, strength))


@pytest.mark.parametrize("level_s", [6, 10, 14])
def test_low_lift_after_a_pass_near_the_ground_is_still_flight(level_s):
    flight = steadily(InventedFlight(35).rest(20).run(20).glide(60).land(on_m=4.0), level_s, 0.0)
    landed = flight.thermal(60).glide(60).land().now_s
    assert [end.end_s for end in cut(flight.rest(30).log()).flights] == pytest.approx([landed], abs=2.0)


def test_a_low_pass_before_the_landing_is_no_touch_down():
    flight = InventedFlight(1).rest(20).run(20).glide(60).land(on_m=0.6, sink=3.0)
    landed = steadily(steadily(flight, 2.5, 0.0), 3.0, 6.0).glide(20).land().now_s
    assert [end.end_s for end in cut(flight.rest(40).log()).flights] == pytest.approx([landed], abs=2.0)


def test_slope_lift_from_below_the_launch_is_no_walk_back_to_it():
    flight = InventedFlight(1).rest(20).run(20).glide(60).land(on_m=-20.0)
    for lasts_s, climb_m_s in ((14.0, 0.0), (125.0, 0.4), (75.0, -0.4)):
        steadily(flight, lasts_s, climb_m_s)
    landed = flight.now_s
    assert [end.end_s for end in cut(flight.rest(40).log()).flights] == pytest.approx([landed], abs=2.0)


@pytest.mark.parametrize("waits_s", [15, 25, 60])
def test_gusts_on_the_static_port_are_no_start_in_flight_and_hide_no_landing(waits_s):
    flight = gusts_on_the_port(InventedFlight(36), waits_s)
    start = flight.now_s
    flight.run(20).glide(60).land()
    landed = flight.now_s
    found = cut(gusts_on_the_port(flight, 80).log())
    assert [(one.start_s, one.end_s) for one in found.flights] == [pytest.approx((start, landed), abs=3.5)]


def test_a_landing_far_below_is_found_after_any_number_of_runs():
    flight = InventedFlight(37).glide(20)
    for _ in range(3):
        flight.run(10).glide(40)
    flight.land(on_m=-60.0)
    landed = flight.now_s
    found = cut(flight.rest(60).run(15).glide(60).land(on_m=-60.0).rest(30).log())
    assert len(found.flights) == 2
    assert found.flights[0].end_s == pytest.approx(landed, abs=1.5)


def test_a_tow_soon_after_a_landing_is_another_flight():
    flight = InventedFlight(38).rest(20)
    for _ in range(2):
        flight.add("glide", np.full(round(3 / STEP_S), 14.0)).glide(60).land().rest(35)
    assert len(cut(flight.log(channels=())).flights) == 2


def test_with_airspeed_level_flight_near_the_ground_is_no_landing():
    flight = InventedFlight(39).glide(30, 0.0).run(20).glide(90).land().rest(30)
    assert len(cut(flight.log(channels=("current_a", "airspeed_m_s"))).flights) == 1
    assert cut(flight.log(channels=("current_a", "airspeed_m_s"))).segments[0].kind == "glide"


def test_a_log_that_shows_no_launch_is_flight_when_its_airspeed_says_so():
    weak = np.repeat([0.3, -0.35], round(80 / STEP_S))
    found = cut(InventedFlight(40).add("glide", weak).log(channels=("current_a", "airspeed_m_s")))
    assert [(one.start_s, one.end_s) for one in found.flights] == [(0.0, pytest.approx(160.0, abs=0.3))]


def test_where_a_log_began_in_the_air_is_no_known_ground():
    flight = InventedFlight(44).glide(40, 0.8).run(20).glide(30, 1.2).land(on_m=0.0, sink=8.0)
    flight.add("glide", np.zeros(round(10 / STEP_S))).run(15)
    flight.glide(60).land(on_m=-60.0).rest(30)
    assert len(cut(flight.log()).flights) == 1


@pytest.mark.parametrize("again", [False, True], ids=["one flight", "two flights"])
@pytest.mark.parametrize("seed", [46, 47, 48])
def test_a_log_that_begins_in_a_gentle_glide_begins_in_flight_and_ends_on_the_ground_it_never_left(seed, again):
    """Switched on late, or cut: no launch shows, and the height of the field is not known."""
    flight = InventedFlight(seed).glide(40, 0.3).thermal(90).glide(150).land(on_m=-90.0)
    landed = flight.now_s
    carried(carried(flight.rest(8), 2.0, 0.5).rest(10), -1.5, 0.4).rest(60 if again else 12)
    if again:
        flight.run(20).glide(100).land(on_m=-90.0).rest(30)
    found = cut(flight.log())
    assert (found.flights[0].start_s, found.flights[0].end_s) == pytest.approx((0.0, landed), abs=3.0)
    assert len(found.flights) == 1 + again
    assert found.of_kind("thermal_climb")[0].start_s == pytest.approx(40.0, abs=5.0)


def test_a_launch_that_no_row_shows_is_one_and_a_pause_on_the_ground_is_none():
    flight = InventedFlight(49).rest(60).run(20).glide(120).thermal(80).glide(60).land()
    landed = flight.now_s
    log = flight.rest(40).log()
    heard = log.frame["time_s"]
    frame = log.frame[~heard.between(50.0, 190.0)].reset_index(drop=True)
    found = cut(log.then("lost", frame))
    assert [(one.start_s, one.end_s) for one in found.flights] == [pytest.approx((190.2, landed), abs=1.5)]
    # Back an hour later, when the weather has changed the pressure by 10 m.
    later = frame.assign(time_s=frame["time_s"] + landed + 3600.0, altitude_m=frame["altitude_m"] - 10.0)
    paused = pd.concat([log.frame, later[later["time_s"] > landed + 3610.0]], ignore_index=True)
    assert len(cut(log.then("paused", paused)).flights) == 2


@pytest.mark.parametrize("sink", [0.0, 0.2])
def test_a_log_that_begins_in_a_level_glide_begins_in_flight_when_its_positions_move(sink):
    """A recorder switched on by a tow, or a cut log: 16 s of hardly any sink are no rest at 8 m/s over ground."""
    flight = InventedFlight(41)
    flight.add("glide", -sink + flight.gusts(round(16 / STEP_S), 0.1)).thermal(100).glide(120)
    log = flight.log(channels=())
    at = log.frame["time_s"].to_numpy()
    positions = log.frame.assign(latitude_deg=45.0 + 8.0 * at / 111_195.0, longitude_deg=8.0)
    found = cut(log.then("with positions", positions))
    assert (found.segments[0].start_s, found.segments[0].kind) == (0.0, "glide")
    assert found.flights[0].start_s == 0.0


def test_a_receiver_at_rest_that_wanders_hides_no_landing():
    flight = InventedFlight(42).rest(30).run(20).glide(60).land()
    landed = flight.now_s
    log = flight.rest(60).log()
    at = log.frame["time_s"].to_numpy()
    flown = np.clip(at, 30.0, landed) * 8.0
    wander = np.random.default_rng(42).normal(0.0, 1.5, (2, len(at)))
    positions = log.frame.assign(
        latitude_deg=45.0 + (flown + wander[0]) / 111_195.0, longitude_deg=8.0 + wander[1] / 111_195.0
    )
    found = cut(log.then("with positions", positions))
    assert [end.end_s for end in found.flights] == pytest.approx([landed], abs=2.0)
