"""The usual cautions of the trade, worded once, for every report and screen.

Common practice, no single source; makers' instructions, local rules and the field's safety officer come first.
"""

from __future__ import annotations

from typing import Final

BENCH_TEST: Final = (
    "Bench tests: take the propeller off, or hold the model down firmly; "
    "stay behind the propeller disc and keep others out of its plane."
)
LIMITS: Final = "Stop at the controller's, the motor's and the pack's limits; a short burst is not a continuous rating."
PACKS: Final = (
    "Charge, carry and store lithium packs as their maker says; retire a pack that is swollen, hot or damaged."
)
FLYING: Final = "Obey local flying rules and the field's safety officer."
PREDICTION: Final = (
    "A prediction is no clearance to fly: check current and temperature on the ground first, then on a short climb."
)

REPORT_CAUTIONS: Final = (BENCH_TEST, LIMITS, PACKS, FLYING)
"""For a report of a flight that was flown."""

PREDICTION_CAUTIONS: Final = (PREDICTION, *REPORT_CAUTIONS)
"""For a report of a flight that was not flown yet."""
