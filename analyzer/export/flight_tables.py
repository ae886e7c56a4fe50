"""The tables of a flight summary, in the order in which decisions are made; text and report render the same ones."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING, Any, Final

from analyzer.display import (
    ABSENT,
    KIND_TITLES,
    Scale,
    System,
    clock,
    scale_for_symbol,
    scale_of,
    shown,
    with_intervals,
)
from analyzer.export.columns import durations, measured, numbers, plain, starts
from analyzer.export.table import Column, Table
from analyzer.limits import CELL_VOLTAGE
from analyzer.records import SEGMENT_KINDS, MotorRun

if TYPE_CHECKING:
    from collections.abc import Sequence

    from analyzer.records import FlightSummary, Glide, LimitCheck, Segment


CELLS_DOUBTFUL: Final = "The cell voltage was not checked: the pack cannot have the setup's cells (see the notices)."


def cells_doubtful(summary: FlightSummary) -> bool:
    """Whether the limit of the cell voltage is open because the setup's pack is not the one that was flown."""
    has_limit = any(limit.name == CELL_VOLTAGE.name for limit in summary.power_system.limits)
    return has_limit and any(notice.code == "cells-contradict" for notice in summary.log.notices)


def limits_verdict(summary: FlightSummary) -> str:
    """Say in a sentence or two whether everything stayed inside its limits."""
    limits = summary.power_system.limits
    if not cells_doubtful(summary):
        return _verdict(limits)
    others = [limit for limit in limits if limit.name != CELL_VOLTAGE.name]
    return f"{_verdict(others)} {CELLS_DOUBTFUL}" if others else CELLS_DOUBTFUL


def _verdict(limits: Sequence[LimitCheck]) -> str:
    over = [f"{limit.name} ({_against(limit)})" for limit in limits if limit.ok is False]
    unknown = [limit.name for limit in limits if limit.ok is None]
    if not limits:
        return "No limits were checked: a setup states them."
    if over:
        return f"OVER THE LIMIT: {'; '.join(over)}."
    if len(unknown) == len(limits):
        return "No limit could be checked: the motor did not run, or the log lacks the channels."
    why = "for want of a channel, a motor run or a sensor that reads so far"
    rest = f" Not checked, {why}: {'; '.join(unknown)}." if unknown else ""
    return f"Everything that was checked stayed inside its limits.{rest}"


def _against(limit: LimitCheck) -> str:
    scale = scale_for_symbol(limit.unit)
    return f"{scale.text(limit.measured)} against {scale.with_unit(limit.limit)}"


def limits_table(summary: FlightSummary, system: System) -> Table:
    """Each limit beside what was measured, and the room left."""
    limits = summary.power_system.limits
    scales = [scale_for_symbol(limit.unit, system) for limit in limits]
    verdicts = {True: "ok", False: "OVER", None: "open"}

    def column(title: str, values: list[float | None]) -> Column:
        return Column(title, tuple(scale.with_unit(value) for scale, value in zip(scales, values, strict=True)))

    return Table(
        "Limits",
        (
            Column("", tuple(verdicts[limit.ok] for limit in limits), is_number=False),
            Column("limit of", tuple(limit.name for limit in limits), is_number=False),
            column("limit", [limit.limit for limit in limits]),
            column("worst", [limit.measured for limit in limits]),
            column("room left", [limit.margin for limit in limits]),
            Column("at", tuple(clock(limit.at_s) for limit in limits)),
        ),
    ).without_empty_columns()


def kinds_table(summary: FlightSummary, system: System) -> Table:
    """What the log is made of: number, time and change of height by kind of segment."""
    by_kind = {kind: [entry for entry in summary.segments if entry.kind == kind] for kind in SEGMENT_KINDS}
    present = {kind: entries for kind, entries in by_kind.items() if entries}
    height = scale_of("altitude_m", system)
    whole = sum(_time(entries) for entries in present.values()) or 1.0
    return Table(
        "What the log is made of",
        (
            Column("kind", tuple(KIND_TITLES[kind] for kind in present), is_number=False),
            Column("number", tuple(str(len(entries)) for entries in present.values())),
            Column("time", tuple(clock(_time(entries)) for entries in present.values())),
            Column("share", tuple(f"{100 * _time(entries) / whole:.0f}" for entries in present.values()), "%"),
            Column("change", tuple(height.text(_change(entries)) for entries in present.values()), height.symbol),
        ),
    )


