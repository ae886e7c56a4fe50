"""The prediction as a whole: consistent with itself, with a dense search, and with what pilots know."""

from __future__ import annotations

import math
from dataclasses import astuple

import numpy as np
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from analyzer.constants import NORMAL_95
from analyzer.errors import OptionError, SetupFileError
from analyzer.power_system import airframe as frames
from analyzer.power_system.coefficients import propeller_curves
from analyzer.power_system.envelope import MID_CHARGE, fly
from analyzer.power_system.glide_drag import glide_drag
from analyzer.power_system.input_spread import default_calibration
from analyzer.power_system.performance import estimate
from analyzer.power_system.prediction import MOST_PROPELLERS, predict
from analyzer.power_system.prediction_records import Estimate
from analyzer.power_system.propeller import Propeller
from analyzer.power_system.system import power_system
from analyzer.power_system.variants import PARAMETERS, Calibration, variants
from analyzer.setup_file import parse_setup

TWELVE = Propeller(12.0, 6.0)


def test_the_setups_own_propeller_is_predicted_where_none_is_named(setup) -> None:
    (one,) = predict(setup).propellers
    assert one.propeller == "12x6"
    assert one.tier == "measured"
    assert one.reasons == ()


def test_at_top_speed_thrust_is_drag(setup) -> None:
    top = predict(setup, [TWELVE]).propellers[0].level.top_speed_m_s.value
    system = power_system(setup)
    layout = variants([propeller_curves(TWELVE)], default_calibration(system)).centre()
    there = fly(system, layout, np.array([top]), MID_CHARGE)
    assert there.running.thrust_n[0, 0, 0] == pytest.approx(there.drag_n[0, 0, 0], rel=2e-3)


def test_the_numbers_of_a_climb_belong_together(setup) -> None:
    one = predict(setup, [TWELVE]).propellers[0]
    climb = one.best_climb
    rate, current = climb.climb_rate_m_s.value, climb.current_a.value
    assert climb.climb_per_ah_m.value == pytest.approx(3600.0 * rate / current)
    assert climb.climb_per_wh_m.value == pytest.approx(3600.0 * rate / climb.electrical_power_w.value)
    assert climb.electrical_power_w.value == pytest.approx(current * climb.voltage_v.value)
    assert rate == pytest.approx(climb.airspeed_m_s.value * math.sin(math.radians(climb.climb_angle_deg.value)))
    useful = climb.thrust_n.value * climb.airspeed_m_s.value
    assert climb.propeller_efficiency.value == pytest.approx(useful / climb.shaft_power_w.value)
    assert one.pack.climbs.value == pytest.approx(one.pack.total_height_m.value / one.pack.climb_height_m)


def test_first_and_last_climb_of_a_pack_differ(setup) -> None:
    one = predict(setup, [TWELVE]).propellers[0]
    assert one.first_climb.climb_rate_m_s.value > one.best_climb.climb_rate_m_s.value
    assert one.best_climb.climb_rate_m_s.value > one.last_climb.climb_rate_m_s.value
    assert one.first_climb.current_a.value > one.last_climb.current_a.value


def test_cruise_takes_little_throttle_and_current(setup) -> None:
    one = predict(setup, [TWELVE]).propellers[0]
    assert 0.1 < one.cruise.throttle.value < 0.7
    assert one.cruise.current_a.value < 0.3 * one.best_climb.current_a.value


def test_a_propeller_in_the_wind_costs_glide(setup) -> None:
    glide = predict(setup, [TWELVE]).propellers[0].glide
    assert glide.folded_sink_m_s < min(glide.windmilling_sink_m_s, glide.braked_sink_m_s)
    system = power_system(setup)
    lift = frames.least_sink_lift_coefficient(system.airframe)
    speed = frames.speed_for_lift_m_s(system.airframe, lift, system.air.density_kg_m3)
    clean = frames.sink_rate_m_s(system.airframe, speed, system.air.density_kg_m3)
    assert clean < glide.folded_sink_m_s < 1.1 * clean


def test_each_state_of_the_propeller_glides_at_its_own_best_airspeed(changed) -> None:
    """A wing that lifts much is flown slower when the propeller drags: no airspeed sinks less than what is said."""
    setup = changed("zero_lift_drag_coefficient", "max_lift_coefficient = 2.0\nzero_lift_drag_coefficient")
    glide, system = predict(setup, [TWELVE]).propellers[0].glide, power_system(setup)
    density, speeds = system.air.density_kg_m3, np.linspace(3.0, 20.0, 4001)
    carried = speeds >= frames.stall_speed_m_s(system.airframe, density)
    clean = frames.sink_rate_m_s(system.airframe, speeds, density)
    for area, told in zip(astuple(glide_drag(TWELVE)), astuple(glide), strict=True):
        sinks = clean + 0.5 * density * speeds**3 * area / system.airframe.weight_n
        assert told == pytest.approx(sinks[carried].min(), rel=1e-4)


