"""What each kind of segment means, on invented flights whose pieces are known."""

from dataclasses import replace

import numpy as np
import pytest
from segmentation.invented_flight import STEP_S, InventedFlight, cut, spans


def ordinary(seed=0):
    """Wait, climb, zoom, glide, thermal, glide, land, wait."""
    flight = InventedFlight(seed).rest(20).run(20).zoom(12.0, 2.0).glide(40).thermal(60).glide(40)
    return flight.land().rest(25)


def of(flight, kind):
    return [(start, end) for name, start, end in flight.pieces if name == kind]


def test_an_ordinary_flight_is_cut_as_it_was_flown():
    flight = ordinary()
    found = cut(flight.log())
    assert [piece.kind for piece in found.segments] == [
        "ground", "motor_run", "glide", "thermal_climb", "glide", "ground",
    ]  # fmt: skip
    assert spans(found, "motor_run")[0] == pytest.approx(of(flight, "motor_run")[0], abs=0.15)
    assert spans(found, "thermal_climb")[0] == pytest.approx(of(flight, "thermal_climb")[0], abs=3.0)
    assert len(found.flights) == 1
    assert found.flights[0].end_s == pytest.approx(of(flight, "ground")[-1][0], abs=1.5)
    assert not found.notices


@pytest.mark.parametrize("channels", [("current_a", "voltage_v"), ("current_a", "rpm"), ("rpm",), ("throttle",)])
def test_any_motor_channel_will_do(channels):
    flight = ordinary()
    found = cut(flight.log(channels=channels))
    assert spans(found, "motor_run")[0] == pytest.approx(of(flight, "motor_run")[0], abs=0.2)


@pytest.mark.parametrize("rate_hz", [1.0, 2.0, 5.0, 10.0, 20.0])
def test_the_sampling_rate_changes_little(rate_hz):
    flight = ordinary()
    found = cut(flight.log(rate_hz=rate_hz))
    assert [piece.kind for piece in found.segments].count("thermal_climb") == 1
    assert spans(found, "motor_run")[0] == pytest.approx(of(flight, "motor_run")[0], abs=0.1 + 0.6 / rate_hz)
    assert spans(found, "thermal_climb")[0] == pytest.approx(of(flight, "thermal_climb")[0], abs=4.0)


def test_whole_metres_are_enough():
    flight = ordinary()
    found = cut(flight.log(quantum_m=1.0))
    assert spans(found, "thermal_climb")[0] == pytest.approx(of(flight, "thermal_climb")[0], abs=4.0)


@pytest.mark.parametrize("channels", [("current_a",), ("current_a", "airspeed_m_s")])
def test_zooms_and_dives_are_no_thermals(channels):
    flight = InventedFlight(3).rest(20).run(25).zoom(18.0, 4.0).glide(30)
    for _ in range(3):
        flight.dive(22.0, 4.0).zoom(22.0, 4.0).glide(25)
    found = cut(flight.land().rest(20).log(channels=channels))
    assert not spans(found, "thermal_climb")


def test_a_bump_shorter_than_a_circle_is_glide():
    flight = InventedFlight(4).rest(20).run(25).glide(30).bump().glide(30).bump(8.0, 3.0).glide(30).land().rest(20)
    assert not spans(cut(flight.log()), "thermal_climb")


@pytest.mark.parametrize(("circle_s", "channels"), [(11.0, ()), (11.0, ("heading_deg",)), (22.0, ("heading_deg",))])
def test_a_climb_that_beats_at_the_circling_period_stays_one(circle_s, channels):
    flight = InventedFlight(5).rest(20).run(25).glide(40).thermal(100, 1.0, circle_s, 1.6).glide(40).land().rest(20)
    found = cut(flight.log(channels=("current_a", *channels)))
    assert len(spans(found, "thermal_climb")) == 1
    assert spans(found, "thermal_climb")[0] == pytest.approx(of(flight, "thermal_climb")[0], abs=6.0)


