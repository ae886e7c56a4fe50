"""Pack: rest voltage over charge, resistance over temperature."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from analyzer.power_system import pack
from analyzer.setup_file import Pack

MODEL = pack.PackModel(3, 2.2, 0.03)


@pytest.mark.parametrize("chemistry", sorted(pack.REST_CELL_V))
def test_rest_voltage_rises_with_charge(chemistry: str) -> None:
    model = pack.PackModel(1, 1.0, 0.0, chemistry)
    assert (np.diff(pack.open_circuit_v(model, np.linspace(0.0, 1.0, 201))) > 0).all()


def test_common_points_of_a_lipo_cell() -> None:
    """4.20 V full, 3.8 to 3.9 V half full, 3.7 V nearly empty: common practice, no source."""
    full, half, low = pack.open_circuit_v(MODEL, np.array([1.0, 0.5, 0.1])) / 3.0
    assert full == pytest.approx(4.20)
    assert 3.8 <= half <= 3.9
    assert 3.6 <= low <= 3.75


@given(st.floats(-0.5, 1.5))
def test_charge_outside_0_to_1_is_held_at_the_ends(charge: float) -> None:
    value = float(pack.open_circuit_v(MODEL, charge))
    assert pack.open_circuit_v(MODEL, 0.0) <= value <= pack.open_circuit_v(MODEL, 1.0)


def test_a_missing_resistance_is_estimated_from_the_capacity() -> None:
    assert pack.pack_model(Pack(cells=3, internal_resistance_ohm=0.04)).resistance_ohm == 0.04
    small = pack.pack_model(Pack(cells=3, capacity_ah=1.0)).resistance_ohm
    large = pack.pack_model(Pack(cells=3, capacity_ah=2.0)).resistance_ohm
    assert small == pytest.approx(2.0 * large)


def test_cold_doubles_the_resistance() -> None:
    assert pack.resistance_at(0.03, 25.0) == pytest.approx(0.03)
    assert pack.resistance_at(0.03, 3.0) == pytest.approx(0.06, rel=0.05)
    assert pack.resistance_at(0.03, 45.0) < 0.03


def test_the_lowest_voltage_follows_the_setup_else_the_chemistry() -> None:
    assert pack.pack_model(Pack(cells=4, min_cell_v=3.4)).lowest_voltage_v == pytest.approx(13.6)
    assert pack.pack_model(Pack(cells=4, chemistry="life")).lowest_voltage_v == pytest.approx(10.4)