def test_intervals_hold_their_value_and_widen_with_ignorance(setup, changed) -> None:
    def width(found: Estimate) -> float:
        assert found.low <= found.value <= found.high
        return found.half_width / found.value

    inside, outside = predict(setup, [TWELVE, Propeller(12.0, 6.0, blades=3)]).propellers
    vague = predict(changed("internal_resistance_ohm = 0.025", ""), [TWELVE]).propellers[0]
    assert width(inside.static.current_a) < width(outside.static.current_a)
    assert width(inside.best_climb.climb_rate_m_s) < width(vague.best_climb.climb_rate_m_s)


def test_an_uncertain_parameter_adds_what_the_prediction_moves_by_at_its_own_edges(setup) -> None:
    """Only the pack's resistance uncertain, beside the propeller's own modes: the two add in squares."""
    at = PARAMETERS.index("pack_resistance")
    nothing, one = np.zeros(len(PARAMETERS)), np.eye(1, len(PARAMETERS), at)

    def static(offset: float, spread: float) -> Estimate:
        layout = variants([propeller_curves(TWELVE)], Calibration(nothing + offset * one[0], spread * one))
        return estimate(fly(power_system(setup), layout, np.zeros(1), 1.0).running.current_a[:, 0, 0])

    blind, exact = static(0.0, 0.0), static(0.0, 0.1)
    more, less = (static(way * NORMAL_95 * 0.1, 0.0).value for way in (-1.0, 1.0))
    assert exact.high - exact.value == pytest.approx(np.hypot(blind.high - blind.value, more - blind.value))
    assert exact.value - exact.low == pytest.approx(np.hypot(blind.value - blind.low, blind.value - less))


def test_part_throttle_is_a_gentler_climb(setup) -> None:
    full, part = (predict(setup, [TWELVE], throttle=throttle).propellers[0] for throttle in (1.0, 0.7))
    assert part.best_climb.climb_rate_m_s.value < full.best_climb.climb_rate_m_s.value
    assert part.best_climb.current_a.value < full.best_climb.current_a.value


def test_a_heavier_model_climbs_slower_and_hot_thin_air_helps_the_current(setup, changed) -> None:
    base = predict(setup, [TWELVE]).propellers[0]
    heavy = predict(changed("mass_kg = 2.1", "mass_kg = 3.0"), [TWELVE]).propellers[0]
    high = predict(changed("[pack]", "[air]\nelevation_m = 2000.0\ntemperature_c = 25.0\n[pack]"), [TWELVE]).propellers[
        0
    ]
    assert heavy.best_climb.climb_rate_m_s.value < base.best_climb.climb_rate_m_s.value
    assert high.static.current_a.value < base.static.current_a.value


def test_a_cold_pack_sags(setup) -> None:
    stated, cold = (predict(setup, [TWELVE], pack_temperature_c=at).propellers[0] for at in (None, 2.0))
    same = predict(setup, [TWELVE], pack_temperature_c=25.0).propellers[0]
    assert cold.static.voltage_v.value < stated.static.voltage_v.value
    assert same.static.voltage_v.value == pytest.approx(stated.static.voltage_v.value)


def test_more_cells_more_current(changed) -> None:
    currents = [
        predict(changed("cells = 3", f"cells = {cells}"), [TWELVE]).propellers[0].static.current_a.value
        for cells in (2, 3, 4)
    ]
    assert currents == sorted(currents)


def test_without_an_airframe_there_is_still_the_ground_run(changed) -> None:
    setup = changed("mass_kg = 2.1", "")
    prediction = predict(setup, [TWELVE])
    one = prediction.propellers[0]
    assert one.static.current_a.value > 0.0
    assert one.best_climb is None
    assert one.level is None
    assert one.cruise is None
    assert one.points[5].climb_rate_m_s is None
    assert [notice.code for notice in prediction.notices] == ["airframe-missing"]
    assert "mass_kg" in prediction.notices[0].message


def test_what_was_assumed_is_said(changed) -> None:
    setup = changed(
        "internal_resistance_ohm = 0.025", "", "zero_lift_drag_coefficient = 0.018", "", "no_load_current_a = 1.6", ""
    )
    codes = {notice.code for notice in predict(setup).notices}
    assert codes == {"pack-resistance-assumed", "zero-lift-drag-assumed", "no-load-current-assumed"}


@pytest.mark.parametrize("key", ["cells = 3", "kv_rpm_per_v = 1100.0"])
def test_what_nothing_can_be_predicted_without_is_named(changed, key: str) -> None:
    with pytest.raises(SetupFileError, match=key.split()[0]):
        predict(changed(key, ""))


def test_a_setup_without_a_propeller_needs_one_named(changed) -> None:
    setup = changed("diameter_in = 12.0", "")
    with pytest.raises(SetupFileError, match="diameter_in"):
        predict(setup)
    assert predict(setup, [TWELVE]).propellers[0].propeller == "12x6"


@pytest.mark.parametrize(
    "options", [{"throttle": 0.0}, {"throttle": 1.2}, {"climb_height_m": 0.0}, {"pack_temperature_c": 200.0}]
)
def test_impossible_options_are_refused(setup, options: dict[str, float]) -> None:
    with pytest.raises(OptionError):
        predict(setup, [TWELVE], **options)


