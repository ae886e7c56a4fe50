"""Height from static pressure, where no altitude is logged."""

from __future__ import annotations

from typing import TYPE_CHECKING

from analyzer.constants import (
    AIR_GAS_CONSTANT_J_KG_K,
    ISA_LAPSE_RATE_K_M,
    ISA_SEA_LEVEL_PRESSURE_PA,
    ISA_SEA_LEVEL_TEMPERATURE_K,
    STANDARD_GRAVITY_M_S2,
)

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray


def pressure_altitude_m(pressure_pa: NDArray[np.float64]) -> NDArray[np.float64]:
    """Pressure altitude of the ISO 2533 standard atmosphere.

    Parameters
    ----------
    pressure_pa : numpy.ndarray
        Static pressure, above 22 632 Pa (below 11 km, where the temperature gradient holds).

    Returns
    -------
    numpy.ndarray
        Geopotential height in metres above the level of 101 325 Pa.

    Notes
    -----
    ``H = T0 / L (1 - (p / p0)^(R L / g))`` with T0 = 288.15 K, L = 0.0065 K/m, p0 = 101 325 Pa, R = 287.05287 J/(kg K)
    and g = 9.80665 m/s2: ISO 2533:1975, clauses 2.1 to 2.7, solved for the height.

    Examples
    --------
    >>> import numpy as np
    >>> round(float(pressure_altitude_m(np.array(89_874.56))), 2)
    1000.0
    """
    exponent = AIR_GAS_CONSTANT_J_KG_K * ISA_LAPSE_RATE_K_M / STANDARD_GRAVITY_M_S2
    ratio = (pressure_pa / ISA_SEA_LEVEL_PRESSURE_PA) ** exponent
    return ISA_SEA_LEVEL_TEMPERATURE_K / ISA_LAPSE_RATE_K_M * (1.0 - ratio)
