"""What each motor run cost and gave."""

from __future__ import annotations

from bisect import bisect_right
from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

import numpy as np

from analyzer.constants import STANDARD_GRAVITY_M_S2
from analyzer.measures.integrals import SECONDS_PER_HOUR
from analyzer.measures.peaks import steadied
from analyzer.measures.zooms import zoom_after
from analyzer.records import MotorRun

if TYPE_CHECKING:
    from analyzer.measures.draw import CounterDraw, Draw, Draws
    from analyzer.measures.heights import Heights
    from analyzer.measures.traces import Traces
    from analyzer.measures.tuning import MeasureTuning
    from analyzer.records import Segment, Segmentation


PEAK_S: Final = 0.3
"""Where three readings fit into this time, one reading alone may be noise; of a slower channel it is all there is."""


@dataclass(frozen=True, slots=True)
class Measured:
    """A value with its standard error, either of them perhaps unknown."""

    value: float | None = None
    se: float | None = None

    def over(self, other: Measured) -> Measured:
        """Quotient; the relative variances of independent numerator and denominator add up."""
        if self.value is None or other.value is None or other.value <= 0.0:
            return Measured()
        quotient = self.value / other.value
        if self.se is None or other.se is None:
            return Measured(quotient)
        return Measured(quotient, float(np.hypot(self.se, quotient * other.se) / other.value))

    def times(self, factor: float) -> Measured:
        """Multiple by an exact factor."""
        if self.value is None:
            return Measured()
        return Measured(self.value * factor, None if self.se is None else self.se * abs(factor))


def measure_motor_runs(
    heights: Heights,
    segmentation: Segmentation,
    draws: Draws,
    mass_kg: float | None,
    tuning: MeasureTuning,
) -> tuple[MotorRun, ...]:
    """Measure every motor run of a segmentation, in order.

    Parameters
    ----------
    heights : Heights
        The log's heights.
    segmentation : Segmentation
        Its segments.
    draws : Draws
        Its current and power.
    mass_kg : float or None
        The model's mass, for the climb efficiency m g h / E.
    tuning : MeasureTuning
        Tuning values.
    """
    return tuple(
        _run(heights, segmentation, index, draws, mass_kg, tuning)
        for index, segment in enumerate(segmentation.segments)
        if segment.kind == "motor_run"
    )


def is_airborne(run: Segment, segmentation: Segmentation) -> bool:
    """Whether any of a motor run falls into a flight."""
    flights = segmentation.flights
    following = bisect_right(flights, run.start_s, key=lambda flight: flight.end_s)
    return following < len(flights) and flights[following].start_s < run.end_s


def _run(
    heights: Heights,
    segmentation: Segmentation,
    index: int,
    draws: Draws,
    mass_kg: float | None,
    tuning: MeasureTuning,
) -> MotorRun:
    run, traces = segmentation.segments[index], heights.traces
    current = draws.current
    charge, share = _drawn(current, run)
    energy, _ = _drawn(draws.power, run)
    climb = _climb(heights, segmentation, index, charge, energy, mass_kg, tuning)
    span, per_hour = (run.start_s, run.end_s), SECONDS_PER_HOUR / run.duration_s
    highest = _extreme(traces, "current_a", run, highest=True)
    return MotorRun(
        start_s=run.start_s,
        end_s=run.end_s,
        height_gain_m=climb.gain.value,
        height_gain_m_se=climb.gain.se,
        zoom_gain_m=climb.zoom.value,
        zoom_gain_m_se=climb.zoom.se,
        climb_rate_m_s=climb.rate.value,
        climb_rate_m_s_se=climb.rate.se,
        energy_wh=energy.value,
        energy_wh_se=energy.se,
        charge_ah=charge.value,
        charge_ah_se=charge.se,
        climb_per_ah_m=climb.per_ah.value,
        climb_per_ah_m_se=climb.per_ah.se,
        climb_per_wh_m=climb.per_wh.value,
        climb_per_wh_m_se=climb.per_wh.se,
        mean_power_w=energy.times(per_hour).value,
        max_current_a=highest - current.idle_level(run) if highest is not None and current is not None else None,
        mean_current_a=charge.times(per_hour).value,
        min_voltage_v=_extreme(traces, "voltage_v", run, highest=False),
        mean_rpm=traces.mean("rpm", *span),
        climb_efficiency=climb.efficiency.value,
        climb_efficiency_se=climb.efficiency.se,
        mean_throttle=traces.mean("throttle", *span),
        mean_voltage_v=traces.mean("voltage_v", *span),
        interpolated_charge_share=share,
        blip=index in segmentation.blips,
        on_ground=not is_airborne(run, segmentation),
    )


def _drawn(draw: Draw | CounterDraw | None, run: Segment) -> tuple[Measured, float | None]:
    if draw is None:
        return Measured(), None
    drawn = draw.of_run(run)
    return (Measured(drawn.value, drawn.se), drawn.interpolated_share) if drawn is not None else (Measured(), 1.0)


@dataclass(frozen=True, slots=True)
class _Climb:
    """What a run gave: height, and height over what it cost; on the ground nothing but the height."""

    gain: Measured
    zoom: Measured = Measured()
    rate: Measured = Measured()
    per_ah: Measured = Measured()
    per_wh: Measured = Measured()
    efficiency: Measured = Measured()


def _climb(
    heights: Heights,
    segmentation: Segmentation,
    index: int,
    charge: Measured,
    energy: Measured,
    mass_kg: float | None,
    tuning: MeasureTuning,
) -> _Climb:
    run = segmentation.segments[index]
    rise = heights.gain(run.start_s, run.end_s)
    gain = Measured(rise.value_m, rise.se_m)
    if not is_airborne(run, segmentation):
        return _Climb(gain)
    per_wh = gain.over(energy)
    efficiency = per_wh.times(mass_kg * STANDARD_GRAVITY_M_S2 / SECONDS_PER_HOUR) if mass_kg else Measured()
    return _Climb(
        gain=gain,
        zoom=_zoom(heights, segmentation, index, tuning),
        rate=gain.times(1.0 / run.duration_s),
        per_ah=gain.over(charge),
        per_wh=per_wh,
        efficiency=efficiency,
    )


def _zoom(heights: Heights, segmentation: Segmentation, index: int, tuning: MeasureTuning) -> Measured:
    """Height gained from speed after a run; unknown where no glide follows."""
    run, following = segmentation.segments[index], segmentation.segments[index + 1 : index + 2]
    if not following or following[0].kind != "glide":
        return Measured()
    until = min(following[0].end_s, run.end_s + tuning.longest_zoom_s)
    zoom = zoom_after(heights, run.end_s, until, tuning)
    return Measured(zoom.gain_m, zoom.gain_se_m)


def _extreme(traces: Traces, name: str, run: Segment, highest: bool) -> float | None:
    """Highest or lowest value in a run: of a fast channel, what two neighbouring readings share."""
    known = traces.readings(name, run.start_s, run.end_s)
    if not known.size:
        return None
    steady = steadied(known) if known.size * PEAK_S > 3.0 * run.duration_s else known
    return float(steady.max() if highest else steady.min())
