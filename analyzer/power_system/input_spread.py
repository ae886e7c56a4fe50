"""How far the values that a setup states may be from the truth, where nothing has been measured."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

import numpy as np

from analyzer.power_system.variants import PARAMETERS, Calibration

if TYPE_CHECKING:
    from analyzer.power_system.system import PowerSystem


@dataclass(frozen=True, slots=True)
class InputSpread:
    """Standard deviation of what a setup states, where nothing better is known.

    Common practice without a source where none is named: data sheets are rounded, and parts scatter about them.

    Attributes
    ----------
    make_load : float
        Factor on C_P and C_T together that a make of folding propellers has over the measured one. Between five makes
        of one-piece propellers of the UIUC database (vol. 1) it is 0.20, and 0.14 within one make (see
        tests/accuracy/propeller_makes.py); folding propellers are all made for the same flying: judged to be alike
        more.
    make_efficiency : float
        Factor on C_T alone: 0.03 between makes by the same measurements; and what no log tells from it, which is the
        same for all propellers of a setup: slipstream on fuselage and wing root, the polar's true shape.
    """

    speed_constant: float = 0.025
    motor_resistance: float = 0.10
    pack_resistance: float = 0.20
    assumed_pack_resistance: float = 0.40
    gearbox_efficiency: float = 0.015
    zero_lift_drag: float = 0.15
    assumed_zero_lift_drag: float = 0.25
    rest_cell_v: float = 0.02
    make_load: float = 0.12
    make_efficiency: float = 0.03


DEFAULT_SPREAD: Final = InputSpread()


def default_calibration(system: PowerSystem, spread: InputSpread = DEFAULT_SPREAD) -> Calibration:
    """Nothing measured: the setup's own values, with the usual spread of each; a direct drive has no gear to doubt."""
    deviations = {
        "speed_constant": spread.speed_constant,
        "motor_resistance": spread.motor_resistance,
        "pack_resistance": spread.assumed_pack_resistance
        if system.assumed("pack-resistance-assumed")
        else spread.pack_resistance,
        "gearbox_efficiency": spread.gearbox_efficiency if system.gearbox.efficiency != 1.0 else 0.0,
        "zero_lift_drag": spread.assumed_zero_lift_drag
        if system.assumed("zero-lift-drag-assumed")
        else spread.zero_lift_drag,
        "rest_cell_v": spread.rest_cell_v,
    }
    directions = np.diag([deviations.get(name, 0.0) for name in PARAMETERS])
    return Calibration(np.zeros(len(PARAMETERS)), directions[directions.any(axis=1)])
