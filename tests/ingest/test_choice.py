"""Which of several columns becomes a channel."""

import numpy as np
import pytest

from analyzer.ingest import read_log_bytes
from analyzer.ingest.columns.choice import Choice, choose
from analyzer.ingest.columns.meaning import meanings
from analyzer.ingest.observations import Candidate
from analyzer.units import unit_of

SECONDS = np.arange(100) * 0.2
RAMP = np.linspace(0.0, 50.0, 100)


def made(**columns: np.ndarray) -> Choice:
    candidates = [
        Candidate(i, header, meanings(header), values)
        for i, (header, values) in enumerate((name.replace("__", " "), values) for name, values in columns.items())
    ]
    return choose(candidates, SECONDS)


def chosen(choice: Choice) -> dict[str, str]:
    return {candidate.header: candidate.meaning.channel.name for candidate in choice.chosen}


def test_height_from_pressure_before_height_from_satellites() -> None:
    choice = made(GPS__alt=RAMP + 400.0, Baro__alt=RAMP)
    assert chosen(choice) == {"Baro alt": "altitude_m"}
    assert choice.notices[0].message == (
        "altitude is read from 'Baro alt' (heights from pressure are finer than from satellites); not used: 'GPS alt'"
    )


def test_a_sensor_that_never_moves_gives_way() -> None:
    choice = made(GPS__alt=RAMP, Baro__alt=np.zeros(100))
    assert chosen(choice) == {"GPS alt": "altitude_m"}
    assert "the other never changes" in choice.notices[0].message


def test_an_empty_column_gives_way() -> None:
    choice = made(GPS__alt=RAMP, Baro__alt=np.full(100, np.nan))
    assert chosen(choice) == {"GPS alt": "altitude_m"}
    assert [notice.code for notice in choice.notices] == ["column-empty"]


def test_the_term_named_first_in_the_channel_table_is_preferred() -> None:
    assert chosen(made(ESC__current=RAMP, Pack__current=RAMP * 2.0)) == {"Pack current": "current_a"}


def test_columns_that_agree_need_no_decision() -> None:
    assert chosen(made(Alt__1=RAMP, Alt__2=RAMP + 100.0)) == {"Alt 1": "altitude_m"}
    assert chosen(made(Current__1=RAMP, Current__2=RAMP + 0.01)) == {"Current 1": "current_a"}


def test_level_columns_that_differ_are_left_open() -> None:
    for header in ("Alt", "Current", "RPM"):
        choice = made(**{f"{header}__1": RAMP, f"{header}__2": RAMP[::-1]})
        assert chosen(choice) == {}
        assert list(choice.ambiguous.values()) == [(f"{header} 1", f"{header} 2")]
        assert f'--map "{header} 1=' in choice.notices[0].message


def test_currents_that_are_alike_only_at_rest_are_left_open() -> None:
    motor = np.where(np.arange(100) % 20 < 2, 30.0, 0.2)
    assert chosen(made(Current__1=motor, Current__2=0.02 * motor + 0.2)) == {}
    assert chosen(made(Current__1=motor, Current__2=motor * 1.01)) == {"Current 1": "current_a"}


def test_of_two_voltages_the_higher_is_the_pack() -> None:
    choice = made(Voltage__1=5.0 + RAMP * 0.001, Voltage__2=16.0 - RAMP * 0.02)
    assert chosen(choice) == {"Voltage 2": "voltage_v"}
    assert "the pack's is the highest voltage aboard" in choice.notices[0].message


def test_rivals_are_compared_in_one_unit() -> None:
    volts, height = 12.0 - RAMP * 0.01, RAMP * 1.0
    pack, receiver = "Voltage B [V]", "Voltage A [mV]"
    assert chosen(made(**{receiver: 1000.0 * (5.0 + RAMP * 0.001), pack: volts})) == {pack: "voltage_v"}
    metres, feet = "Altitude [m]", "Altitude [ft]"
    assert chosen(made(**{metres: height, feet: height / 0.3048})) == {metres: "altitude_m"}


