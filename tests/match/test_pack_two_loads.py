"""The fitted pack resistance against the two-load method of IEC 61960-3.

R = (U1 - U2)/(I2 - I1) after a small load and a large one (IEC 61960-3:2017, DC internal resistance; the sequence of
0.2 It for 10 s and 1 It for 1 s read on a secondary page, the standard itself not read). Worked case, invented: a
pack of 3 Ah at 0.6 A shows 12.42 V, at 3.0 A 12.30 V: 0.0500 ohm (computed).
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from match_planted import offsets, planted_runs, planted_setup

from analyzer.match.choice import best_estimate
from analyzer.match.steady import Reading
from analyzer.match.tuning import TUNING
from analyzer.power_system.system import power_system


def two_loads(low: tuple[float, float], high: tuple[float, float]) -> float:
    """Resistance from voltage and current under two loads."""
    return (low[0] - high[0]) / (high[1] - low[1])


def test_the_worked_case() -> None:
    assert two_loads((12.42, 0.6), (12.30, 3.0)) == pytest.approx(0.0500, abs=1e-12)


@pytest.mark.parametrize("resistance_ohm", [0.018, 0.025, 0.050])
def test_the_fit_is_the_two_load_resistance(resistance_ohm: float) -> None:
    """Two climbs at full and at part throttle are the two loads; the setup says 0.025 ohm."""
    setup = planted_setup()
    truth = planted_setup("0.025       # as", f"{resistance_ohm} # as")
    runs = planted_runs(truth, offsets(), count=4)
    rest_v = 12.2
    level = [
        replace(
            run,
            rest_v=Reading(rest_v, 0.003),
            voltage_v=Reading(rest_v - resistance_ohm * run.current_a.value, 0.003),
        )
        for run in runs
    ]
    found = best_estimate(setup, power_system(setup), level, (), TUNING)
    fitted = 0.025 * np.exp(found.belief.of("pack_resistance").mean[0])
    load = level[0]
    reference = two_loads((rest_v - resistance_ohm * 0.6, 0.6), (load.voltage_v.value, load.current_a.value))
    assert fitted == pytest.approx(reference, rel=0.03)
    assert abs(np.log(fitted / reference)) < 2.0 * found.belief.spread("pack_resistance")
