"""Units told from values, and signs."""

import numpy as np
import pytest

from analyzer.channels import BY_NAME
from analyzer.ingest import read_log_bytes
from analyzer.ingest.columns.convert import convert
from analyzer.ingest.columns.meaning import meanings
from analyzer.ingest.columns.speeds import slope_against_height
from analyzer.ingest.columns.unit_guess import guess_unit
from analyzer.ingest.observations import Candidate
from analyzer.units import unit_of

SECONDS = np.arange(3000) * 0.1
HEIGHT_M = 80.0 + 60.0 * np.sin(SECONDS / 40.0)
CLIMB_M_S = 1.5 * np.cos(SECONDS / 40.0)


def guessed(channel: str, values: np.ndarray) -> str | None:
    guess = guess_unit(BY_NAME[channel], values, SECONDS[: values.size])
    return guess.unit.symbol if guess else None


@pytest.mark.parametrize(
    ("channel", "typical", "symbol"),
    [
        ("voltage_v", 7.4, "V"),
        ("voltage_v", 22.2, "V"),
        ("voltage_v", 126.0, "dV"),
        ("voltage_v", 1260.0, "cV"),
        ("voltage_v", 7400.0, "mV"),
        ("voltage_v", 25_200.0, "mV"),
        ("receiver_voltage_v", 5.1, "V"),
        ("receiver_voltage_v", 5100.0, "mV"),
        ("receiver_voltage_v", 51.0, "dV"),
        ("pressure_pa", 95_000.0, "Pa"),
        ("pressure_pa", 950.0, "hPa"),
        ("pressure_pa", 95.0, "kPa"),
        ("pressure_pa", 29.9, "inHg"),
        ("temperature_c", 35.0, "°C"),
        ("temperature_c", 308.0, None),
        ("current_a", 45.0, "A"),
        ("current_a", 45_000.0, "mA"),
        ("current_a", 4_500.0, None),
        ("airspeed_m_s", 15.0, "m/s"),
        ("airspeed_m_s", 90.0, "km/h"),
        ("airspeed_m_s", 45.0, None),
        ("ground_speed_m_s", 31.0, None),
        ("latitude_deg", 48.1, "deg"),
        ("latitude_deg", 481_234_567.0, "deg*1e7"),
        ("latitude_deg", 4807.038, None),
        ("rpm", 7600.0, "rpm"),
        ("rpm", 7.6, "krpm"),
        ("rpm", 127.0, None),
        ("rpm", 0.0, "rpm"),
        ("power_w", 400.0, "W"),
        ("power_w", 400_000.0, "mW"),
    ],
)
def test_size_tells_the_unit(channel: str, typical: float, symbol: str | None) -> None:
    assert guessed(channel, np.linspace(0.98, 1.0, 200) * typical) == symbol


@pytest.mark.parametrize(
    ("low", "high", "symbol"),
    [
        (0.0, 1.0, "fraction"),
        (0.0, 0.6, "fraction"),
        (0.0, 100.0, "%"),
        (0.0, 55.0, "%"),
        (-100.0, 100.0, "+-100 %"),
        (1000.0, 2000.0, "us pulse"),
        (988.0, 2012.0, "us pulse"),
        (-1024.0, 1024.0, "+-1024"),
        (0.0, 4095.0, None),
    ],
)
def test_a_throttles_scale_shows_in_its_ends(low: float, high: float, symbol: str | None) -> None:
    assert guessed("throttle", np.linspace(low, high, 400)) == symbol


@pytest.mark.parametrize(
    ("values", "symbol"), [([0, 10, 1450], "mAh"), ([0.0, 0.5, 1.45], "Ah"), ([0, 1, 2], "mAh"), ([0.0, 700.5], "mAh")]
)
def test_a_charge_counts_whole_milliampere_hours(values: list[float], symbol: str) -> None:
    assert guessed("charge_ah", np.array(values, dtype=float)) == symbol


@pytest.mark.parametrize(("scale", "symbol"), [(1.0, "m"), (100.0, "cm"), (1000.0, "mm")])
def test_a_height_changes_no_faster_than_a_model_flies(scale: float, symbol: str) -> None:
    fast = np.where(SECONDS % 60.0 < 30.0, SECONDS % 60.0, 60.0 - SECONDS % 60.0) * 8.0
    assert guessed("altitude_m", fast * scale) == symbol


def test_steps_of_a_metre_at_fifty_hertz_are_metres() -> None:
    seconds = np.arange(5000) * 0.02
    heights = np.round(50.0 + 40.0 * np.sin(seconds / 20.0))
    guess = guess_unit(BY_NAME["altitude_m"], heights, seconds)
    assert guess is not None
    assert (guess.unit.symbol, guess.reason) == ("m", "")


