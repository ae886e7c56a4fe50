"""The stage as a whole, on small invented logs."""

import numpy as np
import pandas as pd
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from analyzer.conditioning import condition
from analyzer.errors import LogFileError
from analyzer.records import Log

DERIVED = ["height_m", "height_se_m", "climb_m_s", "climb_se_m_s"]


def log_of(**columns):
    return Log("invented.csv", "0" * 64, pd.DataFrame(columns))


def flight(rate_hz=10.0, noise=0.15, seed=0, base=412.0):
    """Twenty seconds in the hand, twenty of climb at 6 m/s, then a glide at -0.5 m/s."""
    time_s = np.arange(0.0, 140.0, 1.0 / rate_hz)
    speed = np.where(time_s < 20, 0.0, np.where(time_s < 40, 6.0, -0.5))
    height = np.cumsum(speed) / rate_hz
    return time_s, base + height + np.random.default_rng(seed).normal(0.0, noise, len(time_s)), height


def test_heights_count_from_the_launch_point():
    time_s, altitude, height = flight()
    log = condition(log_of(time_s=time_s, altitude_m=altitude))
    assert log.frame["height_m"].iloc[100:180].mean() == pytest.approx(0.0, abs=0.05)
    assert log.frame["height_m"].iloc[-300:].mean() == pytest.approx(height[-300:].mean(), abs=0.1)
    assert not log.notices
    assert log.steps[-1] == "conditioned"


def test_vertical_speed_and_its_standard_error_are_honest():
    time_s, altitude, _ = flight()
    frame = condition(log_of(time_s=time_s, altitude_m=altitude)).frame
    glide = (time_s > 50) & (time_s < 130)
    error = frame["climb_m_s"][glide] + 0.5
    assert abs(error.mean()) < 0.03
    assert 0.3 < error.std() / frame["climb_se_m_s"][glide].mean() < 1.5


def test_spikes_dropouts_and_impossible_values_are_mended_and_counted():
    time_s, altitude, _ = flight()
    clean = condition(log_of(time_s=time_s, altitude_m=altitude)).frame
    broken = altitude.copy()
    broken[[300, 700]] += 90.0
    broken[500] = 99_999.0
    broken[800:803] = np.nan
    log = condition(log_of(time_s=time_s, altitude_m=broken))
    assert {notice.code for notice in log.notices} == {"spikes-removed", "impossible-values"}
    assert any("2 single-sample spikes" in notice.message for notice in log.notices)
    assert np.abs(log.frame["height_m"] - clean["height_m"]).max() < 0.3
    assert np.isfinite(log.frame["altitude_m"]).all()
    assert np.isnan(log.frame["altitude_reading_m"].iloc[[300, 500, 700, 801]]).all()


def test_total_energy_of_a_known_zoom():
    """h + V²/2g: a zoom from 15 to 8 m/s without drag is worth 8.2087 m (computed with g = 9.80665) and no energy."""
    time_s = np.arange(0.0, 60.0, 0.1)
    speed = np.interp(time_s, [0.0, 30.0, 33.0, 60.0], [15.0, 15.0, 8.0, 8.0])
    height = 100.0 + (15.0**2 - speed**2) / (2 * 9.80665)
    noise = np.random.default_rng(0).normal(0.0, 0.05, len(time_s))
    frame = condition(log_of(time_s=time_s, altitude_m=height + noise, airspeed_m_s=speed)).frame
    rise = frame["height_m"].iloc[400:].mean() - frame["height_m"].iloc[:250].mean()
    energy = frame["energy_height_m"].iloc[400:].mean() - frame["energy_height_m"].iloc[:250].mean()
    assert rise == pytest.approx(8.2087, abs=0.05)
    assert energy == pytest.approx(0.0, abs=0.05)
    assert frame["energy_climb_m_s"].abs().max() < 0.25
    assert frame["climb_m_s"].max() > 2.0


def test_a_pitot_that_never_shows_a_flying_speed_is_left_out():
    time_s, altitude, _ = flight()
    dead = 0.4 + 0.3 * np.sin(time_s)
    log = condition(log_of(time_s=time_s, altitude_m=altitude, airspeed_m_s=dead))
    assert [notice.code for notice in log.notices] == ["airspeed-not-used"]
    assert "airspeed_m_s" not in log.frame
    assert "energy_height_m" not in log.frame


