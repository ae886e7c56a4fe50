"""Readings that stand out alone in their channel, told from blips by what the other channels of the drive show."""

from __future__ import annotations

import numpy as np
import pandas as pd
import pytest

from analyzer.conditioning import condition
from analyzer.errors import LogFileError
from analyzer.records import Log

SECOND = np.arange(120.0)
AT = 60


def conditioned(time_s=SECOND, climb_m_s=0.0, **channels):
    altitude = 80.0 + np.cumsum(climb_m_s * np.gradient(time_s))
    noise = np.random.default_rng(9).normal(0.0, 0.2, len(time_s))
    frame = pd.DataFrame({"time_s": time_s, "altitude_m": (altitude + noise).round(1), **channels})
    return condition(Log("invented", "", frame)).frame


def blipped(idle, reading, noise=0.0):
    noise_of = np.random.default_rng(4).normal(0.0, noise, len(SECOND)) if noise else 0.0
    values = np.full(len(SECOND), idle) + noise_of
    values[AT] = reading
    return values


@pytest.mark.parametrize(
    "witness",
    [{"rpm": blipped(0.0, 5200.0)}, {"throttle": blipped(0.0, 0.6)}, {"voltage_v": blipped(12.1, 11.7, 0.015)}],
)
def test_a_blip_between_two_readings_of_a_slow_log_stays(witness):
    frame = conditioned(current_a=blipped(0.4, 9.0, 0.05), **witness)
    assert frame["current_a"][AT] == 9.0
    for name, values in witness.items():
        assert frame[name][AT] == values[AT]


def test_a_spike_that_no_other_channel_shows_goes():
    frame = conditioned(current_a=blipped(0.4, 9.0, 0.05), rpm=np.zeros(120), voltage_v=blipped(12.1, 12.1, 0.015))
    assert frame["current_a"][AT] == pytest.approx(0.4, abs=0.2)


def test_channels_that_go_against_each_other_are_no_blip():
    frame = conditioned(current_a=blipped(0.4, 9.0, 0.05), voltage_v=blipped(12.1, 12.6, 0.015))
    assert frame["current_a"][AT] == pytest.approx(0.4, abs=0.2)


def test_an_impossible_reading_beside_it_is_no_witness():
    rpm = np.zeros(len(SECOND))
    rpm[AT - 1] = -9000.0
    frame = conditioned(current_a=blipped(0.4, 90.0, 0.05), rpm=rpm)
    assert frame["current_a"][AT] == pytest.approx(0.4, abs=0.2)


def test_a_voltage_that_no_pack_sags_to_is_no_witness():
    """A row that was garbled on the way: no load pulls a pack down to 3 V for a moment."""
    frame = conditioned(current_a=blipped(0.4, 110.0, 0.05), voltage_v=blipped(12.1, 3.0, 0.015))
    assert frame["current_a"][AT] == pytest.approx(0.4, abs=0.2)


@pytest.mark.parametrize("beside", [{"airspeed_m_s": 60.0}, {"receiver_voltage_v": 12.0}, {"voltage_v": 25.0}])
def test_a_row_that_was_garbled_on_the_way_is_no_blip(beside):
    """Where a channel that no motor moves as suddenly stands out, too, the whole row is not to be believed."""
    usual = {"airspeed_m_s": 9.0, "receiver_voltage_v": 5.1, "voltage_v": 12.1}
    others = {name: blipped(usual[name], value, 0.01) for name, value in beside.items()}
    rpm = blipped(0.0, 41_000.0)
    rpm[20:40] = 6000.0 + 20.0 * np.arange(20)
    frame = conditioned(current_a=blipped(0.4, 110.0, 0.05), rpm=rpm, **others)
    assert frame["current_a"][AT] == pytest.approx(0.4, abs=0.2)
    assert frame["rpm"][AT] == 0.0


def test_a_shaft_that_keeps_its_speed_bears_out_no_peak_of_current():
    """87 A more for one reading, and 12 rpm of 7900: more than a shaft at rest bends, but nothing for that load."""
    running = (SECOND >= 55.0) & (SECOND < 66.0)
    rng = np.random.default_rng(3)
    rpm = np.where(running, 7900.0 + rng.normal(0.0, 3.0, len(SECOND)).round(), 0.0)
    current = np.where(running, 53.0, 0.4) + rng.normal(0.0, 0.1, len(SECOND))
    rpm[AT], current[AT] = 7912.0, 140.0
    frame = conditioned(current_a=current.round(1), rpm=rpm)
    assert frame["current_a"][AT] == pytest.approx(53.0, abs=0.5)


