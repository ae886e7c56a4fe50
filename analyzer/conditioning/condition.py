"""The conditioning stage as a whole."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import pandas as pd

from analyzer.channels import channel_of
from analyzer.conditioning.drive import READING_COLUMNS
from analyzer.conditioning.fill import bridge, hold_label
from analyzer.conditioning.height import smoothed_height
from analyzer.conditioning.launch_level import launch_level
from analyzer.conditioning.leaps import new_levels
from analyzer.conditioning.mend import true_readings
from analyzer.conditioning.tuning import CONDITIONING, ConditioningTuning
from analyzer.conditioning.unheard import without_held_rows
from analyzer.constants import STANDARD_GRAVITY_M_S2
from analyzer.errors import LogFileError
from analyzer.records import Notice
from analyzer.wording import clock, counted

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from analyzer.records import Log

    Array = NDArray[np.float64]
    Columns = dict[str, Array | pd.Series]


def condition(log: Log, tuning: ConditioningTuning = CONDITIONING) -> Log:
    """Bring a log onto one timeline, mend its channels and derive vertical motion.

    Parameters
    ----------
    log : Log
        As read; `time_s` strictly increasing from 0.
    tuning : ConditioningTuning
        The stage's tuning.

    Returns
    -------
    Log
        Columns as in the package's documentation.

    Raises
    ------
    LogFileError
        When no altitude reading is plausible.
    """
    time_s = log.frame["time_s"].to_numpy(dtype=float)
    frame, lost = without_held_rows(log, tuning)
    columns, readings, notices = _on_one_timeline(frame, time_s, tuning)
    own = readings["altitude_m"]
    if not own.any():
        raise LogFileError("no altitude in it is plausible", source=log.name, remedy="check the column's unit")
    rows = slice(None) if own.all() else own
    own_times = time_s[rows]
    as_logged = np.asarray(columns["altitude_m"])
    above_launch = as_logged - launch_level(own_times, as_logged[rows], tuning)
    altitude = above_launch[rows]
    columns["altitude_m"], columns["altitude_reading_m"] = above_launch, _at_readings(above_launch, own)
    for name, at_readings in READING_COLUMNS.items():
        if name in readings:
            columns[at_readings] = _at_readings(columns[name], readings[name])
    columns |= smoothed_height(time_s, own_times, altitude, tuning)._asdict()
    if "airspeed_m_s" in readings and np.count_nonzero(readings["airspeed_m_s"]) > 1:
        flown = readings["airspeed_m_s"]
        speed = frame["airspeed_m_s"].to_numpy(dtype=float)[flown]
        speed_there = np.interp(own_times, time_s[flown], speed)
        energy_m = altitude + np.square(speed_there) / (2 * STANDARD_GRAVITY_M_S2)
        energy = smoothed_height(time_s, own_times, energy_m, tuning)
        columns["energy_height_m"] = energy.height_m
        columns["energy_climb_m_s"], columns["energy_climb_se_m_s"] = energy.climb_m_s, energy.climb_se_m_s
    if "power_w" not in columns and "voltage_v" in columns and "current_a" in columns:
        columns["power_w"] = np.asarray(columns["voltage_v"]) * np.asarray(columns["current_a"])
    return log.then("conditioned", pd.DataFrame(columns, copy=False), [*lost, *notices])


def _on_one_timeline(
    log: pd.DataFrame, time_s: Array, tuning: ConditioningTuning
) -> tuple[Columns, dict[str, NDArray[np.bool_]], list[Notice]]:
    """Every channel at every stamp, where its true readings are, and notices."""
    columns: Columns = {"time_s": time_s}
    readings: dict[str, NDArray[np.bool_]] = {}
    notices: list[Notice] = []
    for column in log.columns.drop("time_s"):
        channel = channel_of(column)
        if channel.kind == "label":
            columns[column] = hold_label(log[column])
            continue
        readings[column], found = true_readings(log, channel, tuning)
        notices += found
        if column == "airspeed_m_s" and not readings[column].any():
            del readings[column]
            continue
        values = log[column].to_numpy(dtype=float)
        if column == "longitude_deg":
            values = _beyond_180(values, readings[column])
        if column == "altitude_m":
            values, joined = _on_one_level(time_s, values, readings[column], tuning)
            notices += joined
        columns[column] = bridge(time_s, values, readings[column], channel.kind, tuning)
    return columns, readings, notices


def _on_one_level(
    time_s: Array, altitude_m: Array, own: NDArray[np.bool_], tuning: ConditioningTuning
) -> tuple[Array, list[Notice]]:
    """Heights of an altimeter that began to count anew, joined on to those before."""
    times = time_s[own]
    leaps, steps_m = new_levels(times, altitude_m[own], tuning)
    if not leaps.size:
        return altitude_m, []
    begun_s = times[leaps + 1]
    shift_m = np.concatenate(([0.0], np.cumsum(steps_m)))[np.searchsorted(begun_s, time_s, side="right")]
    more = f" ({counted(leaps.size - 1, 'more leap')} after it)" if leaps.size > 1 else ""
    message = (
        f"altitude: leaps by {steps_m[0]:+.0f} m at {clock(begun_s[0])}{more}, as no flight can, and goes on from "
        "there; heights after it are joined on to those before. Did the altimeter or the receiver restart? Look at "
        "its supply"
    )
    return altitude_m - shift_m, [Notice("altitude-new-zero", message)]


def _beyond_180(longitude_deg: Array, own: NDArray[np.bool_]) -> Array:
    """Longitudes without a seam: those across the 180th meridian go on beyond 180 degrees, as the flight does."""
    there = longitude_deg[own]
    if not there.size or np.ptp(there) <= 180.0:
        return longitude_deg
    farthest = there[np.argmax(np.abs(there))]  # the first may be the 0 of a receiver without a fix
    return np.asarray(longitude_deg - 360.0 * np.round((longitude_deg - farthest) / 360.0))


def _at_readings(values: Array | pd.Series, own: NDArray[np.bool_]) -> Array:
    """A channel at its sensor's own readings, NaN at other rows; the channel itself, not a copy, where all rows are."""
    return np.asarray(values if own.all() else np.where(own, values, np.nan))
