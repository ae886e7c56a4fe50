"""What glides at a logged airspeed say of the airframe's drag."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING, Final

import numpy as np

from analyzer.match.gauss_newton import fit
from analyzer.measures.traces import traces_of
from analyzer.power_system import airframe as frames
from analyzer.soaring.flown_air import flown_density_kg_m3

if TYPE_CHECKING:
    from analyzer.arrays import Array
    from analyzer.match.tuning import MatchTuning
    from analyzer.power_system.airframe import AirframeModel
    from analyzer.power_system.system import PowerSystem
    from analyzer.records import FlightSummary, Glide, Log
    from analyzer.setup_file import Setup


SHORTEST_S: Final = 20.0
"""A glide shorter than this is mostly a change of speed."""

SPEED_CHANGES: Final = 0.10
"""What a glide's changes of speed and its turns do to its sink rate, which grows with the cube of the airspeed."""

LOOSE: Final = 1.0
"""Spread of ln CD0 for this fit: what was believed beforehand joins later."""


def drag_from_glides(
    summary: FlightSummary, setup: Setup, system: PowerSystem, log: Log, tuning: MatchTuning
) -> tuple[float, float] | None:
    """Logarithm of the zero-lift drag over the setup's, and its standard error.

    Sink rate against mean airspeed of each glide by the drag polar, with the probe's scale and the air's vertical
    motion over the log fitted along. A flight's last glide is left out: its landing has brakes. None without an
    airframe, or without glides at a logged airspeed.
    """
    glides = [glide for glide in summary.glides if _tells(glide) and not _is_last(glide, summary)]
    if system.airframe is None or not glides:
        return None
    traces = traces_of(log)
    airframe = system.airframe
    sink = np.array([glide.sink_rate_m_s or 0.0 for glide in glides])
    errors = np.array([glide.sink_rate_se_m_s or 0.0 for glide in glides])
    airspeed = np.array([glide.mean_airspeed_m_s or 0.0 for glide in glides])
    density = np.array([flown_density_kg_m3(traces, setup, glide.start_s, glide.end_s) for glide in glides])
    variance = errors**2 + (SPEED_CHANGES * sink) ** 2 + tuning.air_run_m_s**2 / 2.0

    def sinks(drag: float, probe: float) -> Array:
        return _sink(airframe, density, airspeed * np.exp(probe), drag)

    def modelled(values: Array) -> tuple[Array, Array]:
        drag, probe, air = values
        by_drag = (sinks(drag + 0.01, probe) - sinks(drag - 0.01, probe)) / 0.02
        by_probe = (sinks(drag, probe + 0.01) - sinks(drag, probe - 0.01)) / 0.02
        return sinks(drag, probe) - air, np.stack((by_drag, by_probe, -np.ones(sink.size)), axis=1)

    spreads = np.array((LOOSE, tuning.pitot, tuning.glide_air_m_s))
    found = fit(modelled, sink, variance, np.zeros(3), np.diag(spreads**2), np.full(sink.size, tuning.gust_freedom))
    information = 1.0 / found.covariance[0, 0] - 1.0 / LOOSE**2
    if information <= 0.0:
        return None
    return float(found.values[0] / found.covariance[0, 0] / information), float(information**-0.5)


def _tells(glide: Glide) -> bool:
    known = glide.sink_rate_m_s is not None and glide.mean_airspeed_m_s is not None
    return known and glide.duration_s >= SHORTEST_S


def _is_last(glide: Glide, summary: FlightSummary) -> bool:
    """Whether nothing but ground follows in its flight."""
    flight = next((one for one in summary.flights if one.start_s <= glide.start_s < one.end_s), None)
    later = [one for one in summary.segments if one.kind != "ground" and one.start_s >= glide.end_s - 1e-6]
    return flight is None or not any(one.start_s < flight.end_s - 1e-6 for one in later)


def _sink(airframe: AirframeModel, density_kg_m3: Array, airspeed: Array, drag: float) -> Array:
    """Sink rate of each glide."""
    moved = replace(airframe, zero_lift_drag_coefficient=airframe.zero_lift_drag_coefficient * np.exp(drag))
    return np.asarray(frames.sink_rate_m_s(moved, airspeed, density_kg_m3))
