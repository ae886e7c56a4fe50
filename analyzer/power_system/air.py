"""Air: density, pressure and viscosity from elevation and temperature."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

import numpy as np

from analyzer.constants import (
    AIR_GAS_CONSTANT_J_KG_K,
    ISA_LAPSE_RATE_K_M,
    ISA_SEA_LEVEL_PRESSURE_PA,
    ISA_SEA_LEVEL_TEMPERATURE_K,
    STANDARD_GRAVITY_M_S2,
    ZERO_CELSIUS_K,
)

if TYPE_CHECKING:
    from analyzer.arrays import Floats
    from analyzer.setup_file import Air as AirSection


EARTH_RADIUS_M: Final = 6_356_766.0
"""Nominal earth's radius of ISO 2533:1975, clause 2.3, that links geometric and geopotential height."""

SUTHERLAND_COEFFICIENT: Final = 1.458e-6
"""ISO 2533:1975: dynamic viscosity = 1.458e-6 T^1.5 / (T + 110.4), in kg/(m s)."""
SUTHERLAND_TEMPERATURE_K: Final = 110.4


@dataclass(frozen=True, slots=True)
class AirState:
    """The air that the propeller and the wing work in."""

    density_kg_m3: float
    kinematic_viscosity_m2_s: float


def geopotential_height_m(height_m: Floats) -> Floats:
    """Geopotential height of a geometric height, ISO 2533:1975 clause 2.3: H = r z / (r + z)."""
    return EARTH_RADIUS_M * height_m / (EARTH_RADIUS_M + height_m)


def standard_temperature_k(height_m: Floats) -> Floats:
    """Temperature of the ISO 2533 standard atmosphere at a geometric height; valid from -5 to 11 km."""
    return ISA_SEA_LEVEL_TEMPERATURE_K - ISA_LAPSE_RATE_K_M * geopotential_height_m(height_m)


def standard_pressure_pa(height_m: Floats) -> Floats:
    """Pressure of the ISO 2533 standard atmosphere at a geometric height; valid from -5 to 11 km.

    p = p0 (T/T0)^(g/(lapse R)), with T at the geopotential height.
    """
    exponent = STANDARD_GRAVITY_M_S2 / (ISA_LAPSE_RATE_K_M * AIR_GAS_CONSTANT_J_KG_K)
    ratio = standard_temperature_k(height_m) / ISA_SEA_LEVEL_TEMPERATURE_K
    return np.multiply(ISA_SEA_LEVEL_PRESSURE_PA, ratio**exponent)


def temperature_at_pressure_k(pressure_pa: Floats) -> Floats:
    """Temperature of the ISO 2533 standard atmosphere where it has a pressure; valid from -5 to 11 km."""
    exponent = ISA_LAPSE_RATE_K_M * AIR_GAS_CONSTANT_J_KG_K / STANDARD_GRAVITY_M_S2
    return np.multiply(ISA_SEA_LEVEL_TEMPERATURE_K, (pressure_pa / ISA_SEA_LEVEL_PRESSURE_PA) ** exponent)


def density_kg_m3(pressure_pa: Floats, temperature_k: Floats) -> Floats:
    """Density of dry air, rho = p/(R T); moist summer air is up to 1.5 % lighter, which is not modelled."""
    return pressure_pa / (AIR_GAS_CONSTANT_J_KG_K * temperature_k)


def kinematic_viscosity_m2_s(density_kg_m3: Floats, temperature_k: Floats) -> Floats:
    """Kinematic viscosity by Sutherland's relation as ISO 2533:1975 states it."""
    dynamic: Floats = SUTHERLAND_COEFFICIENT * temperature_k**1.5 / (temperature_k + SUTHERLAND_TEMPERATURE_K)
    return dynamic / density_kg_m3


def air_state(section: AirSection | None = None, *, height_above_field_m: float = 0.0) -> AirState:
    """Air at the field of a setup, or at a height above it.

    Parameters
    ----------
    section : Air, optional
        The setup's ``[air]``; missing values are those of the ISO 2533 standard atmosphere, at sea level
        where no elevation is given.
    height_above_field_m : float
        Height above the field; temperature falls by the standard 6.5 K/km.

    Returns
    -------
    AirState
        Pressure is the standard's at that height (the day's weather moves it by about 2 %).

    Examples
    --------
    >>> round(air_state().density_kg_m3, 4)
    1.225
    """
    elevation_m = 0.0 if section is None or section.elevation_m is None else section.elevation_m
    height_m = elevation_m + height_above_field_m
    temperature_k = standard_temperature_k(height_m)
    if section is not None and section.temperature_c is not None:
        temperature_k = ZERO_CELSIUS_K + section.temperature_c - ISA_LAPSE_RATE_K_M * height_above_field_m
    density = density_kg_m3(standard_pressure_pa(height_m), temperature_k)
    return AirState(float(density), float(kinematic_viscosity_m2_s(density, temperature_k)))