def test_pack_and_receiver_are_told_apart_by_name() -> None:
    assert chosen(made(RxBt=RAMP * 0.0 + 5.0, Batt=12.0 - RAMP * 0.01)) == {
        "RxBt": "receiver_voltage_v",
        "Batt": "voltage_v",
    }


def test_several_temperatures_stay() -> None:
    assert len(chosen(made(Temp__1=RAMP, Temp__2=RAMP, ESC__temp=RAMP))) == 3


@pytest.mark.parametrize(
    ("header", "values", "channel"), [("Baro", RAMP, "altitude_m"), ("Motor__power", RAMP * 10.0, "power_w")]
)
def test_values_decide_where_they_can(header: str, values: np.ndarray, channel: str) -> None:
    assert list(chosen(made(**{header: values})).values()) == [channel]


def test_a_bare_speed_is_left_out_with_its_alternatives() -> None:
    choice = made(Speed=RAMP * 0.4)
    assert chosen(choice) == {}
    assert "'Speed' may be airspeed or ground speed" in choice.notices[0].message


def test_a_column_with_nothing_but_a_unit_counts_where_there_is_no_other() -> None:
    foo, bar = "Foo [A]", "Current [A]"
    assert chosen(made(**{foo: RAMP})) == {foo: "current_a"}
    assert chosen(made(**{foo: RAMP, bar: RAMP})) == {bar: "current_a"}


def test_the_users_map_wins() -> None:
    mapped = Candidate(0, "GPS alt", meanings("GPS alt"), RAMP, explicit=True)
    other = Candidate(1, "Baro alt", meanings("Baro alt"), RAMP)
    assert [candidate.header for candidate in choose([mapped, other], SECONDS).chosen] == ["GPS alt"]


def test_what_falls_to_nothing_is_no_voltage_of_pack_a() -> None:
    rows = "".join(f"{i / 2:.1f},{i},{12.4 - 0.01 * i:.2f},{30 if 10 < i < 40 else 0.4}\n" for i in range(60))
    frame = read_log_bytes(f"time,alt,Pack V,Pack A\n{rows}".encode(), "x.csv").frame
    assert frame["current_a"].max() == 30.0
    assert frame["voltage_v"].max() == 12.4


def test_an_index_headed_i_is_no_current() -> None:
    rows = "".join(f"{i},{i / 2:.1f},{i * 2},12.{i % 10}\n" for i in range(60))
    assert "current_a" not in read_log_bytes(f"i,time,alt,volt\n{rows}".encode(), "x.csv").frame


def test_of_voltages_that_differ_the_packs_is_the_highest_whatever_they_are_called() -> None:
    supply, pack = np.full(100, 5.1) + RAMP / 500.0, 16.0 - RAMP / 100.0
    assert chosen(made(Batt__2__Volts=supply, Volts=pack)) == {"Volts": "voltage_v"}


def test_a_column_of_unknown_unit_gives_way() -> None:
    assert chosen(made(Battery=100.0 - RAMP / 4.0, V=16.0 - RAMP / 100.0)) == {"V": "voltage_v"}


def test_cap_is_a_course_or_a_capacity_by_how_it_runs() -> None:
    assert chosen(made(Cap=RAMP * 12.0)) == {"Cap": "charge_ah"}
    assert chosen(made(Cap=180.0 + 90.0 * np.sin(RAMP))) == {"Cap": "heading_deg"}


@pytest.mark.parametrize("quantity", ["Current", "Power"])
def test_two_motors_that_agree_do_not_tell_the_packs_current(quantity: str) -> None:
    choice = made(**{f"Motor__1__{quantity}": RAMP, f"Motor__2__{quantity}": RAMP * 1.001})
    assert (chosen(choice), len(choice.ambiguous)) == ({}, 1)


