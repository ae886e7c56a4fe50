"""The limits that a setup can state, in one table: what is measured, predicted and drawn against them reads it."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final


@dataclass(frozen=True, slots=True)
class Limit:
    """One kind of limit.

    Attributes
    ----------
    name : str
        What it is called, flown or predicted.
    key : str
        The setup's key that states it.
    unit : str
        Of the limit.
    is_least : bool
        Whether less is worse.
    channel : str
        Channel in whose row of the flight's plot it is drawn; "" where it is not.
    label : str
        Its name there, without what the row says; short, since three stand side by side on a phone.
    """

    name: str
    key: str
    unit: str
    is_least: bool = False
    channel: str = ""
    label: str = ""

    def margin(self, limit: float, worst: float) -> float:
        """Room left to a stated limit, in its unit; negative beyond it."""
        return worst - limit if self.is_least else limit - worst


CONTINUOUS: Final = Limit(
    "controller current, continuous",
    "speed_controller.continuous_current_a",
    "A",
    channel="current_a",
    label="continuous",
)
BURST: Final = Limit(
    "controller current, burst", "speed_controller.burst_current_a", "A", channel="current_a", label="burst"
)
MOTOR_CURRENT: Final = Limit("motor current", "motor.max_current_a", "A", channel="current_a", label="motor")
MOTOR_SPEED: Final = Limit("motor rpm", "motor.max_rpm", "rpm", channel="rpm", label="motor rpm")
CELL_VOLTAGE: Final = Limit(
    "cell voltage under load",
    "pack.min_cell_v",
    "V",
    is_least=True,
    channel="voltage_v",
    label="cell voltage under load",
)
RECEIVER_VOLTAGE: Final = Limit("receiver voltage", "receiver_supply.min_v", "V", is_least=True)

LIMITS: Final = (CONTINUOUS, BURST, MOTOR_CURRENT, MOTOR_SPEED, CELL_VOLTAGE, RECEIVER_VOLTAGE)
"""All of them, in the order in which they are told."""

BY_NAME: Final = {limit.name: limit for limit in LIMITS}
