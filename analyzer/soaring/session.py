"""Thermals over a session or a whole logbook: by height, by time of day, and what the lift paid for."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from itertools import pairwise
from typing import TYPE_CHECKING, Final

import numpy as np

from analyzer.records import ThermalClimb
from analyzer.soaring.polar_comparison import compare_all
from analyzer.soaring.records import PolarComparison

if TYPE_CHECKING:
    from collections.abc import Sequence

    from analyzer.records import FlightSummary
    from analyzer.soaring.records import SoaringReport

SESSION_SCHEMA: Final = "climbledger/thermals-session/1"
HEIGHT_BANDS_M: Final = (10.0, 25.0, 50.0, 100.0, 200.0, 500.0, 1000.0)
MOST_BANDS: Final = 12
"""More rows than this are no longer read at a glance."""


@dataclass(frozen=True, slots=True)
class SessionClimb:
    """One climb of a session, and where it comes from."""

    log: str
    began_at: str | None
    """Wall-clock time at which the climb began, ISO 8601, in the zone of the log."""
    climb: ThermalClimb


@dataclass(frozen=True, slots=True)
class HeightBand:
    """All climbing within one band of height above the launch point."""

    low_m: float
    high_m: float
    climbs: int
    time_s: float
    gain_m: float
    climb_rate_m_s: float


@dataclass(frozen=True, slots=True)
class HourOfDay:
    """All climbs that began within one hour of the day."""

    hour: int
    climbs: int
    time_s: float
    gain_m: float
    climb_rate_m_s: float


@dataclass(frozen=True, slots=True)
class Session:
    """Thermals of several logs."""

    logs: int
    climbs: tuple[SessionClimb, ...]
    by_height: tuple[HeightBand, ...]
    by_hour: tuple[HourOfDay, ...]
    flight_time_s: float
    climb_time_s: float
    thermal_gain_m: float
    motor_gain_m: float | None
    lift_share: float | None
    polar_differences: tuple[PolarComparison, ...]
    motor_unknown_logs: int = 0
    """Logs of which nothing tells a climb under power from one in lift: the motor may be part of their climbs."""
    schema: str = SESSION_SCHEMA


def session_of(summaries: Sequence[FlightSummary], reports: Sequence[SoaringReport] = ()) -> Session:
    """Gather the thermal climbs of several logs.

    Parameters
    ----------
    summaries : sequence of FlightSummary
        As analysed, or as kept in a logbook.
    reports : sequence of SoaringReport
        Of some of these logs: their polars are compared, each log's longest flown.

    Returns
    -------
    Session
        `lift_share` is thermal gain over thermal and motor gain of the logs that know both; None where none does.
    """
    climbs = tuple(
        SessionClimb(summary.log.name, _began_at(summary.log.started_at, climb.start_s), climb)
        for summary in summaries
        for climb in summary.thermal_climbs
    )
    measured = [item for item in climbs if None not in (item.climb.height_gain_m, item.climb.entry_altitude_m)]
    told = [summary.totals for summary in summaries if not summary.motor_unknown]
    known = [totals for totals in told if totals.thermal_gain_m is not None and totals.motor_gain_m is not None]
    lifted, motored = (sum(getattr(t, name) for t in known) for name in ("thermal_gain_m", "motor_gain_m"))
    return Session(
        logs=len(summaries),
        climbs=climbs,
        by_height=_by_height([item.climb for item in measured]),
        by_hour=_by_hour(measured),
        flight_time_s=sum(summary.totals.flight_time_s for summary in summaries),
        climb_time_s=sum(item.climb.end_s - item.climb.start_s for item in climbs),
        thermal_gain_m=sum(item.climb.height_gain_m or 0.0 for item in measured),
        motor_gain_m=motored if known else None,
        lift_share=lifted / (lifted + motored) if known and lifted + motored > 0.0 else None,
        polar_differences=compare_all({r.name: r.glide.polars[0] for r in reports if r.glide.polars}),
        motor_unknown_logs=len(summaries) - len(told),
    )


def _began_at(started_at: str | None, start_s: float) -> str | None:
    if started_at is None:
        return None
    start = datetime.fromisoformat(started_at)
    return datetime.fromtimestamp(start.timestamp() + start_s, tz=start.tzinfo).isoformat(timespec="seconds")


def _by_height(climbs: Sequence[ThermalClimb]) -> tuple[HeightBand, ...]:
    """Share each climb's time and gain out over the bands that it crossed, as if it climbed evenly."""
    spans = np.array([sorted((_entry(c), _entry(c) + (c.height_gain_m or 0.0))) for c in climbs]).reshape(-1, 2)
    if spans.size == 0:
        return ()
    times = np.array([climb.duration_s for climb in climbs])
    low, high = float(spans[:, 0].min()), float(spans[:, 1].max())
    step = next((band for band in HEIGHT_BANDS_M if (high - low) / band <= MOST_BANDS), HEIGHT_BANDS_M[-1])
    edges = np.arange(np.floor(low / step), np.ceil(high / step) + 1.0) * step
    found = []
    for bottom, top in pairwise(edges.tolist()):
        within = np.clip(np.minimum(spans[:, 1], top) - np.maximum(spans[:, 0], bottom), 0.0, None)
        share = within / np.maximum(spans[:, 1] - spans[:, 0], 1e-9)
        time_s, gain_m = float(share @ times), float(within.sum())
        if time_s > 0.0:
            crossed = int(np.count_nonzero(within > 0.0))
            found.append(HeightBand(bottom, top, crossed, time_s, gain_m, gain_m / time_s))
    return tuple(found)


def _entry(climb: ThermalClimb) -> float:
    return climb.entry_altitude_m or 0.0


def _by_hour(climbs: Sequence[SessionClimb]) -> tuple[HourOfDay, ...]:
    timed = [(datetime.fromisoformat(item.began_at).hour, item.climb) for item in climbs if item.began_at is not None]
    found = []
    for hour in sorted({hour for hour, _ in timed}):
        own = [climb for when, climb in timed if when == hour]
        time_s = sum(climb.duration_s for climb in own)
        gain_m = sum(climb.height_gain_m or 0.0 for climb in own)
        found.append(HourOfDay(hour, len(own), time_s, gain_m, gain_m / time_s if time_s > 0.0 else 0.0))
    return tuple(found)
