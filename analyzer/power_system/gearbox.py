"""The gearbox: one ratio, one efficiency."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from analyzer.arrays import Floats
    from analyzer.setup_file import Gearbox as GearboxSection


@dataclass(frozen=True, slots=True)
class GearboxModel:
    """Motor turns per propeller turn, and the share of the power that passes; direct drive is 1 and 1."""

    ratio: Floats = 1.0
    efficiency: Floats = 1.0


def gearbox_model(section: GearboxSection | None) -> GearboxModel:
    """The model of a setup's ``[gearbox]``; no section means direct drive without loss."""
    return GearboxModel() if section is None else GearboxModel(section.ratio, section.efficiency)


def output_torque_n_m(gearbox: GearboxModel, motor_torque_n_m: Floats) -> Floats:
    """Torque at the propeller: Q G eta when the motor drives, Q G/eta when the propeller drives the motor.

    The loss always opposes the motion, so a windmilling propeller has to bring more than the motor takes.
    """
    driving = np.asarray(motor_torque_n_m) >= 0.0
    return motor_torque_n_m * gearbox.ratio * np.where(driving, gearbox.efficiency, 1.0 / gearbox.efficiency)
