"""The conditioning stage as a whole."""

from __future__ import annotations

from concurrent.futures import ThreadPoolExecutor
from typing import TYPE_CHECKING, NamedTuple

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
from analyzer.conditioning.unheard import without_unheard_rows
from analyzer.constants import STANDARD_GRAVITY_M_S2
from analyzer.errors import LogFileError
from analyzer.records import Notice
from analyzer.wording import clock, counted

if TYPE_CHECKING:
    from analyzer.arrays import Array, Mask
    from analyzer.records import Log

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
    frame, lost = without_unheard_rows(log, tuning)
    with ThreadPoolExecutor(1) as beside:  # the altitude costs as much as all others together
        others = {
            column: beside.submit(_mended, frame, column, tuning)
            for column in frame.columns.drop(["time_s", "altitude_m"])
        }
        altitude = _mended(frame, "altitude_m", tuning)
        if not altitude.own.any():
            raise LogFileError("no altitude in it is plausible", source=log.name, remedy="check the column's unit")
        heights = _height_columns(time_s, altitude, tuning)
    channels = {
        column: altitude if column == "altitude_m" else others[column].result()
        for column in frame.columns.drop("time_s")
    }
    notices = [notice for channel in channels.values() for notice in channel.notices]
    if "airspeed_m_s" in channels and not channels["airspeed_m_s"].own.any():
        del channels["airspeed_m_s"]
    columns: Columns = {"time_s": time_s, **{column: channel.values for column, channel in channels.items()}}
    columns |= heights
    for name, at_readings in READING_COLUMNS.items():
        if name in channels:
            columns[at_readings] = _at_readings(np.asarray(channels[name].values), channels[name].own)
    if "airspeed_m_s" in channels and np.count_nonzero(channels["airspeed_m_s"].own) > 1:
        flown = channels["airspeed_m_s"].own
        columns |= _energy_columns(columns, time_s[flown], frame["airspeed_m_s"].to_numpy(dtype=float)[flown], tuning)
    if "power_w" not in columns and "voltage_v" in columns and "current_a" in columns:
        columns["power_w"] = np.asarray(columns["voltage_v"]) * np.asarray(columns["current_a"])
    return log.then("conditioned", pd.DataFrame(columns, copy=False), [*lost, *notices])


class _Mended(NamedTuple):
    """A channel at every stamp, at which of them it has a true reading, and notices."""

    values: Array | pd.Series
    own: Mask
    notices: list[Notice]


def _mended(frame: pd.DataFrame, column: str, tuning: ConditioningTuning) -> _Mended:
    """Bring one channel onto the timeline, what is no true reading set aside."""
    channel = channel_of(column)
    if channel.kind == "label":
        return _Mended(hold_label(frame[column]), frame[column].notna().to_numpy(), [])
    own, notices = true_readings(frame, channel, tuning)
    time_s, values = frame["time_s"].to_numpy(dtype=float), frame[column].to_numpy(dtype=float)
    if column == "longitude_deg":
        values = _beyond_180(values, own)
    if column == "altitude_m":
        values, joined = _on_one_level(time_s, values, own, tuning)
        notices = [*notices, *joined]
    return _Mended(bridge(time_s, values, own, channel.kind, tuning), own, notices)


def _height_columns(time_s: Array, altitude: _Mended, tuning: ConditioningTuning) -> Columns:
    """Height above the launch point: between readings, at them, and smoothed."""
    rows = slice(None) if altitude.own.all() else altitude.own
    own_times, as_logged = time_s[rows], np.asarray(altitude.values)
    above_launch = as_logged - launch_level(own_times, as_logged[rows], tuning)
    smoothed = smoothed_height(time_s, own_times, above_launch[rows], tuning)
    return {
        "altitude_m": above_launch,
        "altitude_reading_m": _at_readings(above_launch, altitude.own),
        **smoothed._asdict(),
    }


def _energy_columns(columns: Columns, flown_s: Array, airspeed_m_s: Array, tuning: ConditioningTuning) -> Columns:
    """Energy height and its rate, from the height's and the pitot's true readings."""
    time_s, reading_m = np.asarray(columns["time_s"]), np.asarray(columns["altitude_reading_m"])
    own = np.isfinite(reading_m)
    own_times = time_s[own]
    energy_m = reading_m[own] + np.square(np.interp(own_times, flown_s, airspeed_m_s)) / (2 * STANDARD_GRAVITY_M_S2)
    energy = smoothed_height(time_s, own_times, energy_m, tuning)
    return {
        "energy_height_m": energy.height_m,
        "energy_climb_m_s": energy.climb_m_s,
        "energy_climb_se_m_s": energy.climb_se_m_s,
    }


def _on_one_level(
    time_s: Array, altitude_m: Array, own: Mask, tuning: ConditioningTuning
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


def _beyond_180(longitude_deg: Array, own: Mask) -> Array:
    """Longitudes without a seam: those across the 180th meridian go on beyond 180 degrees, as the flight does."""
    there = longitude_deg[own]
    if not there.size or np.ptp(there) <= 180.0:
        return longitude_deg
    farthest = there[np.argmax(np.abs(there))]  # the first may be the 0 of a receiver without a fix
    return np.asarray(longitude_deg - 360.0 * np.round((longitude_deg - farthest) / 360.0))


def _at_readings(values: Array, own: Mask) -> Array:
    """A channel at its sensor's own readings, NaN at other rows; the channel itself, not a copy, where all rows are."""
    return values if own.all() else np.where(own, values, np.nan)
