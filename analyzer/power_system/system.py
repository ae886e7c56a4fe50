"""A setup's sections as models, with what had to be assumed."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Final

import numpy as np

from analyzer.power_system.air import AirState, air_state
from analyzer.power_system.airframe import AirframeModel, airframe_model
from analyzer.power_system.gearbox import GearboxModel, gearbox_model
from analyzer.power_system.motor import MotorModel, motor_model
from analyzer.power_system.operating_point import DriveModel
from analyzer.power_system.pack import PackModel, open_circuit_v, pack_model
from analyzer.records import Notice
from analyzer.setup_file import by_section

if TYPE_CHECKING:
    from analyzer.arrays import Array
    from analyzer.power_system.variants import Variants
    from analyzer.setup_file import Setup


NEEDED_KEYS: Final = ("pack.cells", "motor.kv_rpm_per_v", "motor.resistance_ohm")
"""Without these nothing can be predicted."""

CLIMB_KEYS: Final = ("airframe.mass_kg", "airframe.wing_area_m2", "airframe.wingspan_m")
"""Without these no climb and no level speed can be predicted."""

ASSUMED_CONTROLLER_OHM: Final = 0.004
"""Controller and leads where the setup names none (common practice, no source)."""

ASSUMED_ZERO_LIFT_DRAG: Final = 0.020
"""Zero-lift drag coefficient of a clean model sailplane where the setup names none (common practice, no source)."""

ASSUMED_NO_LOAD_SHARE: Final = 0.03
"""No-load current over the current at stall on one cell's 3.7 V where the setup names none (common practice)."""


@dataclass(frozen=True, slots=True)
class PowerSystem:
    """Everything but the propeller.

    Attributes
    ----------
    pack, motor, gearbox, air : models
        The parts.
    controller_resistance_ohm : float
        Controller and leads.
    airframe : AirframeModel, optional
        None where the setup does not describe it: then there is no climb to predict.
    notices : tuple of Notice
        Values that the setup lacks and what was assumed for them.
    """

    pack: PackModel
    motor: MotorModel
    gearbox: GearboxModel
    controller_resistance_ohm: float
    air: AirState
    airframe: AirframeModel | None
    notices: tuple[Notice, ...] = ()

    def assumed(self, code: str) -> bool:
        """Whether a value was assumed, by the code of its notice."""
        return any(notice.code == code for notice in self.notices)

    def drive(self, variants: Variants, state_of_charge: Array | float) -> DriveModel:
        """Pack to gearbox for every variant, shapes (s, 1 or propellers, 1), at states of charge."""
        rest = open_circuit_v(self.pack, state_of_charge) + self.pack.cells * variants.offset("rest_cell_v")
        return self.drive_at(variants, rest)

    def drive_at(self, variants: Variants, open_circuit_v: Array | float) -> DriveModel:
        """Pack to gearbox for every variant, at rest voltages of the pack as measured."""
        motor = replace(
            self.motor,
            speed_constant_rad_s_v=self.motor.speed_constant_rad_s_v * variants.factor("speed_constant"),
            resistance_ohm=self.motor.resistance_ohm * variants.factor("motor_resistance"),
        )
        efficiency = np.minimum(self.gearbox.efficiency * variants.factor("gearbox_efficiency"), 1.0)
        return DriveModel(
            open_circuit_v=open_circuit_v,
            pack_resistance_ohm=self.pack.resistance_ohm * variants.factor("pack_resistance"),
            controller_resistance_ohm=self.controller_resistance_ohm,
            motor=motor,
            gearbox=replace(self.gearbox, efficiency=efficiency),
        )

    def airframe_of(self, variants: Variants) -> AirframeModel | None:
        """The airframe for every variant, shapes (s, 1 or propellers, 1)."""
        if self.airframe is None:
            return None
        drag = self.airframe.zero_lift_drag_coefficient * variants.factor("zero_lift_drag")
        return replace(self.airframe, zero_lift_drag_coefficient=drag)


def power_system(setup: Setup, pack_temperature_c: float | None = None) -> PowerSystem:
    """Turn a setup into models.

    Parameters
    ----------
    setup : Setup
        The setup.
    pack_temperature_c : float, optional
        Of the cells, where the stated resistance is to follow it from 25 C.

    Raises
    ------
    SetupFileError
        When a key is missing without which nothing can be predicted.
    """
    setup.require(*NEEDED_KEYS, purpose="a prediction")
    if setup.pack is None or setup.motor is None:
        raise AssertionError("require() checks the sections")
    motor, no_load = _motor(setup)
    airframe, drag = _airframe(setup)
    controller = setup.value("speed_controller.resistance_ohm")
    return PowerSystem(
        pack=pack_model(setup.pack, pack_temperature_c),
        motor=motor,
        gearbox=gearbox_model(setup.gearbox),
        controller_resistance_ohm=ASSUMED_CONTROLLER_OHM if controller is None else controller,
        air=air_state(setup.air),
        airframe=airframe,
        notices=(*_pack_notices(setup), *no_load, *drag),
    )


def _motor(setup: Setup) -> tuple[MotorModel, tuple[Notice, ...]]:
    section = setup.motor
    if section is None or section.resistance_ohm is None:
        raise AssertionError("require() checks the section")
    if section.no_load_current_a is not None:
        return motor_model(section), ()
    assumed = ASSUMED_NO_LOAD_SHARE * 3.7 / section.resistance_ohm
    notice = Notice("no-load-current-assumed", f"The motor's no-load current is not given: {assumed:.1f} A assumed.")
    return motor_model(section.model_copy(update={"no_load_current_a": assumed})), (notice,)


def _pack_notices(setup: Setup) -> tuple[Notice, ...]:
    if setup.pack is None or setup.pack.internal_resistance_ohm is not None:
        return ()
    estimate = 1000.0 * float(np.asarray(pack_model(setup.pack).resistance_ohm))
    message = f"The pack's resistance is not given: {estimate:.0f} milliohm assumed, as of a sound, warm pack."
    return (Notice("pack-resistance-assumed", message),)


def _airframe(setup: Setup) -> tuple[AirframeModel | None, tuple[Notice, ...]]:
    missing = [key for key in CLIMB_KEYS if setup.value(key) is None]
    if setup.airframe is None or missing:
        message = f"No climb and no level speed are predicted: the setup lacks {by_section(missing)}."
        return None, (Notice("airframe-missing", message),)
    if setup.airframe.zero_lift_drag_coefficient is not None:
        return airframe_model(setup.airframe), ()
    message = f"The zero-lift drag coefficient is not given: {ASSUMED_ZERO_LIFT_DRAG:g} assumed."
    section = setup.airframe.model_copy(update={"zero_lift_drag_coefficient": ASSUMED_ZERO_LIFT_DRAG})
    return airframe_model(section), (Notice("zero-lift-drag-assumed", message),)