def test_a_pitot_that_fails_in_flight_is_set_aside_from_then_on():
    time_s, altitude, height = flight()
    speed = np.where((time_s > 20) & (time_s < 60), 10.0, 0.3) + 0.3 * np.sin(time_s)
    log = condition(log_of(time_s=time_s, altitude_m=altitude, airspeed_m_s=speed))
    assert [notice.code for notice in log.notices] == ["airspeed-not-used"]
    assert "820 readings set aside, the first at 0:58, slower than" in log.notices[0].message
    there = np.isfinite(log.frame["airspeed_m_s"])
    assert there[time_s < 57].all()
    assert not there[time_s > 61].any()
    still = condition(log_of(time_s=time_s, altitude_m=altitude - height, airspeed_m_s=speed))
    assert not still.notices


def test_energy_height_at_100_m_and_15_m_s():
    """111.4718 m (computed: 100 + 15²/(2 x 9.80665))."""
    time_s = np.arange(0.0, 30.0, 0.1)
    altitude = np.full(len(time_s), 100.0)
    frame = condition(log_of(time_s=time_s, altitude_m=altitude, airspeed_m_s=np.full(len(time_s), 15.0))).frame
    assert frame["energy_height_m"].iloc[150] == pytest.approx(111.4718 - 100.0, abs=1e-3)


def test_power_is_volts_times_amperes_unless_logged():
    time_s, altitude, _ = flight()
    volts, amperes = np.full(len(time_s), 12.0), np.full(len(time_s), 20.0)
    frame = condition(log_of(time_s=time_s, altitude_m=altitude, voltage_v=volts, current_a=amperes)).frame
    assert (frame["power_w"] == 240.0).all()
    logged = condition(log_of(time_s=time_s, altitude_m=altitude, power_w=volts, voltage_v=volts, current_a=amperes))
    assert (logged.frame["power_w"] == 12.0).all()


def test_a_sparse_table_comes_onto_one_timeline():
    time_s, altitude, height = flight()
    sparse, current = altitude.copy(), np.full(len(time_s), np.nan)
    sparse[np.arange(len(time_s)) % 5 != 2] = np.nan
    current[::4] = 1.0
    log = condition(log_of(time_s=time_s, altitude_m=sparse, current_a=current, flight_mode=["cruise"] * len(time_s)))
    assert len(log.frame) == len(time_s)
    assert np.isfinite(log.frame[[*DERIVED, "altitude_m"]].iloc[5:-5].to_numpy()).all()
    assert np.isfinite(log.frame["current_a"]).all()
    assert np.abs(log.frame["height_m"].to_numpy() - height)[time_s > 45].max() < 1.0