def test_zeros_of_a_lost_packet_are_no_stop():
    running = np.zeros(len(SECOND))
    running[AT - 20 : AT + 20] = 1.0
    running[AT] = 0.0
    noise = np.random.default_rng(5).normal(0.0, 0.01, len(SECOND))
    frame = conditioned(current_a=0.4 + 20.0 * running * (1.0 + noise), rpm=9000.0 * running * (1.0 - noise))
    assert frame["current_a"][AT] == pytest.approx(20.4, rel=0.03)
    assert frame["rpm"][AT] == pytest.approx(9000.0, rel=0.03)


def test_power_is_no_witness_of_its_own_current():
    frame = conditioned(current_a=blipped(0.4, 9.0, 0.05), power_w=blipped(4.8, 108.0, 0.6))
    assert frame["current_a"][AT] == pytest.approx(0.4, abs=0.2)


def test_no_blip_is_over_within_a_tenth_of_a_second():
    frame = conditioned(SECOND / 10, current_a=blipped(0.4, 9.0, 0.05), rpm=blipped(0.0, 5200.0))
    assert frame["current_a"][AT] == pytest.approx(0.4, abs=0.2)


def spool_up(reading, sag_v):
    """Readings at 5 Hz: the motor comes up, draws much for a moment, and runs on at little throttle."""
    rng = np.random.default_rng(6)
    running = np.arange(120) > AT
    current = np.where(running, 4.5, 0.2) + rng.normal(0.0, 0.05, 120)
    voltage = np.where(running, 20.6, 20.67) + rng.normal(0.0, 0.015, 120)
    current[AT], voltage[AT] = reading, voltage[AT] - sag_v
    return conditioned(SECOND / 5, current_a=current, voltage_v=voltage)["current_a"][AT]


def test_the_first_reading_of_a_spool_up_stays_where_the_voltage_falls_with_it():
    assert spool_up(37.6, 0.75) == 37.6


def test_an_averaged_current_shows_a_peak_a_reading_after_the_voltage():
    rng = np.random.default_rng(7)
    current, voltage = 0.2 + rng.normal(0.0, 0.05, 120), 20.67 + rng.normal(0.0, 0.015, 120)
    current[AT - 1 : AT + 3], voltage[AT - 1 : AT + 3] = (4.7, 12.8, 2.8, 2.7), (19.9, 20.5, 20.55, 20.55)
    assert conditioned(SECOND / 5, current_a=current, voltage_v=voltage)["current_a"][AT] == 12.8


def test_a_current_without_the_sag_that_it_would_cause_is_a_spike():
    assert spool_up(37.6, 0.0) < 10.0
    assert spool_up(183.7, 0.12) < 10.0


def test_the_fall_to_a_stop_is_no_witness_of_a_spike_before_it():
    running = np.arange(120) <= AT
    current, voltage = np.where(running, 26.2, 0.3), np.where(running, 11.4, 12.1)
    voltage += np.random.default_rng(8).normal(0.0, 0.015, 120)
    current[AT] = 97.7
    assert conditioned(SECOND / 10, current_a=current, voltage_v=voltage)["current_a"][AT] < 30.0


def test_a_witness_with_stamps_of_its_own_tells_by_its_nearest_readings():
    time_s = np.sort(np.concatenate([SECOND, SECOND + 0.05]))
    current, rpm = np.full((2, 240), np.nan)
    current[::2], rpm[1::2] = blipped(0.4, 9.0, 0.05), blipped(0.0, 5200.0)
    frame = conditioned(time_s, current_a=current, rpm=rpm)
    assert frame["current_a"][2 * AT] == 9.0


TENTH = np.arange(0.0, 300.0, 0.1)
RUNNING = ((TENTH >= 20.0) & (TENTH < 40.0)) | ((TENTH >= 120.0) & (TENTH < 150.0))


def live(seed=3):
    return np.round(0.4 + 30.0 * RUNNING + np.random.default_rng(seed).normal(0.0, 0.1, len(TENTH)), 1)


