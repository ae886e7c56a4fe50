"""What each limit of a setup is called, flown or predicted."""

from __future__ import annotations

from typing import Final

CONTINUOUS: Final = "controller current, continuous"
BURST: Final = "controller current, burst"
MOTOR_CURRENT: Final = "motor current"
MOTOR_SPEED: Final = "motor rpm"
CELL_VOLTAGE: Final = "cell voltage under load"
RECEIVER_VOLTAGE: Final = "receiver voltage"
