"""Flights on a calm day, for all checks of the simulator."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

import pytest
from simulator import SimulatedFlight, simulate
from simulator.scenario import Phase

from simulator_checks.calm import calm_scenario


@pytest.fixture(scope="session")
def fly_calm() -> Callable[..., SimulatedFlight]:
    """Fly phases after a climb on a calm day."""

    def fly(*airborne: Phase, **changes: object) -> SimulatedFlight:
        return simulate(replace(calm_scenario(*airborne), **changes), 1)

    return fly
