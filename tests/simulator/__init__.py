"""Flight simulator with known truth, for tests and accuracy studies.

It models an electric sailplane, its air, its pilot and its sensors with formulas of its own; it
never imports `analyzer`, and `analyzer` never imports it.
"""

from simulator.dialects import DIALECTS, Dialect, write_dialect
from simulator.draw import scenario_for
from simulator.igc import write_igc
from simulator.scenario import Difficulty, Scenario
from simulator.simulate import SimulatedFlight, simulate
from simulator.truth import Truth

__all__ = [
    "DIALECTS",
    "Dialect",
    "Difficulty",
    "Scenario",
    "SimulatedFlight",
    "Truth",
    "scenario_for",
    "simulate",
    "write_dialect",
    "write_igc",
]
