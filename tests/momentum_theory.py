"""What no propeller can do better, by momentum theory, for the tests (H. Glauert, *Airplane Propellers*, 1935)."""

from __future__ import annotations

import numpy as np


def ideal_static_thrust_n(power_w: np.ndarray, diameter_m: float, density_kg_m3: float) -> np.ndarray:
    """Most static thrust that a power can give, (2 rho A P^2)^(1/3)."""
    area = np.pi / 4.0 * diameter_m**2
    return (2.0 * density_kg_m3 * area * power_w**2) ** (1.0 / 3.0)


def ideal_efficiency(
    thrust: np.ndarray, airspeed_m_s: np.ndarray, diameter_m: float, density_kg_m3: float
) -> np.ndarray:
    """Highest propulsive efficiency, 2/(1 + sqrt(1 + T/(q A)))."""
    loading = thrust / (0.5 * density_kg_m3 * airspeed_m_s**2 * np.pi / 4.0 * diameter_m**2)
    return 2.0 / (1.0 + np.sqrt(1.0 + loading))
