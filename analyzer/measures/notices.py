"""What the measures found out about the log itself, in sentences for the pilot."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

import numpy as np

from analyzer.measures.draw import Draw
from analyzer.measures.full_scale import full_scale
from analyzer.measures.limits import cells_contradict
from analyzer.power_system.pack import REST_CELL_V
from analyzer.records import Notice
from analyzer.wording import clock, counted

if TYPE_CHECKING:
    from collections.abc import Iterator

    from analyzer.measures.altimeter import Altimeter
    from analyzer.measures.draw import CounterDraw
    from analyzer.measures.totals import IdleShare
    from analyzer.measures.tuning import MeasureTuning
    from analyzer.records import Glide, MotorRun, ThermalClimb
    from analyzer.setup_file import Setup

_LATE_TOLD_S: Final = 0.4
"""Of logs whose motor channels come on time, none is taken for later than that."""


def altimeter_notice(altimeter: Altimeter, tuning: MeasureTuning) -> Iterator[Notice]:
    """Lag, wash and late channels that were taken out of the climbs, or that the log does not show them."""
    if altimeter.stops == 0:
        return
    lag = f"{altimeter.lag_s:.2f} s (standard error {altimeter.lag_se_s:.2f} s)"
    if altimeter.lag_se_s > np.hypot(0.8 * tuning.usual_lag_spread_s, tuning.manner_spread_s):
        yield Notice(
            "altimeter-lag-assumed", f"The motor stops do not show the altimeter's lag; {lag} is assumed and taken out."
        )
    else:
        yield Notice("altimeter-lag", f"The altimeter lags by about {lag}; this is taken out of the climbs.")
    if altimeter.late_drive_s >= _LATE_TOLD_S:
        yield Notice(
            "motor-channels-late",
            f"The motor's channels come about {altimeter.late_drive_s:.1f} s later than the altimeter: the heights at "
            "which the motor starts and stops are taken that much earlier, its times as logged.",
        )
    if abs(altimeter.wash_m) > 2.0 * altimeter.wash_se_m:
        direction = "high" if altimeter.wash_m > 0.0 else "low"
        yield Notice(
            "propeller-wash",
            f"Under full power the altimeter reads {abs(altimeter.wash_m):.1f} m too {direction} "
            f"(standard error {altimeter.wash_se_m:.1f} m); this is taken out of the climbs.",
        )


def idle_notice(share: IdleShare | None) -> Iterator[Notice]:
    """How the reading with the motor off was told apart."""
    if share is None or abs(share.reading_a) < 0.005:
        return
    offset = f"{share.offset_a:+.2f} A as the sensor's offset"
    yield Notice(
        "idle-current",
        f"With the motor off the current reads {share.reading_a:.2f} A: taken out of the motor runs. In the totals, "
        f"{share.avionics_a:.2f} A of it counts as the avionics' consumption, {offset} (a log shows only the sum).",
    )


def zero_notice(current: Draw | CounterDraw | None, tuning: MeasureTuning) -> Iterator[Notice]:
    """A sensor whose zero may hide a negative offset."""
    if isinstance(current, Draw) and current.runs and current.idle is not None and current.idle.reads_zero:
        yield Notice(
            "idle-reads-zero",
            "With the motor off the current reads exactly 0 A. A sensor that shows nothing below zero may read too low "
            f"under power, too: currents are uncertain by {tuning.usual_offset_a:.1f} A more, which is in the errors.",
        )


def full_scale_notice(current: Draw | CounterDraw | None) -> Iterator[Notice]:
    """A sensor that cannot read as much as the motor draws."""
    found = full_scale(current)
    if found is not None:
        most_a, share = found
        yield Notice(
            "current-at-full-scale",
            f"The current reads exactly {most_a:.1f} A, and never more, for {100.0 * share:.0f} % of the time under "
            "power: its sensor is at its end. More was drawn than is said, and no limit above that can be checked.",
        )


def gap_notices(runs: tuple[MotorRun, ...], least_share: float) -> Iterator[Notice]:
    """Motor runs of which a good part was interpolated."""
    for run in runs:
        share = run.interpolated_charge_share
        if share is not None and share >= least_share:
            lost = f"{share:.0%} of its charge fell into a gap and is interpolated."
            if run.charge_ah is None:
                lost = "no current was logged for nearly all of it; charge and energy are missing."
            yield Notice("gap-in-motor-run", f"Motor run at {clock(run.start_s)}: {lost}")


def circles_notice(climbs: tuple[ThermalClimb, ...]) -> Iterator[Notice]:
    """Thermal climbs of which the log shows no circles."""
    straight = [clock(climb.start_s) for climb in climbs if climb.circle_period_s is None]
    if straight:
        where = f"the thermal climb{'s' if len(straight) > 1 else ''} at {', '.join(straight)}"
        yield Notice("no-circles", f"The log shows no circles in {where}: their period and drift are missing.")


def typical_sink_notice(glides: tuple[Glide, ...]) -> Iterator[Notice]:
    """Glides that show no typical sink."""
    without = [glide.start_s for glide in glides if glide.typical_sink_m_s is None]
    if without:
        which = f"{counted(len(without), 'glide')}, the first at {clock(without[0])}"
        yield Notice("no-typical-sink", f"No typical sink of {which}: too short for it, or without heights.")


def silence_notice(silent_s: float, tuning: MeasureTuning) -> Iterator[Notice]:
    """Silences of the current's sensor that count nothing."""
    if silent_s > 0.0:
        yield Notice(
            "silence-not-counted",
            f"No current is logged for {silent_s / 60.0:.0f} min, in silences of more than "
            f"{tuning.longest_silence_s / 60.0:.0f} min: charge and energy of the totals leave them out.",
        )


def cells_notice(rest_v: float | None, setup: Setup | None) -> Iterator[Notice]:
    """A pack that cannot have the setup's number of cells, or its chemistry."""
    pack = setup.pack if setup is not None else None
    if pack is not None and rest_v is not None and pack.cells and cells_contradict(rest_v, pack):
        empty_v, *_, full_v = REST_CELL_V[pack.chemistry]
        stated = f"{rest_v / pack.cells:.2f} V for each of the setup's {pack.cells} cells"
        usual = f"a {pack.chemistry} cell rests at {empty_v:.1f} to {full_v:.1f} V"
        yield Notice(
            "cells-contradict",
            f"The pack rests at {rest_v:.2f} V: {stated}, but {usual}. Check cells and chemistry in [pack], or where "
            "the voltage is measured; until then its limit is not checked, and the prediction means nothing.",
        )
