"""Sums over the whole log."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

import numpy as np

from analyzer.measures.draw import CounterDraw
from analyzer.measures.integrals import SECONDS_PER_HOUR, Signal, signal_of
from analyzer.records import MotorRun, ThermalClimb, Totals

if TYPE_CHECKING:
    from collections.abc import Iterable

    from analyzer.arrays import Array
    from analyzer.measures.draw import Draw, Draws
    from analyzer.measures.heights import Heights
    from analyzer.measures.traces import Traces
    from analyzer.measures.tuning import MeasureTuning
    from analyzer.records import Segmentation

_ANEW: Final = -0.5
"""A counter that falls by more of itself begins anew, with another pack."""


@dataclass(frozen=True, slots=True)
class IdleShare:
    """The reading with the motor off, told apart into consumption and offset, in amperes."""

    reading_a: float
    avionics_a: float

    @property
    def offset_a(self) -> float:
        """What the sensor reads too much."""
        return self.reading_a - self.avionics_a


def idle_share(current: Draw | CounterDraw | None, tuning: MeasureTuning) -> IdleShare | None:
    """Tell the avionics' consumption and the sensor's offset apart, as far as that can be done.

    The log shows only their sum. What is known beforehand of either (`usual_avionics_a` with its spread, an offset
    around zero with `usual_offset_a`) weighs the two; the avionics never return charge, nor draw more than
    `most_avionics_a`. A sensor that reads zero all the time the motor is off does not see the avionics: its zero is
    taken as it is.
    """
    if current is None:
        return None
    if isinstance(current, CounterDraw):
        return IdleShare(current.idle_a, current.idle_a)
    if current.idle is None:
        return None
    reading = current.idle.level
    if reading == 0.0:
        return IdleShare(0.0, 0.0)
    usual, spread, offset = tuning.usual_avionics_a, tuning.avionics_spread_a, tuning.usual_offset_a
    weight = spread**2 / (spread**2 + offset**2)
    return IdleShare(reading, float(np.clip(usual + weight * (reading - usual), 0.0, tuning.most_avionics_a)))


def total_up(
    heights: Heights,
    segmentation: Segmentation,
    runs: tuple[MotorRun, ...],
    climbs: tuple[ThermalClimb, ...],
    draws: Draws,
    tuning: MeasureTuning,
) -> Totals:
    """Sum up a log.

    Charge and energy are those of the whole log with the avionics' share, the sensor's offset taken out, without the
    long silences of their sensors. Motor gain counts the runs in the air, thermal gain all thermal climbs; the share of
    lift is the second over both; None where nothing logged tells a climb under power from one in lift.
    """
    motor_told = bool(runs) or all(notice.code != "motor-unknown" for notice in segmentation.notices)
    motor_gain = _sum(run.height_gain_m for run in runs if not run.on_ground)
    thermal_gain = _sum(climb.height_gain_m for climb in climbs)
    raised = motor_gain + thermal_gain
    height, share = heights.traces.channels["height_m"], idle_share(draws.current, tuning)
    return Totals(
        flight_time_s=math.fsum(flight.duration_s for flight in segmentation.flights),
        motor_time_s=math.fsum(run.duration_s for run in runs),
        energy_wh=_energy_wh(heights.traces, draws.power, share, tuning),
        charge_ah=_charge_ah(heights.traces, draws.current, share, tuning),
        max_altitude_m=float(np.nanmax(height)),
        motor_gain_m=motor_gain,
        thermal_gain_m=thermal_gain,
        lift_share=thermal_gain / raised if raised > 0.0 and motor_told else None,
    )


def _sum(values: Iterable[float | None]) -> float:
    return math.fsum(value for value in values if value is not None)


def silent_s(traces: Traces, current: Draw | CounterDraw | None, tuning: MeasureTuning) -> float:
    """For how long the current is silent in silences that the totals leave out, in seconds."""
    if current is None:
        return 0.0
    if isinstance(current, CounterDraw):  # it counts on in silences, but for those at its ends
        stamps = current.counter.time_s
        ends = (float(stamps[0] - traces.time_s[0]), float(traces.time_s[-1] - stamps[-1]))
        return math.fsum(end for end in ends if end > tuning.longest_silence_s)
    heard = _heard(current.signal, traces, tuning)
    return float(traces.time_s[-1] - traces.time_s[0] - np.diff(heard).sum())


def _heard(signal: Signal, traces: Traces, tuning: MeasureTuning) -> Array:
    return signal.heard(float(traces.time_s[0]), float(traces.time_s[-1]), tuning.longest_silence_s)


def _charge_ah(
    traces: Traces, current: Draw | CounterDraw | None, share: IdleShare | None, tuning: MeasureTuning
) -> float | None:
    if current is None:
        return None
    if isinstance(current, CounterDraw):
        before, counted = current.counter.values[:-1], np.diff(current.counter.values)
        return float(counted[counted >= _ANEW * before].sum())
    offset = share.offset_a if share is not None else 0.0
    heard = _heard(current.signal, traces, tuning)
    read = sum(current.signal.area(start, end) for start, end in heard)
    return float(read - offset * np.diff(heard).sum()) / SECONDS_PER_HOUR


def _energy_wh(traces: Traces, power: Draw | None, share: IdleShare | None, tuning: MeasureTuning) -> float | None:
    """Energy of the whole log; the offset's part of it is the offset times the mean voltage."""
    if power is None:
        return None
    voltage = traces.get("voltage_v")
    level = signal_of(traces.time_s, voltage) if voltage is not None else None
    offset = share.offset_a if share is not None and level is not None else 0.0
    heard = _heard(power.signal, traces, tuning)
    volt_seconds = sum(level.area(start, end) for start, end in heard) if level is not None else 0.0
    read = sum(power.signal.area(start, end) for start, end in heard)
    return (read - offset * volt_seconds) / SECONDS_PER_HOUR
