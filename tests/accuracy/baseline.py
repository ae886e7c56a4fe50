"""A plain threshold analyser, to see what the statistics of the real one are worth.

Spikes: median of three samples. Motor: 2 A (1000 rpm where no current is logged); vertical speed: 5 s moving average;
thermal: above 0.2 m/s for 15 s with the motor off; ground: below 4 m for 5 s with the motor off.
"""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise

import numpy as np
import pandas as pd
from numpy.typing import NDArray

MOTOR_A, MOTOR_RPM = 2.0, 1000.0
AVERAGE_S = 5.0
LIFT_M_S, LIFT_S = 0.2, 15.0
GROUND_M, GROUND_S = 4.0, 5.0


@dataclass(frozen=True)
class PlainSegment:
    """Kind, start and end."""

    kind: str
    start_s: float
    end_s: float


def plain_segments(log: pd.DataFrame) -> list[PlainSegment]:
    """Segments of a log in canonical channels."""
    log = log.drop_duplicates("time_s").ffill().bfill()
    for name in ("altitude_m", "current_a", "rpm"):
        if name in log:
            log[name] = log[name].rolling(3, center=True, min_periods=1).median()
    time = log["time_s"].to_numpy()
    motor = _motor(log)
    lift = _stretches(~motor & (_vertical_speed(log) > LIFT_M_S), time, LIFT_S)
    ground = _stretches(~motor & (log["altitude_m"].to_numpy() < GROUND_M), time, GROUND_S)
    kinds = np.where(ground, "ground", "glide").astype(object)
    kinds[lift & ~ground] = "thermal_climb"
    kinds[motor] = "motor_run"
    edges = [0, *(np.flatnonzero(kinds[1:] != kinds[:-1]) + 1).tolist(), len(kinds) - 1]
    return [PlainSegment(str(kinds[a]), float(time[a]), float(time[b])) for a, b in pairwise(edges)]


def _motor(log: pd.DataFrame) -> NDArray[np.bool_]:
    if "current_a" in log:
        return np.asarray(log["current_a"] > MOTOR_A)
    return np.asarray(log["rpm"] > MOTOR_RPM)


def _vertical_speed(log: pd.DataFrame) -> NDArray[np.float64]:
    """Slope over a moving window of `AVERAGE_S`."""
    time = log["time_s"].to_numpy()
    height = log["altitude_m"].to_numpy()
    before = np.interp(time - AVERAGE_S / 2, time, height)
    after = np.interp(time + AVERAGE_S / 2, time, height)
    return (after - before) / AVERAGE_S


def _stretches(mask: NDArray[np.bool_], time: NDArray[np.float64], shortest_s: float) -> NDArray[np.bool_]:
    kept = np.zeros_like(mask)
    edges = np.flatnonzero(np.diff(np.concatenate(([False], mask, [False])).astype(int)))
    for first, last in zip(edges[::2], edges[1::2], strict=True):
        if time[last - 1] - time[first] >= shortest_s:
            kept[first:last] = True
    return kept
