"""What the trade knows of a 3S pack behind a geared inrunner of 5,400 rpm/V (common practice, no source).

A 16x10 is about the largest that a 50 A controller should carry; going to 14 or 13 inch with 10 or 8 inch of pitch
draws less current, climbs at a lower rate and turns faster. Untuned: a plausible gear, motor and pack. What the model
makes of climb per Ah, level speed and the largest propeller's margin is reported in DEVELOPERS.md, not tested.
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
ratio = 8.0
efficiency = 0.93
"""
FROM_LARGE_TO_SMALL = ("16x10", "14x10", "14x8", "13x8")


@pytest.fixture(scope="module")
def found() -> dict[str, PropellerPrediction]:
    sizes = [parse_propeller(text) for text in (*FROM_LARGE_TO_SMALL, "13x10")]
    prediction = predict(parse_setup(SETUP, source="test"), sizes)
    return {one.propeller: one for one in prediction.propellers}


@pytest.mark.parametrize(("larger", "smaller"), list(pairwise(FROM_LARGE_TO_SMALL)))
def test_less_propeller_draws_less_climbs_slower_and_turns_faster(
    found: dict[str, PropellerPrediction], larger: str, smaller: str
) -> None:
    big, small = found[larger], found[smaller]
    assert small.static.current_a.value < big.static.current_a.value
    assert small.best_climb.climb_rate_m_s.value < big.best_climb.climb_rate_m_s.value
    assert small.static.rpm.value > big.static.rpm.value


def test_at_equal_pitch_pitch_speed_rises(found: dict[str, PropellerPrediction]) -> None:
    speeds = [found[name].static.pitch_speed_m_s.value for name in ("16x10", "14x10", "13x10")]
    assert speeds == sorted(speeds)


def test_the_largest_is_at_or_over_a_50_a_controller_and_the_small_ones_are_not(
    found: dict[str, PropellerPrediction],
) -> None:
    assert found["16x10"].limits[0].odds_beyond > 0.5
    assert found["13x8"].limits[0].odds_beyond < 0.05