def test_too_many_propellers_are_refused(setup) -> None:
    with pytest.raises(OptionError, match="too many"):
        predict(setup, [TWELVE] * (MOST_PROPELLERS + 1))


def test_a_propeller_far_too_large_is_an_answer_with_a_reason(setup) -> None:
    one = predict(setup, [Propeller(24.0, 20.0)]).propellers[0]
    assert any("too large" in reason for reason in one.reasons)
    assert any("sag" in reason for reason in one.reasons)
    assert not one.within_limits
    assert math.isfinite(one.static.current_a.value)


def test_a_propeller_far_too_small_is_not_called_too_large(setup) -> None:
    """The motor runs almost free: most of the little that it takes is its own friction and iron."""
    one = predict(setup, [Propeller(3.0, 2.0)]).propellers[0]
    assert one.static.motor_efficiency.value < 0.5
    assert one.reasons == (
        "the thrust is below the drag at every airspeed that the wing can fly (the model cannot climb)",
    )


def test_an_airframe_that_cannot_climb_is_an_answer_with_a_reason(changed) -> None:
    one = predict(changed("mass_kg = 2.1", "mass_kg = 45.0"), [Propeller(10.0, 4.0)]).propellers[0]
    assert any("cannot climb" in reason for reason in one.reasons)
    assert one.best_climb is None
    assert one.pack is None


def test_limits_have_margin_odds_and_the_first_to_bind(setup) -> None:
    small, large = predict(setup, [Propeller(10.0, 5.0), Propeller(16.0, 8.0)]).propellers
    by_name = {limit.name: limit for limit in large.limits}
    current = by_name["controller current, continuous"]
    assert current.limit == 60.0
    assert not current.ok
    assert current.odds_beyond > 0.9
    assert current.margin == pytest.approx(60.0 - current.predicted.value)
    assert large.binds_first == "controller current, continuous"
    assert {limit.name for limit in small.limits} == {
        "controller current, continuous",
        "controller current, burst",
        "motor current",
        "motor rpm",
        "cell voltage under load",
    }
    assert small.limits[0].odds_beyond < 0.01


def test_on_the_limit_the_odds_are_even(setup, changed) -> None:
    current = predict(setup, [TWELVE]).propellers[0].limits[0].predicted.value
    exact = changed("continuous_current_a = 60.0", f"continuous_current_a = {current!r}")
    limit = predict(exact, [TWELVE]).propellers[0].limits[0]
    assert limit.odds_beyond == pytest.approx(0.5, abs=0.01)


def test_the_users_table_is_used_for_the_setups_own_propeller_alone(changed, tmp_path) -> None:
    (tmp_path / "mine.csv").write_text("J,CT,CP\n0,0.09,0.03\n0.3,0.06,0.03\n0.6,0.01,0.015\n")
    text = changed("pitch_in = 6.0", 'pitch_in = 6.0\ncoefficients_csv = "mine.csv"')
    setup = text.model_copy(update={"folder": tmp_path})
    own, other = predict(setup, [TWELVE, Propeller(13.0, 8.0)]).propellers
    assert own.tier == "table"
    assert "mine.csv" in own.basis
    assert other.tier == "measured"


@settings(max_examples=40, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(
    cells=st.integers(1, 12),
    kv=st.floats(50.0, 12_000.0),
    resistance=st.floats(0.001, 2.0),
    ratio=st.floats(0.5, 20.0),
    mass=st.floats(0.1, 20.0),
    diameter=st.floats(3.0, 35.0),
    pitch_ratio=st.floats(0.2, 1.8),
    blades=st.integers(1, 6),
)
def test_any_combination_is_an_answer(
    cells: int,
    kv: float,
    resistance: float,
    ratio: float,
    mass: float,
    diameter: float,
    pitch_ratio: float,
    blades: int,
) -> None:
    setup = parse_setup(
        f"""name = "any"
        [airframe]\nmass_kg = {mass}\nwing_area_m2 = 0.5\nwingspan_m = 2.5
        [pack]\ncells = {cells}\ncapacity_ah = 2.0
        [motor]\nkv_rpm_per_v = {kv}\nresistance_ohm = {resistance}
        [gearbox]\nratio = {ratio}""",
        source="any",
    )
    one = predict(setup, [Propeller(diameter, max(0.5, pitch_ratio * diameter), blades)]).propellers[0]
    for name in ("rpm", "current_a", "thrust_n", "shaft_power_w"):
        found = getattr(one.static, name)
        assert math.isfinite(found.value)
        assert found.low <= found.value <= found.high
    for point in one.points:
        assert math.isfinite(point.current_a.value)
        assert point.climb_rate_m_s is None or math.isfinite(point.climb_rate_m_s.value)
    if one.best_climb is None:
        assert any("cannot climb" in reason for reason in one.reasons)
    else:
        assert math.isfinite(one.best_climb.climb_per_ah_m.value)
