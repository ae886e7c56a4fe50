"""The conditioning stage as a whole."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import pandas as pd

from analyzer.channels import Channel, channel_of
from analyzer.conditioning.fill import bridge, hold_label
from analyzer.conditioning.launch_level import launch_level
from analyzer.conditioning.noise import motion_noise
from analyzer.conditioning.outliers import out_of_range, spikes
from analyzer.conditioning.sampling import update_rows
from analyzer.conditioning.tuning import CONDITIONING, ConditioningTuning
from analyzer.conditioning.vertical_motion import at_times, smooth
from analyzer.constants import STANDARD_GRAVITY_M_S2
from analyzer.records import Notice

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from analyzer.records import Log

    Array = NDArray[np.float64]


def condition(log: Log, tuning: ConditioningTuning = CONDITIONING) -> Log:
    """Bring a log onto one timeline, mend its channels and derive vertical motion.

    Parameters
    ----------
    log : Log
        As read; `time_s` strictly increasing from 0, `altitude_m` with at least one value.
    tuning : ConditioningTuning
        The stage's tuning.

    Returns
    -------
    Log
        Columns as in the package's documentation.
    """
    time_s = log.frame["time_s"].to_numpy(dtype=float)
    columns: dict[str, Array | pd.Series] = {"time_s": time_s}
    notices: list[Notice] = []
    readings: dict[str, NDArray[np.intp]] = {}
    for column in log.frame.columns:
        if column == "time_s":
            continue
        channel = channel_of(column)
        if channel.kind == "label":
            columns[column] = hold_label(log.frame[column])
            continue
        values = log.frame[column].to_numpy(dtype=float, copy=True)
        rows, found = _mend(time_s, values, column, channel, tuning)
        notices += found
        readings[column] = rows
        columns[column] = bridge(time_s, time_s[rows], values[rows], channel.kind, tuning)
    altitude = log.frame["altitude_m"].to_numpy(dtype=float)
    rows = readings["altitude_m"]
    level, known = launch_level(time_s[rows], altitude[rows], tuning.launch_rise_m)
    if not known:
        notices.append(
            Notice("launch-level-unknown", "the log starts in the air or moving: heights are above its first reading")
        )
    columns["altitude_m"] = np.asarray(columns["altitude_m"]) - level
    own_altitude = np.full(len(time_s), np.nan)
    own_altitude[rows] = altitude[rows] - level
    columns["altitude_reading_m"] = own_altitude
    columns |= _vertical(time_s, time_s[rows], altitude[rows] - level, "height_m", "climb_m_s", tuning)
    if "airspeed_m_s" in readings and len(readings["airspeed_m_s"]) > 10:
        speed = np.interp(time_s[rows], time_s, np.nan_to_num(np.asarray(columns["airspeed_m_s"])))
        energy = altitude[rows] - level + np.square(speed) / (2 * STANDARD_GRAVITY_M_S2)
        columns |= _vertical(time_s, time_s[rows], energy, "energy_height_m", "energy_climb_m_s", tuning)
        del columns["energy_height_se_m"]
    if "power_w" not in columns and "voltage_v" in columns and "current_a" in columns:
        columns["power_w"] = np.asarray(columns["voltage_v"]) * np.asarray(columns["current_a"])
    return log.then("conditioned: spikes and silences mended, vertical motion smoothed", pd.DataFrame(columns), notices)


def _mend(
    time_s: Array, values: Array, column: str, channel: Channel, tuning: ConditioningTuning
) -> tuple[NDArray[np.intp], list[Notice]]:
    """Rows of a channel's true and plausible readings, and what was set aside."""
    notices = []
    wrong = out_of_range(values, channel.low, channel.high)
    if wrong.any():
        values[wrong] = np.nan
        notices.append(
            Notice("out-of-range", f"{channel.title}: {np.count_nonzero(wrong)} impossible values set aside")
        )
    rows = update_rows(time_s, values, tuning)
    acceleration = tuning.greatest_acceleration_m_s2 if channel.name == "altitude_m" else 0.0
    if channel.kind == "continuous":
        spike = spikes(time_s[rows], values[rows], tuning, acceleration)
        if spike.any():
            notices.append(
                Notice("spikes-removed", f"{channel.title}: {np.count_nonzero(spike)} single-sample spikes set aside")
            )
            rows = rows[~spike]
    return rows, notices


def _vertical(
    time_s: Array, own_times: Array, reading: Array, height: str, climb: str, tuning: ConditioningTuning
) -> dict[str, Array | pd.Series]:
    """Smoothed height-like series and its rate with standard errors, at all stamps."""
    nodes, levels, counts = _nodes(own_times, reading, _node_spacing(own_times, tuning))
    noise = motion_noise(nodes, levels, tuning)
    variance = noise.variance_m2 * np.median(counts) / counts
    jerk = noise.jerk_at(0.5 * (nodes[1:] + nodes[:-1]))
    motion = smooth(nodes, levels, variance, jerk, tuning.edge_nodes)
    smoothed, rate, level_se, rate_se = at_times(motion, time_s)
    return {
        height: smoothed,
        height.replace("_m", "_se_m"): level_se,
        climb: rate,
        climb.replace("_m_s", "_se_m_s"): rate_se,
    }


def _node_spacing(times: Array, tuning: ConditioningTuning) -> float:
    """Time over which readings are averaged."""
    return max(tuning.node_s, float(times[-1] - times[0]) / tuning.most_nodes)


def _nodes(times: Array, values: Array, node_s: float) -> tuple[Array, Array, Array]:
    """Averages of readings that stand closer than `node_s`: mean time, mean value, count."""
    start = np.flatnonzero(np.concatenate(([True], np.diff(np.floor(times / node_s * 0.999)) > 0)))
    start = start[np.concatenate(([True], np.diff(times[start]) > 0.3 * node_s))]
    counts = np.diff(np.append(start, len(times))).astype(float)
    return np.add.reduceat(times, start) / counts, np.add.reduceat(values, start) / counts, counts