def _time(segments: Sequence[Segment]) -> float:
    return sum(segment.duration_s for segment in segments)


def _change(segments: Sequence[Segment]) -> float:
    return sum(segment.end_altitude_m - segment.start_altitude_m for segment in segments)


def flights_table(summary: FlightSummary) -> Table:
    """The flights in the log."""
    flights = summary.flights
    return Table(
        "Flights",
        (
            numbers(flights),
            starts(flights),
            Column("end", tuple(clock(flight.end_s) for flight in flights)),
            durations(flights),
        ),
    )


def segments_table(summary: FlightSummary, system: System) -> Table:
    """Every segment, in order."""
    segments = summary.segments
    return Table(
        "Course of the log",
        (
            starts(segments),
            Column("end", tuple(clock(entry.end_s) for entry in segments)),
            Column("kind", tuple(KIND_TITLES[entry.kind] for entry in segments), is_number=False),
            measured("from", segments, "start_altitude_m", system),
            measured("to", segments, "end_altitude_m", system),
        ),
    )


def motor_runs_table(summary: FlightSummary, system: System) -> Table:
    """What each motor run gave, for what it drew."""
    runs = summary.motor_runs
    worth = _worth_measuring(runs)
    return Table(
        "Motor runs: what they gave",
        (
            numbers(runs),
            starts(runs),
            measured("height", runs, "height_gain_m", system),
            measured("climb", worth, "climb_rate_m_s", system),
            measured("per Ah", worth, "climb_per_ah_m", system),
            measured("per Wh", worth, "climb_per_wh_m", system),
            durations(runs),
            measured("zoom", runs, "zoom_gain_m", system),
        ),
        "± is the half-width of the 95 % interval; zoom is the height gained after the motor stopped."
        + _remark("on the ground", [run.on_ground for run in runs])
        + _remark("too short to measure", [run.blip and not run.on_ground for run in runs]),
    ).without_empty_columns()


def draw_table(summary: FlightSummary, system: System) -> Table:
    """What each motor run drew."""
    runs = summary.motor_runs
    useful = measured("useful", _worth_measuring(runs), "climb_efficiency", system)
    return Table(
        "Motor runs: what they drew",
        (
            numbers(runs),
            measured("charge", runs, "charge_ah", system),
            plain("energy", scale_of("energy_wh"), [run.energy_wh for run in runs]),
            measured("power", runs, "mean_power_w", system),
            measured("mean", runs, "mean_current_a", system),
            measured("max", runs, "max_current_a", system),
            measured("lowest", runs, "min_voltage_v", system),
            measured("speed", runs, "mean_rpm", system),
            measured("throttle", runs, "mean_throttle", system),
            useful,
        ),
        "The motor's share, without the avionics."
        + " Useful: what of the energy became height." * (not useful.is_empty),
    ).without_empty_columns()


def _worth_measuring(runs: Sequence[MotorRun]) -> list[MotorRun]:
    """The runs, those too short to measure without the ratios, which would be nonsense with a large interval."""
    return [
        replace(run, climb_rate_m_s=None, climb_per_ah_m=None, climb_per_wh_m=None, climb_efficiency=None)
        if run.blip
        else run
        for run in runs
    ]


def _remark(words: str, applies: Sequence[bool]) -> str:
    """Name the rows, as they are numbered, of which something is true."""
    concerned = [str(number) for number, is_so in enumerate(applies, start=1) if is_so]
    return f" No. {', '.join(concerned)}: {words}." if concerned else ""