@pytest.mark.parametrize("symbol", ["m/s", "cm/s", "dm/s", "ft/min", "ft/s"])
@pytest.mark.parametrize("downward", [False, True])
def test_vertical_speed_adds_up_to_height(symbol: str, downward: bool) -> None:
    noise = np.random.default_rng(3).normal(0.0, 0.3, SECONDS.size)
    speeds = (CLIMB_M_S + noise) / unit_of(symbol).factor * (-1.0 if downward else 1.0)
    slope = slope_against_height(speeds, HEIGHT_M, SECONDS)
    assert slope is not None
    assert (slope.unit.symbol, slope.downward) == (symbol, downward)


def test_what_does_not_add_up_tells_nothing() -> None:
    noise = np.random.default_rng(4).normal(0.0, 1.0, SECONDS.size)
    assert slope_against_height(noise, HEIGHT_M, SECONDS) is None
    assert slope_against_height(np.zeros(SECONDS.size), HEIGHT_M, SECONDS) is None
    assert slope_against_height(CLIMB_M_S[:50], HEIGHT_M[:50], SECONDS[:50]) is None
    assert slope_against_height(np.full(SECONDS.size, np.nan), HEIGHT_M, SECONDS) is None


def converted(header: str, values: np.ndarray) -> tuple[np.ndarray | None, list[str]]:
    candidate = Candidate(0, header, meanings(header), values)
    found = convert(candidate, SECONDS[: values.size])
    return found.values, [notice.code for notice in found.notices]


def test_a_named_unit_is_converted_and_said() -> None:
    values, codes = converted("Hgt (ft)", np.array([0.0, 1000.0]))
    assert values is not None
    np.testing.assert_allclose(values, [0.0, 304.8])
    assert codes == ["column-read"]


@pytest.mark.parametrize("header", ["RPM", "Drehzahl [1/min]"])
def test_more_turns_than_any_shaft_makes_are_kept_as_electrical_ones(header: str) -> None:
    counted = 7.0 * np.linspace(0.0, 25_000.0, 200)  # the motor's field, of seven pole pairs
    values, codes = converted(header, counted)
    assert values is not None
    np.testing.assert_allclose(values, counted)
    assert codes == ["rpm-electrical"]
    one_spike = np.append(np.full(300, 9000.0), 175_000.0)
    assert converted(header, one_spike)[1] == []


def test_impossible_values_are_dropped_and_counted() -> None:
    values, codes = converted("Temp (°C)", np.array([20.0, -999.0, 21.0, 22.0]))
    assert values is not None
    np.testing.assert_array_equal(values, [20.0, np.nan, 21.0, 22.0])
    assert codes == ["values-out-of-range"]


def test_a_column_of_impossible_values_is_left_out() -> None:
    values, codes = converted("Voltage (V)", np.array([12_600.0, 12_500.0, 12_400.0]))
    assert values is None
    assert codes == ["column-out-of-range"]


def test_a_current_negative_in_discharge_is_turned() -> None:
    values, codes = converted("Current (A)", np.array([-0.3, -25.0, -30.0, 0.1]))
    assert values is not None
    assert values.tolist() == [0.3, 25.0, 30.0, -0.1]
    assert codes == ["current-sign"]


@pytest.mark.parametrize("values", [[-0.4, 25.0, 30.0], [-3.0, 30.0, 25.0], [-0.5, 0.2, 0.1]])
def test_an_offset_or_a_brake_is_no_discharge(values: list[float]) -> None:
    found, codes = converted("Current (A)", np.array(values))
    assert found is not None
    assert found.tolist() == values
    assert codes == []


def test_a_percentage_below_zero_has_its_middle_at_zero() -> None:
    values, _ = converted("Throttle (%)", np.array([-100.0, 0.0, 100.0]))
    assert values is not None
    assert values.tolist() == [0.0, 0.5, 1.0]


def test_an_unknown_unit_leaves_the_column_out() -> None:
    values, codes = converted("Current", np.array([0.0, 2500.0, 2400.0]))
    assert values is None
    assert codes == ["unit-unknown"]


def test_a_unit_that_is_not_known_is_named_when_another_is_assumed() -> None:
    data = "time [s],altitude [fathom],current (main) [A]\n" + "".join(f"{i},{i},0.2\n" for i in range(9))
    (notice,) = (notice for notice in read_log_bytes(data.encode(), "x.csv").notices if notice.code == "unit-assumed")
    assert "'altitude [fathom]' m ('fathom' is no unit known here" in notice.message
    assert '--map "altitude [fathom]=altitude_m [unit]"' in notice.message


@pytest.mark.parametrize(
    ("header", "typical", "message"),
    [
        ("Volts", 12_500.0, "'Volts' has no unit: read as pack voltage in mV"),
        ("RPM", 7.6, "'RPM' has no unit: read as rpm in krpm"),
        ("RPM", 7600.0, ""),
        ("RPM [rpm]", 7.6, ""),
    ],
)
def test_a_header_that_is_a_unit_alone_yields_to_values_that_rule_it_out(
    header: str, typical: float, message: str
) -> None:
    candidate = Candidate(0, header, meanings(header), np.linspace(0.9, 1.0, 100) * typical)
    notices = [notice.message for notice in convert(candidate, SECONDS[:100]).notices if notice.code == "unit-inferred"]
    assert [text[: len(message)] for text in notices] == ([message] if message else [])


