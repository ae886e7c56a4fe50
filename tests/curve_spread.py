"""How wide a propeller's deviation modes are together."""

from __future__ import annotations

import numpy as np

from analyzer.power_system.propeller_curves import PropellerCurves, interpolate


def standard_deviations(
    curves: PropellerCurves, advance_ratio: np.ndarray, log_re: np.ndarray
) -> tuple[np.ndarray, np.ndarray]:
    """Standard deviations of C_T and C_P at points."""
    x, re = advance_ratio[..., None] / curves.advance_scale, log_re[..., None]
    rows = np.arange(len(curves.thrust_modes))
    thrust, power = (interpolate(modes, rows, x, re) for modes in (curves.thrust_modes, curves.power_modes))
    return np.sqrt(np.sum(thrust**2, axis=-1)), np.sqrt(np.sum(power**2, axis=-1))