@pytest.mark.parametrize(("freezes_s", "wakes_s"), [(0.0, 300.0), (60.0, 300.0), (60.0, 200.0), (130.0, 200.0)])
@pytest.mark.parametrize("in_power", [False, True])
def test_a_current_that_stands_still_while_the_shaft_starts_or_stops_has_frozen(freezes_s, wakes_s, in_power):
    current = live()
    first, last = np.searchsorted(TENTH, (freezes_s, wakes_s))
    current[first:last] = current[first]
    voltage = 12.0 + np.random.default_rng(4).normal(0.0, 0.02, len(TENTH))
    power = {"voltage_v": voltage, "power_w": voltage * current} if in_power else {}
    frame = conditioned(TENTH, rpm=9000.0 * RUNNING, current_a=current, **power)
    for column in ("current_a", "power_w") if in_power else ("current_a",):
        assert frame[column][(freezes_s + 2.5 < TENTH) & (wakes_s - 2.5 > TENTH)].isna().all()
        assert frame[column][(freezes_s - 1.0 > TENTH) | (wakes_s + 1.0 < TENTH)].notna().all()


def test_a_current_that_stands_still_with_the_motor_off_at_the_sensor_s_limit_or_late_has_not_frozen():
    glide = (TENTH >= 40.0) & (TENTH < 115.0)
    windmilling = 9000.0 * RUNNING + glide * (3000.0 + 5000.0 * ((TENTH > 80.0) & (TENTH < 90.0)))
    exact = 30.0 * RUNNING
    held = np.interp(np.floor(TENTH) - 1.0, TENTH, exact)
    for current, rpm in ((exact, windmilling), (np.minimum(live(), 20.0), 9000.0 * RUNNING), (held, 9000.0 * RUNNING)):
        frame = conditioned(TENTH, climb_m_s=5.0 * RUNNING, rpm=rpm, current_a=current)
        assert frame["current_a"].notna().all()


def test_a_throttle_that_moves_shows_nothing_of_a_current_that_does_not():
    current = np.where(TENTH < 60.0, live(), 0.4)
    assert conditioned(TENTH, throttle=1.0 * RUNNING, current_a=current)["current_a"].notna().all()


@pytest.mark.parametrize("wakes_s", [100.0, 130.0, 300.0])
@pytest.mark.parametrize("by_power", [False, True])
def test_a_shaft_whose_speed_stands_still_while_the_current_stops_has_frozen(wakes_s, by_power):
    rpm = RUNNING * np.random.default_rng(6).normal(9000.0, 30.0, len(TENTH)).round()
    rpm[(TENTH >= 30.0) & (wakes_s > TENTH)] = 9000.0
    frame = conditioned(TENTH, rpm=rpm, **({"power_w": 12.0 * live()} if by_power else {"current_a": live()}))
    assert frame["rpm"][(TENTH > 42.5) & (wakes_s - 2.5 > TENTH)].isna().all()
    assert frame["rpm"][(TENTH < 19.0) | (wakes_s + 1.0 < TENTH)].notna().all()


def test_a_governed_speed_is_believed_though_the_current_drops_out_for_a_second():
    current = np.where((TENTH >= 30.0) & (TENTH < 31.0), 0.0, live())
    assert conditioned(TENTH, rpm=9000.0 * RUNNING, current_a=current)["rpm"].notna().all()


@pytest.mark.parametrize("beyond", ["current_a", "rpm"])
def test_a_channel_whose_readings_are_all_impossible_is_left_out(beyond):
    values = {"current_a": live(), "rpm": 9000.0 * RUNNING} | {beyond: np.full(len(TENTH), 1e7)}
    frame = conditioned(TENTH, **values)
    assert beyond not in frame or frame[beyond].isna().all()


def test_a_coarse_current_of_servos_alone_is_none_that_is_held():
    current = np.where(TENTH < 50.0, 0.0, 1.0)
    assert conditioned(TENTH, current_a=current)["current_a"].notna().all()


def test_a_log_without_any_altitude_is_refused_in_words():
    frame = pd.DataFrame({"time_s": TENTH, "altitude_m": np.nan, "rpm": np.where(TENTH < 50.0, 0.0, 9000.0)})
    with pytest.raises(LogFileError, match="altitude"):
        condition(Log("invented", "", frame))
