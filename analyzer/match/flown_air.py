"""The air that a climb was flown in."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from analyzer.constants import ZERO_CELSIUS_K
from analyzer.power_system.air import air_state, density_kg_m3, standard_temperature_k

if TYPE_CHECKING:
    from analyzer.measures.traces import Traces
    from analyzer.setup_file import Setup


def density_ratio(traces: Traces, setup: Setup, start_s: float, end_s: float) -> float:
    """Density in a stretch of the log over that of the setup's field.

    From the height above the field, by the standard atmosphere from the setup's elevation and temperature; where the
    setup gives no elevation and the log has the static pressure, from that. A log's temperatures are those of
    controllers and motors, and are not used.
    """
    inside = traces.window(start_s, end_s)
    height = traces.channels["height_m"][inside]
    above_m = float(np.nanmean(height)) if np.isfinite(height).any() else 0.0
    field = air_state(setup.air).density_kg_m3
    pressure = traces.get("pressure_pa")
    if setup.value("air.elevation_m") is None and pressure is not None and np.isfinite(pressure[inside]).any():
        stated = setup.value("air.temperature_c")
        temperature_k = float(standard_temperature_k(above_m)) if stated is None else ZERO_CELSIUS_K + stated
        return float(density_kg_m3(float(np.nanmean(pressure[inside])), temperature_k)) / field
    return air_state(setup.air, height_above_field_m=above_m).density_kg_m3 / field