@pytest.mark.parametrize("channels", [("current_a",), ("current_a", "heading_deg")])
def test_a_straight_leg_between_two_thermals_parts_them(channels):
    flight = InventedFlight(51).rest(20).run(25).glide(40).thermal(40, period_s=12.0)
    flight.glide(20, 0.4).thermal(40, period_s=12.0).glide(40).land().rest(20)
    found = spans(cut(flight.log(channels=channels)), "thermal_climb")
    assert [pytest.approx(real, abs=4.0) for real in of(flight, "thermal_climb")] == found


def test_a_motor_run_inside_lift_splits_the_climb():
    flight = InventedFlight(6).rest(20).run(15).glide(30).thermal(50).run(10).thermal(50).glide(40).land().rest(20)
    found = cut(flight.log())
    assert [piece.kind for piece in found.segments] == [
        "ground", "motor_run", "glide", "thermal_climb", "motor_run", "thermal_climb", "glide", "ground",
    ]  # fmt: skip


def test_climbs_that_lose_much_between_them_are_two():
    flight = (
        InventedFlight(7).rest(20).run(25).glide(20).thermal(50).glide(30, 1.0).thermal(50).glide(30).land().rest(20)
    )
    assert len(spans(cut(flight.log()), "thermal_climb")) == 2


def test_a_flight_that_the_log_leaves_in_the_air_ends_with_the_log():
    log = InventedFlight(50).rest(20).run(20).glide(80).log(rate_hz=10.0)
    found = cut(log)
    assert found.flights[-1].end_s == found.segments[-1].end_s == log.frame["time_s"].iloc[-1]


def test_short_blips_are_kept_and_marked():
    flight = InventedFlight(8).rest(20).run(20).glide(40).run(1.5, 1.0).glide(40).land().rest(20)
    found = cut(flight.log(rate_hz=10.0))
    assert len(found.of_kind("motor_run")) == 2
    assert [found.segments[index].duration_s < 3.0 for index in found.blips] == [True]


def test_runs_closer_than_the_sensors_tell_apart_are_one():
    flight = InventedFlight(9).rest(20).run(10).glide(0.15).run(10, spool_s=0.05).glide(40).land().rest(20)
    assert len(spans(cut(flight.log(rate_hz=5.0)), "motor_run")) == 1


def test_a_dropout_does_not_split_a_run():
    flight = ordinary(10)
    log = flight.log()
    broken = log.frame.copy()
    middle = int(30.0 * 5)
    broken.loc[middle : middle + 3, "current_a"] = np.nan
    broken.loc[middle + 20, "current_a"] = 0.0
    found = cut(log.then("broken", broken))
    assert spans(found, "motor_run")[0] == pytest.approx(of(flight, "motor_run")[0], abs=0.15)


def test_a_gap_in_the_log_inside_a_run_does_not_split_it():
    flight = ordinary(11)
    log = flight.log()
    lost = (log.frame["time_s"] > 27) & (log.frame["time_s"] < 33)
    found = cut(log.then("gap", log.frame[~lost].reset_index(drop=True)))
    assert spans(found, "motor_run")[0] == pytest.approx(of(flight, "motor_run")[0], abs=0.15)


def test_a_dead_rpm_does_not_join_the_runs_that_the_current_shows():
    flight = InventedFlight(35).rest(20).run(20).glide(60).run(15).glide(40).land().rest(20)
    log = flight.log(channels=("current_a", "throttle"))
    found = spans(cut(replace(log, frame=log.frame.assign(rpm=9561.0))), "motor_run")
    assert found == [pytest.approx(run, abs=0.3) for run in of(flight, "motor_run")]


def test_a_shaft_that_falls_silent_in_a_sinking_model_is_at_rest_and_in_a_climbing_one_is_not():
    flight = InventedFlight(36).rest(20).run(40).glide(60).run(15).glide(40).land().rest(20)
    log = flight.log(channels=("rpm",))
    lost = (log.frame["rpm"] == 0.0) | ((log.frame["time_s"] > 25) & (log.frame["time_s"] < 45))
    lost[302] = False  # it is heard once more as it stands
    found = spans(cut(replace(log, frame=log.frame.assign(rpm=log.frame["rpm"].mask(lost)))), "motor_run")
    assert found == [pytest.approx(run, abs=2.0) for run in of(flight, "motor_run")]


