"""What the trade knows of a 3S pack behind a geared inrunner of 5,400 rpm/V (common practice, no source).

A 16x10 is about the largest that a 50 A controller should carry; going to 14 or 13 inch with 10 or 8 inch of pitch
draws less current, climbs at a lower rate and turns faster. Untuned: three plausible gears, one motor and pack.
"""

from __future__ import annotations

from itertools import pairwise

import pytest

from analyzer.power_system.prediction import predict
from analyzer.power_system.prediction_records import PropellerPrediction
from analyzer.power_system.propeller import parse_propeller
from analyzer.setup_file import parse_setup

SETUP = """
name = "3S, geared inrunner, invented"
[airframe]
mass_kg = 2.0
wing_area_m2 = 0.62
wingspan_m = 3.2
zero_lift_drag_coefficient = 0.018
[pack]
cells = 3
capacity_ah = 3.0
internal_resistance_ohm = 0.030
[speed_controller]
continuous_current_a = 50.0
[motor]
kv_rpm_per_v = 5400.0
resistance_ohm = 0.020
no_load_current_a = 2.5
no_load_voltage_v = 8.0
[gearbox]
ratio = RATIO
efficiency = 0.93
"""
RATIOS = (6.7, 8.0, 9.5)
FROM_LARGE_TO_SMALL = ("16x10", "14x10", "14x8", "13x8")

Found = dict[str, PropellerPrediction]


def predicted(ratio: float) -> Found:
    sizes = [parse_propeller(text) for text in (*FROM_LARGE_TO_SMALL, "13x10")]
    prediction = predict(parse_setup(SETUP.replace("RATIO", str(ratio)), source="test"), sizes)
    return {one.propeller: one for one in prediction.propellers}


@pytest.fixture(scope="module", params=RATIOS)
def found(request: pytest.FixtureRequest) -> Found:
    return predicted(request.param)


@pytest.mark.parametrize(("larger", "smaller"), list(pairwise(FROM_LARGE_TO_SMALL)))
def test_less_propeller_draws_less_climbs_slower_and_turns_faster(found: Found, larger: str, smaller: str) -> None:
    big, small = found[larger], found[smaller]
    assert small.static.current_a.value < big.static.current_a.value
    assert small.best_climb.climb_rate_m_s.value < big.best_climb.climb_rate_m_s.value
    assert small.static.rpm.value > big.static.rpm.value


def test_at_equal_pitch_pitch_speed_rises(found: Found) -> None:
    speeds = [found[name].static.pitch_speed_m_s.value for name in ("16x10", "14x10", "13x10")]
    assert speeds == sorted(speeds)


def test_behind_the_slowest_gear_a_16x10_is_about_what_50_a_carry() -> None:
    slow = predicted(9.5)
    assert 0.85 * 50.0 < slow["16x10"].static.current_a.value < 1.15 * 50.0
    assert slow["14x10"].limits[0].odds_beyond < 0.1
