"""What really happened: segments and figures from the noise-free trace.

A thermal climb is found from total energy in true air, smoothed over one circle, not from what
the pilot meant to do: a thermal that gave less than it took is a glide, a patch of lift that
lasted is a climb.
"""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from simulator.air import GRAVITY_M_S2, wind_factor
from simulator.flight import STEP_S
from simulator.scenario import Weather

SHORTEST_CLIMB_S = 20.0
LEAST_GAIN_M = 10.0
SLIVER_S = 1.0
LEAST_ZOOM_M = 3.0
STRAIGHT_WINDOW_S = 9.0
WIDEST_WINDOW_S = 25.0
RIPPLE_M = 0.5

Array = NDArray[np.float64]


@dataclass(frozen=True)
class TrueSegment:
    """One segment; times count from the log's first sample, heights are true."""

    kind: str
    start_s: float
    end_s: float
    start_altitude_m: float
    end_altitude_m: float


@dataclass(frozen=True)
class TrueMotorRun:
    """One motor run. `charge_ah` and `energy_wh` are the motor's, at the pack's terminals."""

    start_s: float
    end_s: float
    airborne: bool
    height_gain_m: float
    energy_gain_m: float
    zoom_gain_m: float
    charge_ah: float
    energy_wh: float
    max_current_a: float
    min_voltage_v: float
    climb_per_ah_m: float
    climb_per_wh_m: float


@dataclass(frozen=True)
class TrueGlide:
    """One glide: mean loss of height and of total energy after the zoom, and in still air."""

    start_s: float
    end_s: float
    settled_s: float
    height_loss_m: float
    sink_rate_m_s: float
    energy_sink_rate_m_s: float
    still_air_sink_m_s: float


@dataclass(frozen=True)
class TrueThermal:
    """One thermal climb, with the wind at its mean height; no period where the model hardly circled."""

    start_s: float
    end_s: float
    height_gain_m: float
    energy_gain_m: float
    climb_rate_m_s: float
    circle_period_s: float | None
    wind_m_s: float
    wind_from_deg: float


@dataclass(frozen=True)
class TrueTotals:
    """The whole log; charge and energy with the avionics' share."""

    flight_time_s: float
    motor_time_s: float
    energy_wh: float
    charge_ah: float
    max_altitude_m: float
    motor_gain_m: float
    thermal_gain_m: float


@dataclass(frozen=True)
class Truth:
    """Everything that is known about a simulated flight."""

    duration_s: float
    flights: tuple[tuple[float, float], ...]
    segments: tuple[TrueSegment, ...]
    motor_runs: tuple[TrueMotorRun, ...]
    glides: tuple[TrueGlide, ...]
    thermal_climbs: tuple[TrueThermal, ...]
    totals: TrueTotals
    zooms: tuple[tuple[float, float], ...]


def runs_of(mask: NDArray[np.bool_]) -> list[tuple[int, int]]:
    """First index and one past the last of every stretch of True."""
    edges = np.flatnonzero(np.diff(np.concatenate(([False], mask, [False])).astype(int)))
    return [(int(a), int(b)) for a, b in zip(edges[::2], edges[1::2], strict=True)]


def derive_truth(trace: pd.DataFrame, weather: Weather, tell_apart_s: float) -> Truth:
    """Segments and figures of a trace.

    `tell_apart_s` is the pause below which two motor runs are one to the sensors.
    """
    motor = close_pauses(trace["motor_a"].to_numpy() > 0.0, tell_apart_s)
    airborne = trace["airborne"].to_numpy(bool)
    energy = energy_height(trace)
    period = circle_period(trace)
    kinds = np.where(airborne, "glide", "ground").astype(object)
    kinds[motor] = "motor_run"
    climbs: list[tuple[int, int]] = []
    for first, last in runs_of(airborne & ~motor):
        climbs += sustained_rises(energy[first:last], period[first:last], first)
    for first, last in climbs:
        kinds[first:last] = "thermal_climb"
    segments = _segments(trace, kinds)
    runs = tuple(_motor_run(trace, energy, a, b) for a, b in runs_of(motor))
    return Truth(
        duration_s=float(trace["time_s"].iloc[-1]),
        flights=_flights(trace, airborne),
        segments=segments,
        motor_runs=runs,
        glides=tuple(_glide(trace, energy, kinds, s) for s in segments if s.kind == "glide"),
        thermal_climbs=tuple(_thermal(trace, period, weather, a, b) for a, b in climbs),
        totals=_totals(trace, segments, runs, airborne, motor),
        zooms=_zooms(trace, airborne, motor, kinds),
    )


