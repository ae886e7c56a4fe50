"""What headers mean, against a list of headings as telemetry writes them."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from analyzer.channels import CHANNELS
from analyzer.ingest.columns.meaning import PART, TERM, TERM_AND_NUMBER, UNIT_ONLY, meanings


def channels(header: str, unit_row: str = "") -> list[str]:
    return [meaning.channel.name for meaning in meanings(header, unit_row)]


@pytest.mark.parametrize(
    ("channel", "headers"),
    [
        (
            "time_s",
            [
                "Time",
                "t",
                "Timestamp",
                "time_s",
                "Elapsed (ms)",
                "Uhrzeit",
                "UTC",
                "Date",
                "millis",
                "Temps (s)",
                "Fecha",
            ],
        ),
        (
            "altitude_m",
            [
                "Alt",
                "Hgt (ft)",
                "Baro Alt (m)",
                "GPS altitude [m]",
                "Höhe",
                "HOEHE",
                "Rel. altitude",
                "GAlt(m)",
                "AGL [m]",
                "高度",
            ],
        ),
        (
            "vertical_speed_m_s",
            [
                "Vario",
                "VSpd(m/s)",
                "Climb rate (ft/min)",
                "Steigen [m/s]",
                "vertical_speed",
                "Sink rate",
                "Stijgsnelheid (m/s)",
                "Taux de montée [m/s]",
                "Velocidade vertical (m/s)",
                "Prędkość pionowa [m/s]",
                "RoC cm/s",
                "Climb (m/min)",
            ],
        ),
        ("airspeed_m_s", ["Airspeed", "ASpd (km/h)", "IAS", "True airspeed [m/s]", "Pitot speed"]),
        ("ground_speed_m_s", ["Ground speed", "GPS speed (km/h)", "SOG [kt]", "GSpd(kts)", "GPSVel / kmh"]),
        ("voltage_v", ["Voltage", "Batt (V)", "Pack voltage [V]", "U [V]", "Spannung", "UBatt", "ESC Volt", "V"]),
        ("current_a", ["Current", "Curr(A)", "I [A]", "Strom", "ESC current (A)", "Amps", "Motor current", "A"]),
        (
            "rpm",
            [
                "RPM",
                "Drehzahl [1/min]",
                "Motor speed (rpm)",
                "eRPM",
                "RPM1",
                "Rotation (Hz)",
                "Motor_rps",
                "Prop rps",
                "Kierrosluku [1/min]",
                "Omdrejninger",
                "Devir",
                "Turație",
                "Оберти",
                "회전수",
            ],
        ),
        ("throttle", ["Gass", "Kaasu [%]", "Przepustnica (%)", "Газ", "油门"]),
        ("throttle", ["Throttle", "Thr (%)", "Gas [%]", "Motor power [%]", "Throttle [us]", "PWM [%]", "ESC PWM (us)"]),
        ("charge_ah", ["Consumption (mAh)", "mAh", "Capacity used [mAh]", "Verbrauch", "Battery [mAh]", "Fuel"]),
        ("power_w", ["Power (W)", "Leistung", "Motor power [W]", "P [W]"]),
        ("temperature_c", ["Temp1", "ESC temperature (°C)", "Tmp2(F)", "Temperatur [°C]", "OAT", "bat_t"]),
        (
            "receiver_voltage_v",
            [
                "RxBt(V)",
                "Rx Batt",
                "Receiver voltage [V]",
                "BEC voltage",
                "Empfängerspannung [V]",
                "RXBatt: V",
                "Rx supply (V)",
            ],
        ),
        ("pressure_pa", ["Pressure (hPa)", "Baro [hPa]", "Luftdruck"]),
        ("latitude_deg", ["Latitude", "lat", "GPS Lat"]),
        ("longitude_deg", ["Longitude", "lng", "GPS Long"]),
        ("heading_deg", ["Heading", "Hdg(°)", "Course [deg]", "COG"]),
        ("flight_mode", ["Flight mode", "FM", "Flugphase", "Mode"]),
    ],
)
def test_headings_of_each_channel(channel: str, headers: list[str]) -> None:
    assert {header: channels(header) for header in headers} == {header: [channel] for header in headers}


@pytest.mark.parametrize(
    "header",
    [
        "Max altitude",
        "Alt max (m)",
        "Target altitude",
        "Battery [%]",
        "Cell 1 [V]",
        "Lowest cell (V)",
        "BEC current",
        "Wind speed [m/s]",
        "Home distance (m)",
        "Dist [m]",
        "Motor time [s]",
        "Remaining capacity (mAh)",
        "Tx battery (V)",
        "AccX (g)",
        "1RSS(dB)",
        "Rudder",
        "Altitude error",
        "RxBt min",
        "GPS speed accuracy (m/s)",
        "",
        " ",
        "?",
        "=1+1",
        "Link quality [%]",
        "Roll (deg)",
        "Roll [°]",
        "Wind dir (°)",
        "Charging current [A]",
        "Charge cycles",
        "rx_q",
        "bec_t",
        "akku_q",
        "Aileron PWM [%]",
        "PWM",
        "Soll-Drehzahl",
        "Voltage over limit",
        "Temp above limit",
    ],
)
def test_headings_that_are_no_channel(header: str) -> None:
    assert channels(header) == []


@pytest.mark.parametrize(
    ("header", "either"),
    [
        ("Speed [m/s]", {"airspeed_m_s", "ground_speed_m_s"}),
        ("Geschwindigkeit", {"airspeed_m_s", "ground_speed_m_s"}),
        ("Baro", {"altitude_m", "pressure_pa"}),
        ("Motor power", {"throttle", "power_w"}),
    ],
)
def test_words_of_two_channels_stay_open(header: str, either: set[str]) -> None:
    assert set(channels(header)) == either


def test_the_unit_decides_what_the_word_leaves_open() -> None:
    assert channels("Baro [m]") == ["altitude_m"]
    assert channels("Motor power", "W") == ["power_w"]


@pytest.mark.parametrize(
    ("header", "channel", "unit"),
    [
        ("Battery curr", "current_a", None),
        ("BATT_CURR_A", "current_a", "A"),
        ("Pack amps", "current_a", "A"),
        ("Battery mAh", "charge_ah", "mAh"),
        ("Akku mAh", "charge_ah", "mAh"),
        ("Battery cap", "charge_ah", None),
        ("Receiver temp", "temperature_c", None),
        ("Pack temp", "temperature_c", None),
        ("Batterie courant", "current_a", None),
        ("BATT_VOLT_V", "voltage_v", "V"),
        ("Battery 2", "voltage_v", None),
        ("ESC batt", "voltage_v", None),
        ("Batt V", "voltage_v", "V"),
        ("Current sensor voltage", "voltage_v", None),
        ("Voltage sensor current", "current_a", None),
        ("Altitude sensor temp", "temperature_c", None),
        ("Current sensor", "current_a", None),
        ("VoltagemV", "voltage_v", "mV"),
        ("CurrentmA", "current_a", "mA"),
        ("BaroPressurekPa", "pressure_pa", "kPa"),
        ("altitude.ft", "altitude_m", "ft"),
        ("voltage.mV", "voltage_v", "mV"),
        ("0x10_Altitude_m", "altitude_m", "m"),
    ],
)
def test_a_place_means_its_voltage_only_where_no_quantity_is_named(header: str, channel: str, unit: str | None) -> None:
    (meaning,) = meanings(header)
    assert (meaning.channel.name, meaning.unit and meaning.unit.symbol) == (channel, unit)


def test_a_battery_with_a_letter_is_one_of_two_or_its_current() -> None:
    assert set(channels("Battery A")) == {"voltage_v", "current_a"}


@pytest.mark.parametrize("header", ["Battery Wh", "Batt %", "Pack kPa", "Akku °C"])
def test_a_place_with_a_unit_of_something_else_is_no_voltage(header: str) -> None:
    assert "voltage_v" not in channels(header)


def test_what_stands_in_a_units_place_and_is_none_is_kept() -> None:
    unknown = {header: meanings(header)[0].unknown_unit for header in ("Alt [fathom]", "Alt [m]", "Alt (baro)", "Alt")}
    assert unknown == {"Alt [fathom]": "fathom", "Alt [m]": "", "Alt (baro)": "", "Alt": ""}
    assert meanings("Altitude", "(fathom)")[0].unknown_unit == "fathom"


def test_how_sure_a_meaning_is() -> None:
    sureness = [meanings(header)[0].sureness for header in ("Altitude", "Altitude 1", "Big altitude thing", "Foo [A]")]
    assert sureness == [TERM, TERM_AND_NUMBER, PART, UNIT_ONLY]


@pytest.mark.parametrize("header", ["Motor_rps", "Prop rps", "Motor (Hz)"])
def test_turns_a_second_are_converted(header: str) -> None:
    (meaning,) = meanings(header)
    assert meaning.unit is not None
    assert meaning.unit.to_base(100.0) == 6000.0


def test_satellites_and_electrical_rpm_are_marked() -> None:
    assert [meanings(header)[0].satellite for header in ("GPS alt", "Alt MSL", "Baro alt")] == [True, True, False]
    assert [meanings(header)[0].electrical for header in ("eRPM", "Electrical RPM", "RPM")] == [True, True, False]


@pytest.mark.parametrize("channel", CHANNELS, ids=lambda channel: channel.name)
def test_every_word_of_the_table_means_its_channel(channel: object) -> None:
    for word in (channel.name, *channel.words):  # type: ignore[attr-defined]
        found = channels(word)
        assert channel.name in found, word  # type: ignore[attr-defined]
        assert set(channels(f"{word} 1")) <= set(found), word


@given(st.text(max_size=60))
def test_any_header_has_at_most_one_meaning_a_channel(header: str) -> None:
    found = channels(header)
    assert len(found) == len(set(found))


@given(
    st.sampled_from([word for channel in CHANNELS for word in channel.words]),
    st.sampled_from(["upper", "title", "lower"]),
)
def test_case_and_underscores_do_not_matter(word: str, case: str) -> None:
    changed = getattr(word, case)().replace(" ", "_")
    assert set(channels(changed)) == set(channels(word)) or changed.casefold() != word.replace(" ", "_").casefold()


@pytest.mark.parametrize(
    ("header", "channel"),
    [
        ("Flughöhe", "altitude_m"), ("Antriebsspannung", "voltage_v"), ("Antriebsstrom", "current_a"),
        ("Reglertemperatur", "temperature_c"), ("Propellerdrehzahl", "rpm"), ("Bordspannung", "receiver_voltage_v"),
        ("accuspanning", "voltage_v"), ("batteryvoltage", "voltage_v"), ("packcurrent", "current_a"),
        ("baroaltitude", "altitude_m"), ("motorrpm", "rpm"), ("Steiggeschwindigkeit", "vertical_speed_m_s"),
        ("Drehz[1/min]", "rpm"), ("Vz (m/s)", "vertical_speed_m_s"), ("GS(kt)", "ground_speed_m_s"),
        ("Air mph", "airspeed_m_s"), ("h_m", "altitude_m"), ("n [1/min]", "rpm"), ("p_hPa", "pressure_pa"),
        ("P [W]", "power_w"), ("motor A", "current_a"), ("Motor V", "voltage_v"), ("motor Hz", "rpm"),
        ("ESC °C", "temperature_c"), ("I avg", "current_a"), ("U2", "voltage_v"), ("I Motor", "current_a"),
        ("hdg_cdeg", "heading_deg"),
    ],
)  # fmt: skip
def test_compounds_letters_and_units_behind_a_place(header: str, channel: str) -> None:
    assert channels(header) == [channel]


@pytest.mark.parametrize(
    "header",
    [
        "Zellenspannung", "Zellspannung", "Senderspannung", "Sollhöhe", "Starthöhe", "Maximalhöhe",
        "Drehgeschwindigkeit", "Nennkapazität", "Restkapazität", "Ladestrom", "Phasenstrom", "Servostrom",
        "Staudruck", "cellvoltage", "overvoltage", "maxspeed", "BEC A", "RX A", "servo A", "I max", "n", "p",
        "motor s", "Windgeschwindigkeit", "Sendeleistung", "z [m]",
    ],
)  # fmt: skip
def test_compounds_and_places_that_are_no_channel(header: str) -> None:
    assert channels(header) == []


def test_a_letter_of_speed_leaves_open_which() -> None:
    assert channels("v [m/s]") == ["airspeed_m_s", "ground_speed_m_s"]
    assert channels("v_kmh") == ["airspeed_m_s", "ground_speed_m_s"]


def test_units_in_a_row_are_not_looked_for_in_the_letter_above() -> None:
    assert channels("h", "m") == ["altitude_m"]
    assert channels("n", "1/min") == ["rpm"]
    assert channels("t", "s") == ["time_s"]


@pytest.mark.parametrize(
    "header",
    [
        "Batt resistance (mOhm)", "Voltage drop", "Voltage sag", "RX lost frames", "Pack cycles", "Battery type",
        "Power on time",
        "Charge time", "Power (dBm)", "Dyn pressure (Pa)", "Down (m)", "Ground elevation (m)", "Density altitude",
        "Vario tone", "Charge current", "ESC s", "Motor m", "Loop time (us)", "Time to empty (s)", "Temp comp",
    ],
)  # fmt: skip
def test_what_only_sounds_like_a_channel(header: str) -> None:
    assert channels(header) == []


@pytest.mark.parametrize(
    ("header", "channel"),
    [
        ("Pressure alt", "altitude_m"), ("Empf. Spannung", "receiver_voltage_v"), ("Tension Rx", "receiver_voltage_v"),
        ("Geschw. GPS", "ground_speed_m_s"), ("Vit. air", "airspeed_m_s"), ("Verbr. [mAh]", "charge_ah"),
        ("Batt B", "voltage_v"),
        ("Vin", "voltage_v"), ("Imot", "current_a"), ("Battery 2 voltage", "voltage_v"),
        ("RX batt (V)", "receiver_voltage_v"),
    ],
)  # fmt: skip
def test_more_abbreviations(header: str, channel: str) -> None:
    assert channels(header) == [channel]


@pytest.mark.parametrize(
    "header", ["Height over ground (m)", "Altitude above ground", "Höhe über Grund", "Höhe über NN"]
)
def test_heights_over_something_are_heights(header: str) -> None:
    assert channels(header) == ["altitude_m"]


@pytest.mark.parametrize(
    ("header", "channel"),
    [
        ("Empf.-Spg.", "receiver_voltage_v"), ("Rx1 UBat [V]", "receiver_voltage_v"),
        ("U Empfänger", "receiver_voltage_v"), ("Spannung Bordnetz Rx", "receiver_voltage_v"),
        ("Tension récepteur (V)", "receiver_voltage_v"), ("Servo volts", "receiver_voltage_v"),
        ("Vel. vertical", "vertical_speed_m_s"), ("Speed Vertical", "vertical_speed_m_s"),
        ("Vel Z", "vertical_speed_m_s"), ("Velocidad ascensional (m/s)", "vertical_speed_m_s"),
        ("Horizontal speed", "ground_speed_m_s"), ("GPS vario", "vertical_speed_m_s"),
        ("GPS vertical speed", "vertical_speed_m_s"), ("Geschw. Pitot km/h", "airspeed_m_s"),
        ("Staudruck-Geschwindigkeit (km/h)", "airspeed_m_s"), ("Geschwindigkeit über Grund", "ground_speed_m_s"),
        ("vitesse_gps_kmh", "ground_speed_m_s"),
    ],
)  # fmt: skip
def test_a_word_beside_says_which_of_the_channels_of_one_quantity(header: str, channel: str) -> None:
    assert channels(header) == [channel]


@pytest.mark.parametrize(
    "header",
    [
        "vel_n_m_s",
        "vel_d_m_s",
        "3D speed",
        "Velocity X",
        "GPS vel east",
        "I Empf. A",
        "BEC power",
        "Strom Empfänger [A]",
    ],
)
def test_components_of_a_speed_and_the_receivers_current_are_no_channel(header: str) -> None:
    assert channels(header) == []


@pytest.mark.parametrize(
    "header", ["heightAboveTakeoff", "Höhe über Start", "alt_above_home_m", "Altitude above launch (ft)"]
)
def test_what_a_height_is_over_does_not_refuse_it(header: str) -> None:
    assert channels(header) == ["altitude_m"]


@pytest.mark.parametrize(
    ("header", "channel"),
    [
        ("esc_t", "temperature_c"), ("T_Regler", "temperature_c"), ("T_Akku", "temperature_c"),
        ("T Motor °C", "temperature_c"), ("n_Motor", "rpm"), ("P Akku", "power_w"), ("w/(m/s)", "vertical_speed_m_s"),
        ("Motor %", "throttle"), ("Motor [us]", "throttle"), ("U Antrieb V", "voltage_v"),
        ("I Antrieb A", "current_a"), ("I ges A", "current_a"), ("Antriebsakku", "voltage_v"),
        ("Flugakku Spannung", "voltage_v"), ("VSI(FPM)", "vertical_speed_m_s"), ("tod_s", "time_s"),
        ("Cur(A)", "current_a"), ("Prop speed Hz", "rpm"), ("Tours/min", "rpm"), ("Minuten", "time_s"),
        ("esc1_a", "current_a"), ("Seconds since power up", "time_s"), ("Metres above start", "altitude_m"),
        ("t_mot_c", "temperature_c"), ("Sample (50 Hz)", "time_s"), ("Time (ticks @ 100 Hz)", "time_s"),
    ],
)  # fmt: skip
def test_letters_of_devices_and_words_of_the_trade(header: str, channel: str) -> None:
    assert channels(header) == [channel]


def test_a_relative_height_is_as_sure_as_one_above_the_sea() -> None:
    assert meanings("alt_rel_m")[0].sureness == meanings("Height rel.")[0].sureness == TERM_AND_NUMBER
