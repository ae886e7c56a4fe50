"""The speed controller: an ideal step-down converter with a resistance on the motor's side.

At throttle d the motor sees d times the pack's voltage and the pack delivers d times the motor's current
(mean values over the switching period). Switching losses at part throttle are not modelled: real controllers
waste a few per cent more there, so part-throttle currents lean to the low side.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from analyzer.arrays import Floats


def motor_current_a(
    back_emf_v: Floats,
    throttle: Floats,
    open_circuit_v: Floats,
    pack_resistance_ohm: Floats,
    motor_side_resistance_ohm: Floats,
) -> Floats:
    """Motor current from Kirchhoff's law around pack, converter and winding.

    I = (d E - emf)/(R_motor + R_controller + d^2 R_pack), and never below zero: a controller without a brake
    carries no reverse current.

    Parameters
    ----------
    back_emf_v : array
        Speed over speed constant.
    throttle : array
        Duty cycle d, 0 to 1.
    open_circuit_v, pack_resistance_ohm : array
        The pack.
    motor_side_resistance_ohm : array
        Winding and controller in series.
    """
    resistance = motor_side_resistance_ohm + throttle * throttle * pack_resistance_ohm
    return np.maximum((throttle * open_circuit_v - back_emf_v) / np.maximum(resistance, 1e-9), 0.0)
