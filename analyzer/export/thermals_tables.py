"""The tables of a soaring report and of a session; text and screen render the same ones."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

from analyzer.display import ABSENT, Scale, System, clock, scale_of, when, with_intervals
from analyzer.export.columns import durations, measured, numbers, starts
from analyzer.export.table import Column, Table

if TYPE_CHECKING:
    from collections.abc import Sequence

    from analyzer.soaring.records import Outcome, PolarReport, SoaringReport
    from analyzer.soaring.session import Session

OUTCOMES: Final[dict[Outcome, str]] = {
    "thermal_climb": "found lift",
    "motor_run": "motor",
    "landing": "landed",
    "end_of_log": "log ends",
}
"""What a pilot calls the end of a search."""

ALL_MODES: Final = "all"
GLIDE_RATIO: Final = Scale("", 1.0, 1)


def thermals_table(report: SoaringReport, system: System) -> Table:
    """Each climb: heights, strength, and how long it took to centre."""
    climbs = [thermal.climb for thermal in report.thermals]
    nettos = [thermal.netto for thermal in report.thermals]
    return Table(
        "Climbs, in lift or with the motor" if report.motor_unknown else "Thermals",
        (
            numbers(climbs),
            starts(climbs),
            durations(climbs),
            measured("entry", climbs, "entry_altitude_m", system),
            measured("exit", climbs, "exit_altitude_m", system),
            measured("gain", climbs, "height_gain_m", system),
            measured("climb", climbs, "climb_rate_m_s", system),
            measured("best", climbs, "best_20s_climb_m_s", system),
            measured("netto", nettos, "netto_m_s", system, error="netto_se_m_s"),
            Column("to centre", tuple(clock(thermal.time_to_centre_s) for thermal in report.thermals)),
        ),
        f"Best: over 20 s. Netto: rise of the air, climb plus own sink{_basis(report)}.",
    ).without_empty_columns()


def circles_table(report: SoaringReport, system: System) -> Table:
    """How each climb was circled, and the wind from its circles."""
    rows = [(number, thermal) for number, thermal in enumerate(report.thermals, start=1) if thermal.circling]
    circles = [thermal.circling for _, thermal in rows]
    winds = [thermal.wind for _, thermal in rows]
    return Table(
        "Circles and wind",
        (
            Column("no.", tuple(str(number) for number, _ in rows)),
            Column("turn", tuple((c.direction if c else None) or ABSENT for c in circles), is_number=False),
            Column("period", tuple(f"{c.period_s:.1f}" if c else ABSENT for c in circles), "s"),
            Column("circles", tuple(f"{c.circles:.1f}" if c else ABSENT for c in circles)),
            measured("bank", circles, "bank_deg", system),
            measured("radius", circles, "radius_m", system),
            measured("airspeed", circles, "airspeed_m_s", system),
            measured("drift", circles, "drift_m_s", system),
            measured("from", circles, "drift_from_deg", system),
            measured("wind", winds, "speed_m_s", system, shown_as="wind_m_s", error="speed_se_m_s"),
            measured("from", winds, "from_deg", system, error="from_se_deg"),
            Column("seen in", tuple(c.source if c else ABSENT for c in circles), is_number=False),
        ),
        "Drift is that of the circles over the ground: wind and centring. From where it comes.",
    ).without_empty_columns()


def searches_table(report: SoaringReport, system: System) -> Table:
    """From leaving one climb to finding the next."""
    searches = report.searches
    return Table(
        "Searching between climbs",
        (
            starts(searches),
            durations(searches),
            Column("ended", tuple(OUTCOMES[search.outcome] for search in searches), is_number=False),
            measured("height", searches, "height_change_m", system),
            measured("air", searches, "mean_air_m_s", system),
            measured("rising", searches, "rising_share", system),
            measured("sinking", searches, "sinking_share", system),
        ),
        "Air: its mean vertical speed along the glides; rising, sinking: shares of the time.",
    ).without_empty_columns()


def passed_table(report: SoaringReport, system: System) -> Table:
    """Lift that was flown through."""
    passed = report.lift_passed
    return Table(
        "Lift passed by",
        (
            starts(passed),
            durations(passed),
            measured("height", passed, "altitude_m", system),
            measured("air", passed, "air_m_s", system),
            Column("probability", tuple(f"{100 * item.probability:.0f}" for item in passed), "%"),
        ),
        "Probability that circling there would have climbed: an estimate, no verdict.",
    )


def sinks_table(report: SoaringReport, system: System) -> Table:
    """Sink rate by flight mode."""
    sinks = report.glide.sinks
    return Table(
        "Sink",
        (
            Column("flight mode", tuple(mode.flight_mode or ALL_MODES for mode in sinks), is_number=False),
            Column("time", tuple(clock(mode.time_s) for mode in sinks)),
            measured("sink", sinks, "sink_rate_m_s", system, error="sink_rate_se_m_s"),
        ),
        "Robust to bumps and gusts; the air's mean motion over the glides is part of it.",
    )


def polars_table(report: SoaringReport, system: System) -> Table:
    """Least sink and best glide of each measured polar, as flown and at sea level."""
    polars = report.glide.polars
    flown, reduced = [polar.flown for polar in polars], [polar.at_sea_level for polar in polars]
    ratios, ratio_errors = [one.best_glide_ratio for one in flown], [polar.best_glide_ratio_se for polar in polars]

    def known(title: str, field: str, error: str, shown_as: str = "") -> Column:
        return measured(title, flown, field, system, error=error, error_records=polars, shown_as=shown_as)

    return Table(
        "Polar as flown",
        (
            Column("flight mode", tuple(polar.flight_mode or ALL_MODES for polar in polars), is_number=False),
            Column("glide", tuple(clock(polar.time_s) for polar in polars)),
            _range("flown at", polars, system),
            known("least sink", "least_sink_m_s", "least_sink_se_m_s"),
            known("at", "least_sink_speed_m_s", "least_sink_speed_se_m_s", "airspeed_m_s"),
            Column("best glide", with_intervals(GLIDE_RATIO, ratios, ratio_errors)),
            known("at", "best_glide_speed_m_s", "best_glide_speed_se_m_s", "airspeed_m_s"),
            measured("sea level: sink", reduced, "least_sink_m_s", system),
            measured("at", reduced, "least_sink_speed_m_s", system, shown_as="airspeed_m_s"),
        ),
        _polar_note(polars),
    ).without_empty_columns()


def speeds_table(polar: PolarReport, system: System) -> Table:
    """Speed to fly by expected climb; a speed beyond those that the polar rests on is marked."""
    speeds = polar.speeds_to_fly
    mode = f" in {polar.flight_mode}" if polar.flight_mode else ""
    flown = [polar.slowest_airspeed_m_s <= one.airspeed_m_s <= polar.fastest_airspeed_m_s for one in speeds]
    note = "Through still air to a climb of that strength (MacCready); with none, the farthest glide."
    return Table(
        f"Speed to fly{mode}",
        (
            measured("next climb", speeds, "expected_climb_m_s", system),
            measured("airspeed", speeds, "airspeed_m_s", system),
            Column("", tuple("" if was else "!" for was in flown), is_number=False),
            measured("mean speed", speeds, "cross_country_m_s", system, shown_as="airspeed_m_s"),
        ),
        note if all(flown) else f"{note} ! beyond the speeds flown: the fitted polar, carried on.",
    ).without_empty_columns()


def heights_table(session: Session, system: System) -> Table:
    """Climbing by band of height."""
    bands, height = session.by_height, scale_of("height_m", system)
    return Table(
        "Climbing by height",
        (
            Column("height", tuple(f"{height.text(b.low_m)} to {height.text(b.high_m)}" for b in bands), height.symbol),
            Column("climbs", tuple(str(band.climbs) for band in bands)),
            Column("time", tuple(clock(band.time_s) for band in bands)),
            measured("gain", bands, "gain_m", system),
            measured("climb", bands, "climb_rate_m_s", system),
        ),
    )


def hours_table(session: Session, system: System) -> Table:
    """Climbing by hour of the day."""
    hours = session.by_hour
    return Table(
        "Climbing by time of day",
        (
            Column("from", tuple(f"{hour.hour}:00" for hour in hours)),
            Column("climbs", tuple(str(hour.climbs) for hour in hours)),
            Column("time", tuple(clock(hour.time_s) for hour in hours)),
            measured("gain", hours, "gain_m", system),
            measured("climb", hours, "climb_rate_m_s", system),
        ),
        "Time of day as the logs say it.",
    )


def session_climbs_table(session: Session, system: System) -> Table:
    """Every climb of the session."""
    climbs = [item.climb for item in session.climbs]
    return Table(
        "Climbs of all logs, in lift or with the motor" if session.motor_unknown_logs else "Thermals of all logs",
        (
            Column("log", tuple(item.log for item in session.climbs), is_number=False),
            Column("began", tuple(when(item.began_at) or clock(item.climb.start_s) for item in session.climbs)),
            durations(climbs),
            measured("entry", climbs, "entry_altitude_m", system),
            measured("gain", climbs, "height_gain_m", system),
            measured("climb", climbs, "climb_rate_m_s", system),
            measured("best 20 s", climbs, "best_20s_climb_m_s", system),
        ),
    ).without_empty_columns()


def _range(title: str, polars: Sequence[PolarReport], system: System) -> Column:
    scale = scale_of("airspeed_m_s", system)
    spans = [f"{scale.text(p.slowest_airspeed_m_s)} to {scale.text(p.fastest_airspeed_m_s)}" for p in polars]
    return Column(title, tuple(spans), scale.symbol)


def _basis(report: SoaringReport) -> str:
    bases = {thermal.netto.basis for thermal in report.thermals if thermal.netto is not None}
    return f" ({', '.join(sorted(bases))})" if bases else ""


def _polar_note(polars: Sequence[PolarReport]) -> str:
    note = "The air's mean motion over the glides is part of the sink; ± half the 95 % interval."
    if any(not polar.least_sink_reached for polar in polars):
        note = "Never flown slow enough for the least sink: slower may sink less."
    return note
