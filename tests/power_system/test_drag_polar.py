"""Airframe against the parabolic polar's closed forms and published handbook figures."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from analyzer.constants import FOOT_M, STANDARD_GRAVITY_M_S2
from analyzer.power_system import airframe as frames
from analyzer.setup_file import Airframe

DENSITY = 1.225

# Invented sailplane, worked from the closed forms of Anderson, "Introduction to Flight" (from memory), small angle.
WORKED = frames.airframe_model(
    Airframe(
        mass_kg=1.6,
        wing_area_m2=0.60,
        wingspan_m=3.0,
        zero_lift_drag_coefficient=0.016,
        span_efficiency=0.85,
        max_lift_coefficient=1.5,
    )
)


def test_best_glide() -> None:
    lift = frames.best_glide_lift_coefficient(WORKED)
    assert lift == pytest.approx(0.800553, abs=5e-7)
    speed = frames.speed_for_lift_m_s(WORKED, lift, DENSITY)
    assert speed == pytest.approx(7.30292, abs=5e-6)
    sink = frames.sink_rate_m_s(WORKED, speed, DENSITY)
    assert sink == pytest.approx(0.291915, abs=5e-7)
    assert speed / sink == pytest.approx(25.0173, abs=5e-5)


def test_least_sink_is_at_sqrt_3_times_the_lift_of_best_glide() -> None:
    lift = frames.least_sink_lift_coefficient(WORKED)
    assert lift == pytest.approx(1.386598, abs=5e-7)
    speed = frames.speed_for_lift_m_s(WORKED, lift, DENSITY)
    assert speed == pytest.approx(5.54902, abs=5e-6)
    sinks = frames.sink_rate_m_s(WORKED, np.linspace(4.0, 12.0, 8001), DENSITY)
    assert sinks.min() == pytest.approx(0.256121, abs=5e-7)
    assert frames.sink_rate_m_s(WORKED, speed, DENSITY) == pytest.approx(sinks.min(), rel=1e-7)


def test_speeds_grow_with_the_root_of_the_mass() -> None:
    """Reichmann, Cross-Country Soaring (from memory): speeds and sink x sqrt(m2/m1) at equal CL."""
    heavy = frames.AirframeModel(2.0, 0.60, 0.016, WORKED.induced_drag_factor, 1.5)
    lift = frames.least_sink_lift_coefficient(heavy)
    speed = frames.speed_for_lift_m_s(heavy, lift, DENSITY)
    assert speed == pytest.approx(6.20399, abs=5e-6)
    assert frames.sink_rate_m_s(heavy, speed, DENSITY) == pytest.approx(0.286352, abs=5e-7)


def test_a_light_aircraft_of_the_handbook() -> None:
    """J.T. Lowry, Performance of Light Aircraft (1999), example 9.1: inputs read on a page that quotes the book.

    W 2400 lbf, S 174 ft2, aspect ratio 7.38, CD0 0.037, e 0.72, 4000 ft: best glide at 128.668 ft/s, -5.3790 deg
    (computed from his closed forms, steep angles included).
    """
    area = 174.0 * FOOT_M**2
    mass = 2400.0 * 4.4482216152605 / STANDARD_GRAVITY_M_S2
    plane = frames.AirframeModel(mass, area, 0.037, 1.0 / (np.pi * 0.72 * 7.38), 1.6)
    density = 1.225 * (1.0 - 0.0065 * 4000.0 * FOOT_M / 288.15) ** 4.255876
    speeds = np.linspace(25.0, 60.0, 35_001)
    angles = frames.climb_angle_rad(plane, speeds, 0.0, density)
    assert np.degrees(angles.max()) == pytest.approx(-5.3790, abs=2e-4)
    assert speeds[angles.argmax()] / FOOT_M == pytest.approx(128.668, abs=0.15)


@given(speed=st.floats(6.0, 40.0), thrust=st.floats(0.0, 30.0))
def test_a_steady_climb_is_in_equilibrium(speed: float, thrust: float) -> None:
    angle = float(frames.climb_angle_rad(WORKED, speed, thrust, DENSITY))
    weight = float(WORKED.weight_n)
    drag = float(frames.drag_n(WORKED, speed, weight * np.cos(angle), DENSITY))
    along = thrust - drag - weight * np.sin(angle)
    if abs(angle) < np.pi / 2 - 1e-6:
        assert along == pytest.approx(0.0, abs=1e-6 * weight)
    else:  # thrust to spare in a vertical climb, or drag to spare in a vertical dive
        assert along * angle > 0.0


def test_a_vertical_climb_needs_no_lift() -> None:
    angle = frames.climb_angle_rad(WORKED, 10.0, 40.0, DENSITY)
    assert angle == pytest.approx(np.pi / 2)
    assert frames.needed_lift_coefficient(WORKED, 10.0, angle, DENSITY) == pytest.approx(0.0, abs=1e-9)
