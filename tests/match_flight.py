"""A hand-made conditioned log with climbs of known figures, and its summary: what the match stage is handed."""

from __future__ import annotations

import numpy as np
import pandas as pd

from analyzer.records import (
    Flight,
    FlightSummary,
    Log,
    LogFacts,
    MotorRun,
    PowerSystemMeasures,
    Segment,
    Totals,
)

RATE_HZ = 10.0
CLIMB_S = 24.0
CYCLE_S = 100.0
FIRST_S = 20.0
IDLE_A = 0.3


def climb_starts(count: int) -> list[float]:
    return [FIRST_S + CYCLE_S * number for number in range(count)]


def climbing_log(
    count: int = 3,
    *,
    current_a: float = 30.0,
    loaded_v: float = 11.0,
    rest_v: float = 12.0,
    rpm: float = 9000.0,
    climb_m_s: float = 6.0,
    throttle: float | None = None,
    spool_s: float = 1.0,
    climb_s: float = CLIMB_S,
) -> Log:
    """Climbs that spool up over `spool_s` and then hold everything; sinking at 0.5 m/s between them."""
    time_s = np.arange(0.0, FIRST_S + CYCLE_S * count + 1.0 / RATE_HZ, 1.0 / RATE_HZ)
    share = np.zeros(time_s.size)
    for start in climb_starts(count):
        inside = (time_s >= start) & (time_s < start + climb_s)
        share[inside] = np.clip((time_s[inside] - start) / spool_s, 0.0, 1.0)
    frame = pd.DataFrame(
        {
            "time_s": time_s,
            "current_a": IDLE_A + current_a * share,
            "voltage_v": rest_v + (loaded_v - rest_v) * share,
            "rpm": rpm * share,
            "height_m": np.cumsum(np.where(share > 0.5, climb_m_s, -0.5)) / RATE_HZ,
            "height_se_m": 0.1,
            "climb_m_s": np.where(share > 0.5, climb_m_s, -0.5),
        }
    )
    if throttle is not None:
        frame["throttle"] = np.where(share > 0.0, throttle, 0.0)
    return Log("climbs.csv", "ab" * 32, frame)


def summary_of(log: Log, count: int = 3, climb_s: float = CLIMB_S) -> FlightSummary:
    """The summary of such a log, as far as the match needs it."""
    end_s = float(log.frame["time_s"].iloc[-1])
    segments, at = [], 0.0
    for start in climb_starts(count):
        segments += [
            Segment("glide" if at else "ground", at, start, 0.0, 0.0),
            Segment("motor_run", start, start + climb_s, 0.0, 0.0),
        ]
        at = start + climb_s
    segments.append(Segment("glide", at, end_s, 0.0, 0.0))
    blank = dict.fromkeys(list(MotorRun.__dataclass_fields__)[2:23])
    runs = tuple(MotorRun(start, start + climb_s, **blank) for start in climb_starts(count))
    return FlightSummary(
        log=LogFacts(log.name, log.sha256, len(log.frame), end_s, RATE_HZ, tuple(log.frame.columns), ()),
        flights=(Flight(FIRST_S, end_s),),
        segments=tuple(segments),
        motor_runs=runs,
        glides=(),
        thermal_climbs=(),
        totals=Totals(end_s, count * climb_s, None, None, None, None, None, None),
        power_system=PowerSystemMeasures(None, None, None, None),
    )