@pytest.mark.parametrize("full", [255.0, 1000.0, 1023.0])
def test_a_throttle_in_counts_that_is_used_to_the_full(full: float) -> None:
    rows = "".join(f"{i / 2:.1f},{i},{full if 10 < i < 40 else 0:g}\n" for i in range(60))
    log = read_log_bytes(f"time,alt,thr\n{rows}".encode(), "x.csv")
    assert sorted(set(log.frame["throttle"])) == [0.0, 1.0]
    assert any(notice.code == "unit-inferred" and "thr" in notice.message for notice in log.notices)


@pytest.mark.parametrize(("counts", "symbol"), [(10.0, "dm"), (100.0, "cm"), (1000.0, "mm")])
@pytest.mark.parametrize("climb_m_s", [7.0, 12.0])
def test_a_height_that_cannot_be_metres_is_what_makes_a_usual_flight(
    counts: float, symbol: str, climb_m_s: float
) -> None:
    seconds = np.arange(0.0, 100.0, 0.5)
    heights = np.where(seconds < 20.0, climb_m_s * seconds, 20.0 * climb_m_s - 0.7 * (seconds - 20.0))
    guess = guess_unit(BY_NAME["altitude_m"], np.round(heights * counts), seconds)
    assert guess is not None
    assert guess.unit.symbol == symbol


def test_a_height_between_two_units_is_left_open() -> None:
    seconds = np.arange(0.0, 100.0, 0.5)
    heights = np.where(seconds < 20.0, 220.0 * seconds, 4400.0 - 20.0 * (seconds - 20.0))
    assert guess_unit(BY_NAME["altitude_m"], heights, seconds) is None  # 22 m/s to 440 m, or 2.2 m/s to 44 m


@pytest.mark.parametrize(("unit", "factor"), [("ft", 0.3048), ("dm", 0.1), ("cm", 0.01)])
def test_a_vertical_speed_with_a_unit_tells_the_height_without(unit: str, factor: float) -> None:
    seconds = np.arange(0.0, 100.0, 0.5)
    heights = np.where(seconds < 20.0, 5.0 * seconds, 100.0 - 0.7 * (seconds - 20.0))
    rows = zip(seconds, heights / factor, np.where(seconds < 20.0, 5.0, -0.7) / 0.00508, strict=True)
    text = "time,alt,vspd [fpm]\n" + "".join(f"{t:.1f},{h:.0f},{v:.0f}\n" for t, h, v in rows)
    log = read_log_bytes(text.encode(), "x.csv")
    assert np.abs(log.frame["altitude_m"] - heights).max() < 0.5 * factor + 1e-9
    assert any(f"in {unit} (so 'vspd [fpm]' adds up to it)" in notice.message for notice in log.notices)


@pytest.mark.parametrize("header", ["Capacity (mAh)", "Fuel"])
def test_a_charge_that_counts_down_is_what_is_left_and_no_charge_used(header: str) -> None:
    values, codes = converted(header, np.array([5000.0, 4990.0, 4990.0, 4970.0, 4950.0]))
    assert values is None
    assert codes[-1] == "column-ignored"


def test_a_charge_that_starts_again_is_still_counted_up() -> None:
    values, _ = converted("Charge used (mAh)", np.array([900.0, 910.0, 920.0, 0.0, 10.0]))
    assert values is not None


def test_a_battery_between_volts_and_tenths_may_be_a_percentage() -> None:
    values, codes = converted("Battery", np.array([100.0, 97.0, 92.0, 88.0]))
    assert values is None
    assert codes == ["unit-unknown"]


@pytest.mark.parametrize(("header", "code"), [("ROC", "column-out-of-range"), ("ROC [m/s]", "values-out-of-range")])
def test_a_unit_is_not_assumed_in_which_many_values_are_impossible(header: str, code: str) -> None:
    """A fifth of the values beyond 60: a sensor that fails, or centimetres a second."""
    values = np.where(np.arange(3000) % 5 == 0, 100.0, 2.0)
    converted = convert(Candidate(1, header, meanings(header), values), SECONDS)
    assert [notice.code for notice in converted.notices] == [code]
    assert (converted.values is None) == (header == "ROC")


@pytest.mark.parametrize(("units", "rpm"), [("s,m,1/min\n", 12.0), ("", 12_000.0)])
def test_a_unit_in_a_row_of_its_own_is_no_name_of_a_quantity(units: str, rpm: float) -> None:
    rows = "".join(f"{i / 5:.1f},{i % 40},12\n" for i in range(100))
    log = read_log_bytes(f"Time,Alt,RPM\n{units}{rows}".encode(), "x.csv")
    assert log.frame["rpm"].iloc[0] == rpm
