"""Climbs whose parameters are known: made by the forward model, as a log would have measured them."""

from __future__ import annotations

from dataclasses import replace
from functools import partial
from typing import TYPE_CHECKING

import numpy as np
from made_setup import made_setup, setup_text

from analyzer.match.climb_model import climb_model, conditions_of
from analyzer.match.steady import Reading, SteadyRun
from analyzer.match.tuning import TUNING
from analyzer.power_system.coefficients import propeller_curves, setup_propeller
from analyzer.power_system.family_model import mean_curves
from analyzer.power_system.propeller_curves import PropellerCurves
from analyzer.power_system.system import power_system
from analyzer.power_system.variants import PARAMETERS
from analyzer.setup_file import Setup

if TYPE_CHECKING:
    from pathlib import Path

SETUP = setup_text(
    "internal_resistance_ohm = 0.025", "internal_resistance_ohm = 0.025       # as the shop says",
    "[propeller]", "[gearbox]\nratio = 1.2\nefficiency = 0.95\n[propeller]",
    "pitch_in = 6.0", "pitch_in = 6.5",
)  # fmt: skip
"""Geared, and with a propeller between the measured sizes."""

planted_setup = partial(made_setup, text=SETUP)


def table_setup(folder: Path, *, thrust_factor: float, power_factor: float) -> Setup:
    """The planted setup with a coefficient table of its own, which is so many times the family's mean."""
    curves = mean_curves(setup_propeller(planted_setup()))
    advance = np.linspace(0.0, 1.1 * curves.advance_scale, 23)
    thrust, power = curves.coefficients(advance, 0.3)
    columns = zip(advance, thrust_factor * thrust, power_factor * power, strict=True)
    rows = "\n".join(f"{j:.5f},{t:.6f},{p:.6f}" for j, t, p in columns)
    (folder / "own.csv").write_text(f"J,CT,CP\n{rows}\n")
    stated = planted_setup("pitch_in = 6.5", 'pitch_in = 6.5\ncoefficients_csv = "own.csv"')
    return stated.model_copy(update={"folder": folder})


def offsets(**moved: float) -> np.ndarray:
    """Offsets of the parameters by name."""
    values = np.zeros(len(PARAMETERS))
    for name, value in moved.items():
        values[PARAMETERS.index(name)] = value
    return values


def blank_run(number: int, rest_v: float, log: str = "planted.csv") -> SteadyRun:
    """A climb of which only the conditions are known."""
    start = 100.0 * number
    return SteadyRun(
        log=log,
        run_start_s=start,
        start_s=start + 3.0,
        end_s=start + 23.0,
        current_a=None,
        voltage_v=None,
        speed_rev_s=None,
        climb_m_s=Reading(0.0, 0.01),
        rest_v=Reading(rest_v, 0.01),
        throttle=Reading(1.0, 0.0),
        airspeed_m_s=None,
        density_ratio=0.98,
    )


def planted_runs(
    setup: Setup,
    true_offsets: np.ndarray,
    *,
    count: int = 6,
    airspeeds: bool = True,
    rng: np.random.Generator | None = None,
    curves: PropellerCurves | None = None,
    pace: float = 1.0,
) -> list[SteadyRun]:
    """Climbs at full throttle down a pack, flown by a power system with these offsets; noise where `rng` is given.

    `pace` is the pilot's airspeed over the usual one.
    """
    system = power_system(setup)
    blank = [blank_run(number, rest) for number, rest in enumerate(np.linspace(12.5, 11.5, count))]
    model = climb_model(system, curves or propeller_curves(setup_propeller(setup)), conditions_of(blank))
    speed = model.usual_airspeed_m_s(true_offsets, TUNING) * pace * np.linspace(0.92, 1.12, count)
    rest, full = model.conditions.rest_v[None], model.conditions.throttle[None]
    made = model.fly(true_offsets[None], np.zeros(1, dtype=np.intp), speed[None], rest, full)
    noise = (lambda spread: rng.normal(0.0, spread, count)) if rng is not None else (lambda _: np.zeros(count))
    current = made.current_a[0] * np.exp(noise(0.007))
    voltage, turns = made.voltage_v[0] + noise(0.015), made.speed_rev_s[0] * np.exp(noise(0.004))
    climb = made.climb_m_s[0] + noise(0.15)
    return [
        replace(
            run,
            current_a=Reading(float(current[at]), 0.1),
            voltage_v=Reading(float(voltage[at]), 0.005),
            speed_rev_s=Reading(float(turns[at]), 0.05),
            climb_m_s=Reading(float(climb[at]), 0.01),
            airspeed_m_s=Reading(float(speed[at]), 0.05) if airspeeds else None,
        )
        for at, run in enumerate(blank)
    ]