def test_a_soft_start_is_found_at_its_beginning():
    flight = InventedFlight(12).rest(20).run(25, spool_s=3.0).glide(40).land().rest(20)
    for channels in (("current_a",), ("current_a", "rpm")):
        assert spans(cut(flight.log(rate_hz=10.0, channels=channels)), "motor_run")[0][0] == pytest.approx(
            20.0, abs=0.35
        )


def test_part_throttle_is_a_motor_run_without_rpm():
    flight = InventedFlight(13).rest(20).run(20).glide(40).run(20, 2.0, 6.0).glide(40).land().rest(20)
    assert len(spans(cut(flight.log()), "motor_run")) == 2


def test_a_run_in_the_hand_is_a_motor_run_on_the_ground():
    flight = InventedFlight(14).rest(15)
    flight.add("motor_run", np.zeros(150), 25.0).rest(10).run(20).glide(60).land().rest(20)
    found = cut(flight.log())
    assert [piece.kind for piece in found.segments] == ["ground", "motor_run", "ground", "motor_run", "glide", "ground"]
    assert len(found.flights) == 1


def test_several_flights_in_a_log():
    flight = InventedFlight(15)
    for _ in range(3):
        flight.rest(25).run(15).glide(60).land()
    found = cut(flight.rest(25).log())
    assert len(found.flights) == 3
    assert len(spans(found, "ground")) == 4


def test_a_landing_on_a_slope_is_a_landing():
    flight = InventedFlight(16).rest(20).run(20).glide(60).land(on_m=25.0).rest(60)
    found = cut(flight.log())
    assert found.segments[-1].kind == "ground"
    assert found.segments[-1].start_s == pytest.approx(of(flight, "ground")[-1][0], abs=2.0)


def test_weak_lift_that_holds_height_is_no_ground():
    flight = InventedFlight(17).rest(20).run(25)
    flight.add("glide", flight.gusts(round(90 / 0.02), 0.4, 3.0)).glide(60).land().rest(25)
    found = cut(flight.log())
    assert len(found.flights) == 1
    assert found.flights[0].end_s == pytest.approx(of(flight, "ground")[-1][0], abs=1.5)


def test_a_launch_without_a_motor_is_a_flight():
    flight = (
        InventedFlight(18).rest(20).add("glide", np.full(150, 15.0)).glide(60).thermal(60).glide(30).land().rest(25)
    )
    found = cut(flight.log(channels=()))
    assert len(found.flights) == 1
    assert found.flights[0].start_s == pytest.approx(20.0, abs=1.0)
    assert len(spans(found, "thermal_climb")) == 1
    assert [notice.code for notice in found.notices] == ["motor-unknown"]


def test_without_any_motor_channel_the_climb_s_shape_shows_the_motor():
    flight = InventedFlight(23).rest(20).run(15).glide(60).thermal(60, 2.5).glide(30).run(15).glide(60).land().rest(25)
    found = cut(flight.log(channels=()))
    assert [notice.code for notice in found.notices] == ["motor-from-climb"]
    for mine, real in zip(spans(found, "motor_run"), of(flight, "motor_run"), strict=True):
        assert mine == pytest.approx(real, abs=1.0)
    assert len(spans(found, "thermal_climb")) == 1
    assert not found.motor_seen


@pytest.mark.parametrize(("up_m", "noise_m"), [(2.5, 0.1), (0.0, 1.0)])
def test_coarse_or_restless_heights_hide_no_launch_under_power(up_m, noise_m):
    """Whole metres once a second, as flight recorders log: a creep or noise on the ground is no earlier flight."""
    flight = InventedFlight(6).rest(20).add("ground", np.full(round(20 / STEP_S), up_m / 20.0)).rest(20)
    flight.run(25, spool_s=1.0).glide(60).thermal(60).glide(60).run(15, spool_s=1.0).glide(60).land().rest(25)
    found = cut(flight.log(rate_hz=1.0, quantum_m=1.0, noise_m=noise_m, channels=()))
    for mine, real in zip(spans(found, "motor_run"), of(flight, "motor_run"), strict=True):
        assert mine == pytest.approx(real, abs=2.0)


