"""Air against ISO 2533:1975 and against a published atmosphere library."""

from __future__ import annotations

import numpy as np
import pytest

from analyzer.power_system import air
from analyzer.setup_file import Air

# ISO 2533:1975 / U.S. Standard Atmosphere 1976: geopotential height m, T K, p Pa, rho kg/m3. Sea level: definition,
# read on a university page that quotes the 1976 standard; the other rows computed from its relations, and equal to
# ambiance 1.3.1 and fluids 1.3.1 within the tolerance used here.
ISO_2533 = (
    (0.0, 288.150, 101325.00, 1.225000),
    (500.0, 284.900, 95460.84, 1.167269),
    (1000.0, 281.650, 89874.56, 1.111643),
    (2000.0, 275.150, 79495.20, 1.006490),
    (5000.0, 255.650, 54019.89, 0.736116),
)


def geometric_m(geopotential_m: float) -> float:
    return air.EARTH_RADIUS_M * geopotential_m / (air.EARTH_RADIUS_M - geopotential_m)


@pytest.mark.parametrize(("height_m", "temperature_k", "pressure_pa", "density"), ISO_2533)
def test_the_standard_atmosphere(height_m: float, temperature_k: float, pressure_pa: float, density: float) -> None:
    height = geometric_m(height_m)
    assert air.standard_temperature_k(height) == pytest.approx(temperature_k, abs=1e-3)
    assert air.standard_pressure_pa(height) == pytest.approx(pressure_pa, abs=0.05)
    assert air.density_kg_m3(pressure_pa, temperature_k) == pytest.approx(density, abs=2e-6)


def test_a_published_atmosphere_library_agrees_on_density_and_viscosity() -> None:
    ambiance = pytest.importorskip("ambiance")
    heights = np.array([0.0, 300.0, 1500.0, 3000.0])
    theirs = ambiance.Atmosphere(heights)
    temperature, pressure = air.standard_temperature_k(heights), air.standard_pressure_pa(heights)
    density = air.density_kg_m3(pressure, temperature)
    np.testing.assert_allclose(density, theirs.density, rtol=2e-6)
    np.testing.assert_allclose(
        air.kinematic_viscosity_m2_s(density, temperature), theirs.kinematic_viscosity, rtol=1e-4
    )


def test_nothing_said_is_the_standard_at_sea_level() -> None:
    assert air.air_state().density_kg_m3 == pytest.approx(1.225, abs=1e-6)


def test_a_hot_high_field_has_thin_air() -> None:
    hot = air.air_state(Air(elevation_m=1500.0, temperature_c=30.0))
    assert hot.density_kg_m3 == pytest.approx(84555.99 / (287.05287 * 303.15), rel=2e-4)  # p at 1500 m: ISO 2533
    above = air.air_state(Air(elevation_m=1500.0, temperature_c=30.0), height_above_field_m=300.0)
    assert above.density_kg_m3 < hot.density_kg_m3
