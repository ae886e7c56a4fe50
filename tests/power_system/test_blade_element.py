"""Blade-element theory: never without a solution, inside momentum theory, near measured propellers untuned."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from momentum_theory import ideal_efficiency, ideal_static_thrust_n

from analyzer.constants import INCH_M
from analyzer.power_system import blade_element
from analyzer.power_system.family_basis import TUNNEL_VISCOSITY_M2_S, reynolds_number
from analyzer.power_system.section_polar import section_polar

if TYPE_CHECKING:
    import pandas as pd

RATIOS = np.array([0.1, 0.3, 0.5, 0.8, 1.2, 2.0])


@given(
    pitch_ratio=st.floats(0.05, 3.0),
    advance=st.floats(0.0, 1e3),
    reynolds=st.floats(1e3, 1e6),
    blades=st.integers(1, 6),
)
def test_every_state_has_a_finite_solution(pitch_ratio: float, advance: float, reynolds: float, blades: int) -> None:
    thrust, power = blade_element.coefficients(pitch_ratio, advance, reynolds, blades)
    assert np.isfinite(thrust)
    assert np.isfinite(power)


def test_the_solution_satisfies_the_annulus_equation() -> None:
    advance = np.array([0.0, 0.2, 0.6, 1.2, 5.0])
    annulus = blade_element._annulus(*np.broadcast_arrays(0.6, advance, 1e5, 2))
    phi = blade_element._inflow_angle(annulus)
    before, after = (blade_element._residual(phi + step, annulus) for step in (-1e-6, 1e-6))
    assert (before <= 0.0).all()
    assert (after >= 0.0).all()


@pytest.mark.parametrize("blades", [2, 3, 4])
def test_momentum_theory_is_never_beaten(blades: int) -> None:
    advance = np.linspace(0.0, 2.0, 60)
    thrust, power = blade_element.coefficients(RATIOS[:, None], advance, 1e5, blades)
    assert (thrust[:, 0] <= ideal_static_thrust_n(power[:, 0], 1.0, 1.0)).all()
    flying = (thrust > 0.0) & (advance > 0.0)
    speed = np.broadcast_to(advance, thrust.shape)[flying]
    efficiency = speed * thrust[flying] / power[flying]
    assert (efficiency <= ideal_efficiency(thrust[flying], speed, 1.0, 1.0)).all()


def test_from_thrust_through_windmilling_to_a_stopped_propeller() -> None:
    advance = np.linspace(0.05, 3.0, 100)
    thrust, power = blade_element.coefficients(0.6, advance, 1e5)
    zero_thrust, zero_power = (float(np.interp(0.0, -values, advance)) for values in (thrust, power))
    assert 0.6 < zero_thrust < zero_power < 1.2
    drag = [-2.0 * float(blade_element.coefficients(0.6, at, 5e4)[0]) / at**2 for at in (1e2, 1e3, 1e4)]
    assert drag[1] == pytest.approx(drag[2], rel=1e-3)  # standing still, drag depends on airspeed alone


def test_more_blades_take_more_power_and_give_less_than_in_proportion() -> None:
    thrust, power = blade_element.coefficients(0.6, 0.3, 1e5, np.array([2, 3, 4]))
    assert (np.diff(power) > 0).all()
    assert thrust[0] < thrust[1] < 1.5 * thrust[0]


def test_within_15_percent_on_twelve_propellers_of_three_families(measured_points: pd.DataFrame) -> None:
    """Untuned to any propeller; the one-piece families fixed_a to fixed_e were not used for anything."""
    good = []
    for name, points in measured_points[measured_points["J"] > 0.05].groupby("propeller"):
        first = points.iloc[0]
        advance, speed = points["J"].to_numpy(float), points["rpm"].to_numpy(float) / 60.0
        reynolds = reynolds_number(advance, speed, first["diameter_in"] * INCH_M, TUNNEL_VISCOSITY_M2_S)
        thrust, power = blade_element.coefficients(first["pitch_in"] / first["diameter_in"], advance, reynolds)
        off = (
            np.median(np.abs(thrust - points["CT"])) / first["peak_CT"],
            np.median(np.abs(power - points["CP"])) / first["peak_CP"],
        )
        if max(off) <= 0.15:
            good.append(str(name).rsplit("_", 1)[0])
    fixed = [family for family in good if family.startswith("fixed")]
    assert len(good) >= 30
    assert len(fixed) >= 10
    assert len(set(good)) >= 4


def test_the_section_is_the_measured_one_where_it_was_measured() -> None:
    """Selig et al. 1995, vol. 1, NACA 6409, Re 201,500: C_l 0.745 at 1.8 deg (lift run), C_d 0.0134 at 3.34 deg."""
    lift, drag = section_polar().coefficients(np.radians(np.array([1.8, 3.34])), np.full(2, 201_500.0))
    assert lift[0] == pytest.approx(0.745, abs=0.01)
    assert drag[1] == pytest.approx(0.0134, abs=3e-4)


def test_the_section_is_smooth_and_bounded_all_the_way_round() -> None:
    alpha = np.radians(np.linspace(-180.0, 180.0, 7201))
    for reynolds in (2e4, 1e5, 5e5):
        lift, drag = section_polar().coefficients(alpha, np.full(alpha.shape, reynolds))
        assert (drag > 0.0).all()
        assert np.abs(lift).max() < 1.8
        assert drag.max() < 2.0 * np.sqrt(1e5 / min(reynolds, 1e5))
        assert np.abs(np.diff(lift)).max() < 0.03
        assert lift[0] == pytest.approx(lift[-1], abs=0.05)


def test_less_reynolds_number_means_more_drag() -> None:
    _, drag = section_polar().coefficients(np.radians(np.full(5, 3.0)), np.array([2e4, 6e4, 1e5, 2e5, 5e5]))
    assert (np.diff(drag) < 0.0).all()