def test_the_pack_s_sag_shows_the_motor_where_only_voltage_is_logged():
    flight = ordinary(24)
    found = cut(flight.log(channels=("voltage_v",)))
    assert [notice.code for notice in found.notices] == ["motor-from-voltage"]
    assert spans(found, "motor_run")[0] == pytest.approx(of(flight, "motor_run")[0], abs=0.3)


@pytest.mark.parametrize(("dead", "reads"), [("current_a", 0.0), ("rpm", 0.0), ("rpm", 9561.0), ("throttle", 1.0)])
def test_the_pack_s_sag_shows_the_motor_where_its_sensor_is_dead_or_not_plugged_in(dead, reads):
    flight = ordinary(24)
    log = flight.log(channels=("voltage_v",))
    found = cut(replace(log, frame=log.frame.assign(**{dead: reads})))
    assert [notice.code for notice in found.notices] == ["motor-from-voltage"]
    assert spans(found, "motor_run")[0] == pytest.approx(of(flight, "motor_run")[0], abs=0.3)


def test_a_climb_of_two_minutes_is_one_run_of_the_pack_s_sag():
    flight = InventedFlight(46).rest(30).run(120, climb=1.8).glide(200).run(100, climb=1.8).glide(150).land().rest(30)
    found = cut(flight.log(channels=("voltage_v",)))
    assert spans(found, "motor_run") == [pytest.approx(run, abs=1.0) for run in of(flight, "motor_run")]
    assert not found.of_kind("thermal_climb")


def test_a_pack_that_is_unplugged_between_flights_does_not_hide_the_sag_of_the_others():
    flight = InventedFlight(47)
    for _ in range(2):
        flight.rest(30).run(20).glide(120).run(15).glide(60).land().rest(90)
    log = flight.log(channels=("voltage_v",))
    landed = np.searchsorted(log.frame["time_s"], [piece[1] for piece in flight.pieces if piece[0] == "ground"])
    volts = log.frame["voltage_v"].to_numpy(copy=True)
    volts[landed[1] + 100 : landed[2] - 20] = 0.0
    found = cut(replace(log, frame=log.frame.assign(voltage_v=volts)))
    assert spans(found, "motor_run") == [pytest.approx(run, abs=1.0) for run in of(flight, "motor_run")]


def test_the_steps_of_a_coarse_voltage_are_no_sag():
    """A pack that sinks from 7.97 to 7.77 V, with noise, read in steps of 0.1 V."""
    log = InventedFlight(33).rest(30).glide(300).log(channels=("voltage_v",))
    rng = np.random.default_rng(2)
    volts = 7.97 - 0.2 * log.frame["time_s"] / 330.0 + rng.normal(0.0, 0.02, len(log.frame))
    coarse = replace(log, frame=log.frame.assign(voltage_v=volts.round(1)))
    assert spans(cut(coarse), "motor_run") == []


def test_a_pack_that_recovers_slowly_does_not_prolong_the_run():
    """Over a third of the sag builds up and dies away over 20 s, as in a resistance bridged by a capacity."""
    flight = InventedFlight(31).rest(40).run(30).glide(90).run(12).glide(80).land().rest(40)
    log = flight.log(channels=("voltage_v", "current_a"))
    slow = log.frame["current_a"].ewm(alpha=1.0 - np.exp(-0.2 / 20.0), adjust=False).mean()
    volts = (12.3 - 0.015 * log.frame["current_a"] - 0.008 * slow).round(2)
    found = cut(replace(log, frame=log.frame.assign(voltage_v=volts).drop(columns="current_a")))
    for mine, real in zip(spans(found, "motor_run"), of(flight, "motor_run"), strict=True):
        assert mine == pytest.approx(real, abs=0.5)