def test_a_held_altitude_gives_the_motion_of_its_readings():
    """A 2 Hz altimeter in a 10 Hz log: held values must not turn into stairs of speed."""
    time_s, altitude, _ = flight()
    held = altitude[(np.arange(len(time_s)) // 5) * 5]
    frame = condition(log_of(time_s=time_s, altitude_m=held)).frame
    glide = (time_s > 50) & (time_s < 130)
    assert frame["climb_m_s"][glide].std() < 0.3
    assert frame["altitude_reading_m"].notna().sum() == pytest.approx(len(time_s) / 5, rel=0.1)


def test_no_plausible_altitude_is_an_error():
    time_s = np.arange(10.0)
    with pytest.raises(LogFileError, match="no altitude in it is plausible"):
        condition(log_of(time_s=time_s, altitude_m=np.full(10, 1e6)))


@pytest.mark.parametrize("count", [1, 2, 3, 5])
def test_a_handful_of_samples_is_conditioned(count):
    frame = condition(log_of(time_s=np.arange(float(count)), altitude_m=np.arange(float(count)))).frame
    assert len(frame) == count
    assert np.isfinite(frame[DERIVED].to_numpy()).all()


@settings(max_examples=15, deadline=None)
@given(shift=st.floats(-300.0, 3000.0), seed=st.integers(0, 100))
def test_lifting_the_field_changes_nothing(shift, seed):
    time_s, altitude, _ = flight(rate_hz=5.0, seed=seed)
    low = condition(log_of(time_s=time_s, altitude_m=altitude)).frame
    high = condition(log_of(time_s=time_s, altitude_m=altitude + shift)).frame
    for column in DERIVED:
        assert high[column].to_numpy() == pytest.approx(low[column].to_numpy(), abs=1e-3)


@settings(max_examples=25, deadline=None)
@given(st.data())
def test_any_numbers_are_conditioned(data):
    """Whatever the channels hold, the stage gives one row a stamp, or says that there is no altitude."""
    count = data.draw(st.integers(1, 80))
    number = st.one_of(st.floats(-2e4, 2e4, width=32), st.sampled_from([np.nan, 0.0, 1.0, 50.0]))
    columns = {
        name: np.array(
            [np.nan if v is None else v for v in data.draw(st.lists(number, min_size=count, max_size=count))]
        )
        for name in ("altitude_m", "current_a", "airspeed_m_s", "heading_deg")
    }
    steps = data.draw(st.lists(st.floats(0.001, 30.0), min_size=count, max_size=count))
    time_s = np.cumsum(steps) - steps[0]
    try:
        frame = condition(log_of(time_s=time_s, **columns)).frame
    except LogFileError:
        plausible = (columns["altitude_m"] > -700) & (columns["altitude_m"] < 12_200)
        assert not plausible.any()
        return
    assert len(frame) == count
    assert (frame["height_se_m"].dropna() > 0).all()


@pytest.mark.parametrize("first", [[0.0] * 4, [357.0]])
def test_a_sensor_not_ready_at_first_does_not_shift_the_heights(first):
    time_s, altitude, height = flight(rate_hz=2.0)
    altitude[: len(first)] = first
    log = condition(log_of(time_s=time_s, altitude_m=altitude))
    assert log.frame["height_m"].max() == pytest.approx(height.max(), abs=1.0)
    assert log.frame["height_m"].iloc[10:30].mean() == pytest.approx(0.0, abs=0.2)
    assert [notice.code for notice in log.notices] == ["sensor-not-ready"]


def test_heights_go_on_where_the_altimeter_begins_anew_in_flight():
    time_s, altitude, height = flight()
    restart = int(np.flatnonzero(height > 0.9 * height.max())[-1])
    anew = altitude - altitude[restart] * (np.arange(time_s.size) >= restart)
    log = condition(log_of(time_s=time_s, altitude_m=anew))
    assert log.frame["height_m"].to_numpy()[5:-5] == pytest.approx(height[5:-5], abs=1.0)
    (notice,) = log.notices
    assert notice.code == "altitude-new-zero"
    assert f"leaps by {-altitude[restart]:+.0f} m" in notice.message
    assert "restart" in notice.message


@pytest.mark.parametrize("pause_days", [1.0, 123.0, 3650.0])
def test_a_pause_between_two_days_changes_neither_of_them(pause_days):
    time_s, altitude, height = flight()
    two_days = np.append(time_s, time_s + time_s[-1] + pause_days * 86_400.0)
    log = condition(log_of(time_s=two_days, altitude_m=np.append(altitude, altitude)))
    alone = condition(log_of(time_s=time_s, altitude_m=altitude)).frame
    for day in (log.frame.iloc[: len(time_s)], log.frame.iloc[len(time_s) :]):
        assert day["height_m"].iloc[5:-5].to_numpy() == pytest.approx(height[5:-5], abs=0.5)
        assert (day["climb_m_s"].to_numpy() - alone["climb_m_s"])[5:-5].std() < 0.1
        assert (day["climb_se_m_s"] / alone["climb_se_m_s"].to_numpy()).median() == pytest.approx(1.0, abs=0.2)


def test_every_reading_beside_a_long_silence_has_its_height():
    time_s, altitude, height = flight()
    heard = (time_s < 60.0) | (time_s > 95.0)
    frame = condition(log_of(time_s=time_s, altitude_m=np.where(heard, altitude, np.nan))).frame
    assert frame["height_m"][(time_s > 60.2) & (time_s < 94.8)].isna().all()
    assert frame["height_m"][heard].to_numpy() == pytest.approx(height[heard], abs=0.5)


def test_before_its_first_reading_the_height_is_that_of_the_first():
    time_s, altitude, _ = flight()
    heard = (time_s > 5.0) & ((time_s < 5.3) | (time_s > 30.0))
    frame = condition(log_of(time_s=time_s, altitude_m=np.where(heard, altitude, np.nan))).frame
    assert frame["height_m"][time_s <= 5.0].nunique() == 1
    assert frame["height_m"][(time_s > 5.5) & (time_s < 29.8)].isna().all()