def glides_table(summary: FlightSummary, system: System) -> Table:
    """How it glided."""
    return _glides_table("Glides", summary.glides, system)


def glide_parts_table(summary: FlightSummary, system: System) -> Table:
    """The stretches of one flight mode, in glides that were flown in several."""
    return _glides_table("Glides, by flight mode", summary.glide_parts, system)


def _glides_table(title: str, glides: Sequence[Glide], system: System) -> Table:
    modes = tuple(glide.flight_mode or ABSENT for glide in glides)
    return Table(
        title,
        (
            *_spans(glides),
            measured("loss", glides, "height_loss_m", system),
            measured("sink", glides, "sink_rate_m_s", system, error="sink_rate_se_m_s"),
            measured("typical", glides, "typical_sink_m_s", system, error="typical_sink_se_m_s"),
            measured("airspeed", glides, "mean_airspeed_m_s", system),
            Column("flight mode", modes, is_number=False),
        ),
        "Sink is what was lost per time, the air's share included; typical sink is little moved by bumps and gusts.",
    ).without_empty_columns()


def thermals_table(summary: FlightSummary, system: System) -> Table:
    """What the thermals gave."""
    climbs = summary.thermal_climbs
    return Table(
        "Climbs, in lift or with the motor" if summary.motor_unknown else "Thermal climbs",
        (
            *_spans(climbs),
            measured("gain", climbs, "height_gain_m", system),
            measured("climb", climbs, "climb_rate_m_s", system),
            measured("best 20 s", climbs, "best_20s_climb_m_s", system),
            measured("entry", climbs, "entry_altitude_m", system),
            measured("exit", climbs, "exit_altitude_m", system),
            measured("circle", climbs, "circle_period_s", system),
            measured("drift", climbs, "drift_m_s", system),
            measured("from", climbs, "drift_from_deg", system),
        ),
    ).without_empty_columns()


def totals_table(summary: FlightSummary, system: System) -> Table:
    """Sums over the log, and what it says of the pack."""
    totals, pack = summary.totals, summary.power_system
    resistance, rest_voltage = scale_of("pack_resistance_ohm"), scale_of("pack_rest_voltage_v")
    motor_gain_m, climbing = totals.motor_gain_m, "thermals"
    if summary.motor_unknown:
        motor_gain_m, climbing = None, "climbs, the motor's included"
    entries = [
        ("flight time", clock(totals.flight_time_s)),
        ("motor time", clock(None if summary.motor_unknown else totals.motor_time_s)),
        ("highest", shown("max_altitude_m", totals.max_altitude_m, system)),
        ("height from the motor", shown("motor_gain_m", motor_gain_m, system)),
        (f"height from {climbing}", shown("thermal_gain_m", totals.thermal_gain_m, system)),
        ("share paid by lift", shown("lift_share", totals.lift_share, system)),
        ("charge, avionics included", shown("charge_ah", totals.charge_ah, system)),
        ("energy, avionics included", shown("energy_wh", totals.energy_wh, system)),
        ("pack resistance, momentary", _one(resistance, pack.pack_resistance_ohm, pack.pack_resistance_ohm_se)),
        ("pack voltage at rest", _one(rest_voltage, pack.pack_rest_voltage_v, pack.pack_rest_voltage_v_se)),
    ]
    known = [entry for entry in entries if entry[1] != ABSENT]
    return Table(
        "Totals",
        (
            Column("", tuple(name for name, _ in known), is_number=False),
            Column("", tuple(value for _, value in known)),
        ),
        _MOMENTARY if pack.pack_resistance_ohm is not None else "",
    )


_MOMENTARY: Final = "Momentary: of a sudden change of load. Over a whole climb the pack sags more."


def _one(scale: Scale, value: float | None, error: float | None) -> str:
    text = with_intervals(scale, [value], [error])[0]
    return text if text == ABSENT else f"{text} {scale.symbol}".rstrip()


def _spans(entries: Sequence[Any]) -> tuple[Column, Column, Column]:
    return numbers(entries), starts(entries), durations(entries)