def test_a_weak_sag_is_the_motor_s_where_the_model_climbs():
    flight = (
        InventedFlight(32).rest(30).run(30, current=40.0).glide(90).run(20, climb=4.0, current=8.0).glide(90).land()
    )
    found = cut(flight.log(channels=("voltage_v",)))
    assert len(spans(found, "motor_run")) == 2


def test_a_dead_voltage_sensor_shows_no_motor():
    log = ordinary(24).log(channels=("voltage_v",))
    dead = replace(log, frame=log.frame.assign(voltage_v=0.0))
    assert "motor-from-voltage" not in [notice.code for notice in cut(dead).notices]


def test_a_log_that_ends_in_the_air_ends_in_a_glide():
    found = cut(InventedFlight(19).rest(20).run(25).glide(60).log())
    assert found.segments[-1].kind == "glide"
    assert found.flights[-1].end_s == pytest.approx(found.segments[-1].end_s, abs=0.3)


@pytest.mark.parametrize("channels", [("current_a",), ("current_a", "heading_deg")])
def test_a_rise_by_definition_is_a_climb_whether_or_not_the_heading_shows_that_it_was_straight(channels):
    flight = InventedFlight(20).rest(20).run(25).glide(30)
    flight.add("glide", np.full(round(20.5 / 0.02), 1.0)).glide(30).land().rest(20)
    assert len(spans(cut(flight.log(channels=channels)), "thermal_climb")) == 1


@pytest.mark.parametrize(("lasts_s", "climbs"), [(18.0, 0), (22.0, 1)])
def test_a_climb_is_as_long_as_the_rise_between_flatter_glides(lasts_s, climbs):
    # Averages turn on the flatter side of a kink: those over two thirds of a circle told 18 s for more than 20.
    flight = InventedFlight(23).rest(20).run(25).glide(30)
    flight.add("glide", np.full(1000, -0.5)).add("glide", np.full(round(lasts_s / 0.02), 1.6))
    flight.add("glide", np.full(1000, -0.5)).glide(30).land().rest(20)
    found = spans(cut(flight.log()), "thermal_climb")
    assert len(found) == climbs
    assert all(end - start == pytest.approx(lasts_s, abs=1.5) for start, end in found)


def test_servo_loads_are_no_motor_runs():
    flight = ordinary(21)
    log = flight.log(rate_hz=10.0)
    frame = log.frame.copy()
    rng = np.random.default_rng(0)
    for at in rng.integers(450, 1200, 40):
        frame.loc[at : at + 3, "current_a"] += rng.exponential(0.5)
    assert len(spans(cut(log.then("loads", frame)), "motor_run")) == 1


def test_a_log_without_a_motor_has_no_runs():
    flight = InventedFlight(22).rest(20).add("glide", np.full(400, 8.0)).glide(90).land().rest(20)
    found = cut(flight.log())
    assert not spans(found, "motor_run")


@pytest.mark.parametrize("channel", ["airspeed_m_s", "ground_speed_m_s"])
def test_a_speed_that_is_lost_in_flight_neither_keeps_the_model_flying_nor_stands_it_on_the_ground(channel):
    flight = ordinary()
    log = flight.log(channels=("current_a", "airspeed_m_s")).frame.rename(columns={"airspeed_m_s": channel})
    speed = np.where(log["time_s"] < log["time_s"].iloc[-1] / 2.0, log[channel], np.nan)
    found = cut(flight.log().then("lost", log.assign(**{channel: speed})))
    assert spans(found, "ground")[-1] == pytest.approx(of(flight, "ground")[-1], abs=3.0)
    assert len(spans(found, "ground")) == len(of(flight, "ground"))


def test_an_airspeed_that_only_adds_noise_is_left_aside():
    flight = ordinary(25)
    log = flight.log(channels=("current_a", "airspeed_m_s"))
    rough = log.frame["airspeed_m_s"] + 6.0 * np.sin(log.frame["time_s"] * 2.0)
    assert not cut(log).notices
    found = cut(log.then("rough", log.frame.assign(airspeed_m_s=rough)))
    assert [notice.code for notice in found.notices] == ["airspeed-not-used"]
    assert len(spans(found, "thermal_climb")) == 1
