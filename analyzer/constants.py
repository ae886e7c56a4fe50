"""Constants of physics and statistics, each with the standard or publication that fixes it."""

from __future__ import annotations

from typing import Final

STANDARD_GRAVITY_M_S2: Final = 9.80665
"""Standard acceleration of free fall, CGPM 1901 (also ISO 2533:1975, clause 2.1)."""

ISA_SEA_LEVEL_PRESSURE_PA: Final = 101_325.0
"""ISO 2533:1975 standard atmosphere, sea-level pressure."""

ISA_SEA_LEVEL_TEMPERATURE_K: Final = 288.15
"""ISO 2533:1975 standard atmosphere, sea-level temperature."""

ISA_SEA_LEVEL_DENSITY_KG_M3: Final = 1.225
"""ISO 2533:1975 standard atmosphere, sea-level density."""

ISA_LAPSE_RATE_K_M: Final = 0.0065
"""ISO 2533:1975 temperature gradient below 11 km of geopotential height."""

AIR_GAS_CONSTANT_J_KG_K: Final = 287.05287
"""ISO 2533:1975 specific gas constant of air."""

ZERO_CELSIUS_K: Final = 273.15
"""The ice point, by definition of the degree Celsius."""

INCH_M: Final = 0.0254
"""NIST SP 811 (2008), appendix B: the inch, exact; propellers are named in inches."""

FOOT_M: Final = 0.3048
"""NIST SP 811 (2008), appendix B: the international foot, exact."""

DAY_S: Final = 86_400.0
"""SI Brochure, 9th edition (2019), table 8: the day, exact."""

NORMAL_95: Final = 1.959964
"""Half-width of the 95 % interval of a normal distribution, in standard deviations (its quantile at 0.975)."""