def _flights(trace: pd.DataFrame, airborne: NDArray[np.bool_]) -> tuple[tuple[float, float], ...]:
    """From release to standstill, the roll-out included."""
    rolling = (trace["airspeed_m_s"].to_numpy() > 0.0) & ~airborne
    last = len(trace) - 1
    return tuple((a * STEP_S, min(b, last) * STEP_S) for a, b in runs_of(airborne | rolling))


def energy_height(trace: pd.DataFrame) -> Array:
    """Height plus V^2/2g in metres."""
    return np.asarray(trace["altitude_m"] + trace["airspeed_m_s"] ** 2 / (2 * GRAVITY_M_S2), dtype=float)


def close_pauses(mask: NDArray[np.bool_], shortest_s: float) -> NDArray[np.bool_]:
    """Fill pauses inside a mask that are shorter than `shortest_s`."""
    closed = mask.copy()
    for first, last in runs_of(~mask):
        if first > 0 and last < len(mask) and (last - first) * STEP_S < shortest_s:
            closed[first:last] = True
    return closed


def circle_period(trace: pd.DataFrame) -> Array:
    """Time of one circle in seconds at every step; NaN where the model is not circling."""
    rate = np.gradient(np.unwrap(trace["heading_rad"].to_numpy()), STEP_S)
    width = int(12.0 / STEP_S)
    mean = np.convolve(np.pad(rate, width // 2, mode="edge"), np.ones(width) / width, "same")
    mean = np.abs(mean[width // 2 : width // 2 + len(rate)])
    with np.errstate(divide="ignore"):
        period = 2 * np.pi / mean
    return np.where(period < WIDEST_WINDOW_S, period, np.nan)


def smooth_over_circle(series: Array, period: Array) -> Array:
    """Moving mean over one circle (or `STRAIGHT_WINDOW_S`), continued in line at both ends."""
    window = pd.Series(np.nan_to_num(period, nan=STRAIGHT_WINDOW_S))
    window = window.rolling(int(6 / STEP_S), center=True, min_periods=1).mean()
    half = np.maximum((window.to_numpy() / STEP_S / 2).astype(int), 1)
    count = len(series)
    pad = int(half.max()) + 1
    if count <= pad + 1:
        return series
    before = 2 * series[0] - series[pad:0:-1]
    after = 2 * series[-1] - series[-2 : -pad - 2 : -1]
    total = np.concatenate(([0.0], np.cumsum(np.concatenate((before, series, after)))))
    middle = np.arange(count) + pad
    return (total[middle + half + 1] - total[middle - half]) / (2 * half + 1)


def sustained_rises(energy: Array, period: Array, offset: int) -> list[tuple[int, int]]:
    """Thermal climbs of one stretch with the motor off: index ranges in the whole trace.

    Rises of the smoothed energy, joined over dips that last less than one circle and give back
    less than half of what was won, each from its lowest to its highest energy within half a circle of the smoothed
    one's: smoothing moves a kink to its flatter side. At least 20 s and 10 m each.
    """
    if len(energy) * STEP_S < SHORTEST_CLIMB_S:
        return []
    smooth = smooth_over_circle(energy, period)
    found = []
    local_s = np.nan_to_num(period, nan=STRAIGHT_WINDOW_S)
    for bottom, top in joined_rises(smooth, local_s):
        first, last = _extreme(energy, bottom, local_s, -1.0), _extreme(energy, top, local_s, 1.0)
        gain = energy[last] - energy[first]
        if (last - first) * STEP_S >= SHORTEST_CLIMB_S and gain >= LEAST_GAIN_M:
            first = 0 if first * STEP_S < SLIVER_S else first
            last = len(smooth) if (len(smooth) - last) * STEP_S < SLIVER_S else last
            found.append((first + offset, last + offset))
    return found


def _extreme(energy: Array, near: int, local_s: Array, sign: float) -> int:
    """Where the energy is highest (`sign` 1) or lowest (-1) within half a circle of an index; an end stays one."""
    last = len(energy) - 1
    if near in (0, last):
        return near
    half = int(0.5 * local_s[near] / STEP_S)
    begin = max(near - half, 0)
    return begin + int(np.argmax(sign * energy[begin : near + half + 1]))


def joined_rises(smooth: Array, local_s: Array) -> list[tuple[int, int]]:
    """Rises, the smallest turn taken out first: a ripple in a dip neither parts nor makes a climb."""
    rising = runs_of(np.gradient(smooth) > 0.0)
    turns = [min(index, len(smooth) - 1) for rise in rising for index in rise]
    settled: set[int] = set()
    while waiting := [i for i in range(1, len(turns) - 2) if turns[i] not in settled]:
        height = np.abs(np.diff(smooth[turns])).tolist()
        least = min(waiting, key=height.__getitem__)
        beside = min(height[least - 1], height[least + 1])
        if least % 2 == 0:
            gone = height[least] < min(beside, LEAST_GAIN_M)
        else:
            top, bottom = turns[least], turns[least + 1]
            brief = (bottom - top) * STEP_S < local_s[top:bottom].mean()
            gone = brief and height[least] < max(0.5 * beside, min(beside, RIPPLE_M))
        if gone:
            settled.difference_update(turns[max(least - 2, 0) : least + 3])
            del turns[least : least + 2]
        else:
            settled.add(turns[least])
    return list(zip(turns[::2], turns[1::2], strict=True))


def _segments(trace: pd.DataFrame, kinds: NDArray[np.object_]) -> tuple[TrueSegment, ...]:
    height = trace["altitude_m"].to_numpy()
    edges = np.flatnonzero(kinds[1:] != kinds[:-1]) + 1
    bounds = [0, *edges.tolist(), len(kinds) - 1]
    return tuple(
        TrueSegment(str(kinds[a]), a * STEP_S, b * STEP_S, float(height[a]), float(height[b]))
        for a, b in pairwise(bounds)
        if b > a
    )


def _zoom_end(trace: pd.DataFrame, first: int, limit_s: float = 12.0) -> int:
    """Index at which a zoom from an index on ends: at the lowest speed up to the first summit within `limit_s`.

    What still rises then rises in lift.
    """
    stop = min(first + int(limit_s / STEP_S), len(trace))
    height = trace["altitude_m"].to_numpy()[first:stop]
    falling = np.flatnonzero(np.diff(height) < 0.0)
    summit = int(falling[0]) if falling.size else len(height) - 1
    return first + int(np.argmin(trace["airspeed_m_s"].to_numpy()[first : first + summit + 1]))


def _motor_run(trace: pd.DataFrame, energy: Array, first: int, last: int) -> TrueMotorRun:
    height = trace["altitude_m"].to_numpy()
    current = trace["motor_a"].to_numpy()[first:last]
    voltage = trace["voltage_v"].to_numpy()[first:last]
    end = min(last, len(height) - 1)
    gain = float(height[end] - height[first])
    charge = float(current.sum() * STEP_S / 3600.0)
    work = float((current * voltage).sum() * STEP_S / 3600.0)
    return TrueMotorRun(
        start_s=first * STEP_S,
        end_s=end * STEP_S,
        airborne=bool(trace["airborne"].to_numpy(bool)[end]),
        height_gain_m=gain,
        energy_gain_m=float(energy[end] - energy[first]),
        zoom_gain_m=float(height[_zoom_end(trace, end)] - height[end]),
        charge_ah=charge,
        energy_wh=work,
        max_current_a=float(current.max()),
        min_voltage_v=float(voltage.min()),
        climb_per_ah_m=gain / charge,
        climb_per_wh_m=gain / work,
    )


def _glide(trace: pd.DataFrame, energy: Array, kinds: NDArray[np.object_], segment: TrueSegment) -> TrueGlide:
    height = trace["altitude_m"].to_numpy()
    first, last = round(segment.start_s / STEP_S), round(segment.end_s / STEP_S)
    settled = first
    if first > 0 and kinds[first - 1] == "motor_run":
        settled = min(_zoom_end(trace, first), last - 1)
    duration = max((last - settled) * STEP_S, STEP_S)
    return TrueGlide(
        start_s=segment.start_s,
        end_s=segment.end_s,
        settled_s=settled * STEP_S,
        height_loss_m=float(height[first] - height[last]),
        sink_rate_m_s=float(height[settled] - height[last]) / duration,
        energy_sink_rate_m_s=float(energy[settled] - energy[last]) / duration,
        still_air_sink_m_s=float(trace["still_air_sink_m_s"].to_numpy()[settled:last].mean()),
    )


def _thermal(trace: pd.DataFrame, period: Array, weather: Weather, first: int, last: int) -> TrueThermal:
    height = trace["altitude_m"].to_numpy()
    energy = energy_height(trace)
    circling = period[first:last][np.isfinite(period[first:last])]
    last = min(last, len(height) - 1)
    gain = float(height[last] - height[first])
    mostly = len(circling) > 0.5 * (last - first)
    return TrueThermal(
        start_s=first * STEP_S,
        end_s=last * STEP_S,
        height_gain_m=gain,
        energy_gain_m=float(energy[last] - energy[first]),
        climb_rate_m_s=gain / ((last - first) * STEP_S),
        circle_period_s=float(np.median(circling)) if mostly else None,
        wind_m_s=weather.wind_m_s * wind_factor(float(height[first:last].mean())),
        wind_from_deg=weather.wind_from_deg,
    )


def _totals(
    trace: pd.DataFrame,
    segments: tuple[TrueSegment, ...],
    runs: tuple[TrueMotorRun, ...],
    airborne: NDArray[np.bool_],
    motor: NDArray[np.bool_],
) -> TrueTotals:
    current = trace["motor_a"].to_numpy() + trace["avionics_a"].to_numpy()
    power = current * trace["voltage_v"].to_numpy()
    return TrueTotals(
        flight_time_s=float(airborne.sum() * STEP_S),
        motor_time_s=float(motor.sum() * STEP_S),
        energy_wh=float(power.sum() * STEP_S / 3600.0),
        charge_ah=float(current.sum() * STEP_S / 3600.0),
        max_altitude_m=float(trace["altitude_m"].max()),
        motor_gain_m=sum(run.height_gain_m for run in runs),
        thermal_gain_m=sum(s.end_altitude_m - s.start_altitude_m for s in segments if s.kind == "thermal_climb"),
    )


def _zooms(
    trace: pd.DataFrame,
    airborne: NDArray[np.bool_],
    motor: NDArray[np.bool_],
    kinds: NDArray[np.object_],
) -> tuple[tuple[float, float], ...]:
    """Stretches of a glide in which height rose by 3 m or more, most of it from speed and not from the air."""
    height, energy = trace["altitude_m"].to_numpy(), energy_height(trace)
    rising = (np.gradient(height) > 0) & airborne & ~motor & (kinds == "glide")
    found = []
    for first, end in runs_of(rising):
        gain = height[end - 1] - height[first]
        if gain >= LEAST_ZOOM_M and energy[end - 1] - energy[first] < 0.5 * gain:
            found.append((first * STEP_S, end * STEP_S))
    return tuple(found)