@pytest.mark.parametrize("wind_m_s", [0.0, 3.0])
@pytest.mark.parametrize("named", [True, False])
@pytest.mark.parametrize("unit", ["m/s", "km/h", "kt", "mph"])
def test_a_speed_that_adds_up_to_the_way_is_the_one_over_ground(unit: str, named: bool, wind_m_s: float) -> None:
    """Circles of 25 s at an airspeed of 11 m/s, carried by a wind; 47 degrees north, where a degree is 111.2 km."""
    seconds = np.arange(0.0, 120.0, 0.5)
    along, across = 11.0 * np.cos(seconds / 4.0) + wind_m_s, 11.0 * np.sin(seconds / 4.0)
    north, east = np.cumsum(along) * 0.5, np.cumsum(across) * 0.5
    degrees = {"Lat": 47.0 + north / 111_195.0, "Lon": 9.0 + east / 111_195.0 / np.cos(np.radians(47.0))}
    speeds = {"over ground": np.hypot(along, across), "through air": np.full(seconds.size, 11.0)}
    found = {}
    for what, speed_m_s in speeds.items():
        columns = {**degrees, f"Speed ({unit})" if named else "Speed": speed_m_s / unit_of(unit).factor}
        candidates = [Candidate(i, name, meanings(name), values) for i, (name, values) in enumerate(columns.items())]
        told = {one.meaning.channel.name: one.meaning.unit for one in choose(candidates, seconds).chosen}
        found[what] = told.get("ground_speed_m_s")
    assert found == {"over ground": unit_of(unit), "through air": None if wind_m_s else unit_of(unit)}


def test_the_unit_of_a_speed_over_ground_shows_in_positions_that_wander() -> None:
    seconds = np.arange(0.0, 240.0, 0.5)
    speed_m_s, knot_m_s = 12.0 + 5.0 * np.sin(seconds / 9.0), unit_of("kt").factor
    east = np.cumsum(speed_m_s) * 0.5 + 15.0 * np.sin(seconds * 1.1)
    columns = {"Lat": np.full(480, 47.0), "Lon": 9.0 + east / 75_835.0, "GPS speed": speed_m_s / knot_m_s}
    candidates = [Candidate(i, name, meanings(name), values) for i, (name, values) in enumerate(columns.items())]
    told = {one.header: one.meaning.unit for one in choose(candidates, seconds).chosen}
    assert told["GPS speed"] == unit_of("kt")


def test_a_single_position_tells_no_unit_of_speed() -> None:
    columns = {"Lat": np.full(100, np.nan), "Lon": np.full(100, np.nan), "GPS speed": RAMP}
    columns["Lat"][50], columns["Lon"][50] = 47.0, 9.0
    assert "GPS speed" in chosen(made(**{name.replace(" ", "__"): values for name, values in columns.items()}))


def test_the_unit_behind_one_of_two_packs_tells_what_is_measured() -> None:
    draw = np.where(np.arange(100) % 20 < 8, 31_000.0, 200.0)
    assert chosen(made(**{"batt_a_mA": draw})) == {"batt_a_mA": "current_a"}


def test_a_column_with_nothing_but_its_unit_to_show_is_named_where_it_gives_way() -> None:
    choice = made(**{"Pack voltage [V]": 12.0 - RAMP * 0.01, "Foo [V]": RAMP * 0.1})
    assert chosen(choice) == {"Pack voltage [V]": "voltage_v"}
    assert [(notice.code, notice.message) for notice in choice.notices] == [("column-ignored", "not used: 'Foo [V]'")]


def test_a_speed_that_is_below_zero_as_often_as_above_is_neither_through_the_air_nor_over_ground() -> None:
    up_and_down = 2.0 * np.sin(SECONDS)
    assert chosen(made(**{"Brzina speed [m/s]": up_and_down})) == {}
    assert chosen(made(**{"Brzina speed [m/s]": np.append(10.0 + up_and_down[:90], np.full(10, -2.0))})) == {
        "Brzina speed [m/s]": "airspeed_m_s"
    }
