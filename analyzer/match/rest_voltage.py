"""The voltage that the pack would have at rest in the middle of a climb."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from analyzer.measures.integrals import SECONDS_PER_HOUR, integrate
from analyzer.power_system.pack import CHARGE_GRID, REST_CELL_V, open_circuit_v, pack_model

if TYPE_CHECKING:
    from analyzer.match.tuning import MatchTuning
    from analyzer.measures.draw import Draw
    from analyzer.measures.traces import Traces
    from analyzer.records import FlightSummary, MotorRun
    from analyzer.setup_file import Setup


def rest_voltage(
    traces: Traces,
    summary: FlightSummary,
    setup: Setup,
    draw: Draw | None,
    run: MotorRun,
    at_s: float,
    tuning: MatchTuning,
) -> tuple[float, float]:
    """Rest voltage at an instant of a run, and its standard error.

    Read just before the run, with the motor off, less what the rest-voltage curve of the chemistry falls by with the
    charge that the run has drawn. Where no voltage is logged there, from the charge used since a full pack.

    Parameters
    ----------
    traces, summary, setup, draw, run
        The log and its run.
    at_s : float
        When.
    tuning : MatchTuning
        Tuning values.
    """
    if setup.pack is None:
        raise AssertionError("a prediction needs the pack")
    pack = pack_model(setup.pack)
    capacity = pack.capacity_ah
    read = _before(traces, summary, run, tuning)
    if read is None:
        used_ah = _charge_ah(draw, float(traces.time_s[0]), at_s)
        charge = 1.0 - used_ah / capacity if capacity else 0.5
        return float(open_circuit_v(pack, charge)), pack.cells * tuning.unknown_rest_cell_v
    in_run_ah = _charge_ah(draw, run.start_s, at_s)
    charge = float(np.interp(read[0] / pack.cells, REST_CELL_V[pack.chemistry], CHARGE_GRID))
    fallen = (
        float(open_circuit_v(pack, charge) - open_circuit_v(pack, charge - in_run_ah / capacity)) if capacity else 0.0
    )
    error = float(np.hypot(read[1], pack.cells * tuning.rest_error_cell_v))
    return read[0] - fallen, error


def _before(traces: Traces, summary: FlightSummary, run: MotorRun, tuning: MatchTuning) -> tuple[float, float] | None:
    """Median voltage with the motor off just before a run, and its standard error."""
    earlier = [other.end_s for other in summary.motor_runs if other.end_s < run.start_s]
    since = max(run.start_s - tuning.rest_window_s, max(earlier, default=-np.inf) + 2.0 * tuning.rest_guard_s)
    known = traces.readings("voltage_v", since, run.start_s - tuning.rest_guard_s)
    if known.size < 2 or np.median(known) <= 0.0:
        return None
    return float(np.median(known)), float(known.std() / np.sqrt(min(known.size, 8)))


def _charge_ah(draw: Draw | None, start_s: float, end_s: float) -> float:
    return integrate(draw.signal, start_s, end_s).value / SECONDS_PER_HOUR if draw is not None else 0.0
