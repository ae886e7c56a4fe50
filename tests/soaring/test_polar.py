"""The polar's landmarks, its shift with density, and speed to fly.

Computed checks: m 1.6 kg, S 0.60 m2, span 3.0 m, CD0 0.016, e 0.85 at 1.225 kg/m3 (an invented model), worked out by
hand from the textbook relations (small angles). Relations read at "Polar, Performance, and Water Ballast", Cambridge
University Gliding Club wiki, 1 February 2020: V_BG = 3^(1/4) V_MS = 1.3161 V_MS; the polar scales with the root of the
wing loading. MacCready's condition c + w = V w' read at R. Barlow, "MacCready Speed to Fly Derivation", 28 December
2024, which quotes *Soaring*, 1954.
"""

import numpy as np
import pytest

from analyzer.power_system.airframe import airframe_model, drag_n
from analyzer.setup_file import Airframe
from analyzer.soaring.polar import Polar, polar_of_airframe
from analyzer.soaring.speed_to_fly import cross_country_speed_m_s, speed_to_fly_m_s

MODEL = airframe_model(
    Airframe(mass_kg=1.6, wing_area_m2=0.60, wingspan_m=3.0, zero_lift_drag_coefficient=0.016, span_efficiency=0.85)
)
POLAR = polar_of_airframe(MODEL, 1.225)


def glide_ratio(polar):
    return polar.best_glide_speed_m_s / polar.sink_m_s(polar.best_glide_speed_m_s)


def test_worked_case():
    assert glide_ratio(POLAR) == pytest.approx(25.0173, abs=1e-4)
    assert POLAR.best_glide_speed_m_s == pytest.approx(7.30292, abs=1e-5)
    assert POLAR.sink_m_s(7.30292) == pytest.approx(0.291915, abs=1e-6)
    assert POLAR.least_sink_speed_m_s == pytest.approx(5.54902, abs=1e-5)
    assert POLAR.sink_m_s(5.54902) == pytest.approx(0.256121, abs=1e-6)


def test_landmarks_stand_in_the_textbook_ratio():
    assert POLAR.best_glide_speed_m_s / POLAR.least_sink_speed_m_s == pytest.approx(1.3161, abs=1e-4)
    at_least_sink = POLAR.least_sink_speed_m_s / POLAR.sink_m_s(POLAR.least_sink_speed_m_s)
    assert at_least_sink / glide_ratio(POLAR) == pytest.approx(0.866025, abs=1e-6)


def test_air_a_fifth_thinner():
    """As good as a quarter more mass: only the ratio of mass to density counts."""
    high = POLAR.in_air(0.8)
    assert high.least_sink_speed_m_s == pytest.approx(6.20399, abs=1e-5)
    assert high.sink_m_s(6.20399) == pytest.approx(0.286352, abs=1e-6)
    assert glide_ratio(high) == pytest.approx(glide_ratio(POLAR))


def test_other_air_agrees_with_computing_the_airframe_anew():
    high = polar_of_airframe(MODEL, 1.0)
    scaled = POLAR.in_air(1.0 / 1.225)
    assert (high.parasite_s2_m2, high.induced_m2_s2) == pytest.approx((scaled.parasite_s2_m2, scaled.induced_m2_s2))


@pytest.mark.parametrize("bank_deg", [0.0, 30.0, 45.0])
def test_agrees_with_the_airframe_of_the_power_system(bank_deg):
    load = 1.0 / np.cos(np.radians(bank_deg))
    speed = np.linspace(5.0, 20.0, 16)
    drag = drag_n(MODEL, speed, load * MODEL.weight_n, 1.225)
    assert POLAR.sink_m_s(speed, load) == pytest.approx(speed * drag / MODEL.weight_n)


@pytest.mark.parametrize("climb", [0.5, 1.0, 2.0, 4.0])
def test_speed_to_fly_gives_the_best_mean_speed(climb):
    """MacCready's claim itself: no other speed gives a higher mean over glide and climb."""
    best = float(speed_to_fly_m_s(POLAR, climb))
    others = np.linspace(4.0, 30.0, 2601)
    means = cross_country_speed_m_s(POLAR, others, climb)
    assert others[means.argmax()] == pytest.approx(best, abs=0.01)
    slope = 3.0 * POLAR.parasite_s2_m2 * best**2 - POLAR.induced_m2_s2 / best**2
    assert climb + POLAR.sink_m_s(best) == pytest.approx(best * slope)


def test_without_expected_climb_it_is_the_best_glide():
    assert speed_to_fly_m_s(POLAR, 0.0) == pytest.approx(POLAR.best_glide_speed_m_s)


def test_scalars_and_arrays():
    speeds = speed_to_fly_m_s(Polar(4e-4, 1.1), np.array([0.0, 1.0, 3.0]))
    assert speeds.shape == (3,)
    assert np.all(np.diff(speeds) > 0.0)
