"""The air that a stretch of a log was flown in."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from analyzer.constants import ISA_LAPSE_RATE_K_M, ZERO_CELSIUS_K
from analyzer.power_system.air import air_state, density_kg_m3, temperature_at_pressure_k

if TYPE_CHECKING:
    from analyzer.measures.traces import Traces
    from analyzer.setup_file import Setup


def flown_density_kg_m3(traces: Traces, setup: Setup | None, start_s: float, end_s: float) -> float:
    """Air density over a stretch of the log.

    From the height above the field, by the standard atmosphere from the setup's elevation and temperature; where the
    setup gives no elevation and the log has the static pressure, from that. A log's temperatures are those of
    controllers and motors, and are not used.
    """
    inside = traces.window(start_s, end_s)
    height, pressure = traces.channels["height_m"][inside], traces.get("pressure_pa")
    above_m = float(np.nanmean(height)) if np.isfinite(height).any() else 0.0
    air = setup.air if setup is not None else None
    if (air is not None and air.elevation_m is not None) or pressure is None or not np.isfinite(pressure[inside]).any():
        return air_state(air, height_above_field_m=above_m).density_kg_m3
    pressure_pa = float(np.nanmean(pressure[inside]))
    if air is None or air.temperature_c is None:
        return float(density_kg_m3(pressure_pa, temperature_at_pressure_k(pressure_pa)))
    return float(density_kg_m3(pressure_pa, ZERO_CELSIUS_K + air.temperature_c - ISA_LAPSE_RATE_K_M * above_m))
