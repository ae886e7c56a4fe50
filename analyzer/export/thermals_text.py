"""The soaring report and the session as text, for a small screen at the field."""

from __future__ import annotations

from typing import TYPE_CHECKING

from analyzer.cautions import FLYING
from analyzer.constants import NORMAL_95
from analyzer.display import System, clock, notice_lines, scale_of, shown, when, with_intervals
from analyzer.export import thermals_tables
from analyzer.export.answers import lift_said, share_said
from analyzer.export.text_page import bullet_list, heading, page, rendered, sentences
from analyzer.wording import counted

if TYPE_CHECKING:
    from collections.abc import Iterable

    from analyzer.soaring.records import PolarComparison, SoaringReport, StartScore
    from analyzer.soaring.session import Session


def thermals_text(report: SoaringReport, system: System = "metric") -> str:
    """Write one log's soaring report as aligned text.

    Parameters
    ----------
    report : SoaringReport
        What was found.
    system : System
        Units of heights and speeds.
    """
    tables = [
        thermals_tables.thermals_table(report, system),
        thermals_tables.circles_table(report, system),
        thermals_tables.searches_table(report, system),
        thermals_tables.passed_table(report, system),
        thermals_tables.sinks_table(report, system),
        thermals_tables.polars_table(report, system),
        *(thermals_tables.speeds_table(polar, system) for polar in report.glide.polars[:1]),
    ]
    return page(
        heading(report.name, when(report.started_at)),
        sentences(thermals_answers(report, system)),
        *rendered(tables),
        bullet_list("Flight modes compared, at sea level", difference_lines(report.glide.mode_differences, system)),
        bullet_list("About the log", notice_lines(report.notices, system)),
        bullet_list("Cautions", (FLYING,)),
    )


def session_text(session: Session, system: System = "metric") -> str:
    """Write the thermals of several logs as aligned text."""
    climbs = counted(len(session.climbs), "climb" if session.motor_unknown_logs else "thermal climb")
    untold = f" (in {counted(session.motor_unknown_logs, 'log')} the motor may be part)"
    said = (
        f"{climbs} in {clock(session.flight_time_s)} of flight, {clock(session.climb_time_s)} spent climbing: "
        f"{shown('gain_m', session.thermal_gain_m, system)}{untold if session.motor_unknown_logs else ' from lift'}"
        f"{share_said(session.lift_share)}."
    )
    tables = [
        thermals_tables.session_climbs_table(session, system),
        thermals_tables.heights_table(session, system),
        thermals_tables.hours_table(session, system),
    ]
    return page(
        heading(f"{counted(session.logs, 'log')} together"),
        sentences([said]),
        *rendered(tables),
        bullet_list("Polars compared, at sea level", difference_lines(session.polar_differences, system)),
    )


def thermals_answers(report: SoaringReport, system: System) -> tuple[str, ...]:
    """The main things in a few sentences: lift, wind, glide, and the start where it is one that is scored."""
    lift = lift_said(report, len(report.thermals), report.thermal_gain_m, report.lift_share, system)
    lines = [lift, _wind(report, system), _glide(report, system)]
    lines += [_start(start, system) for start in report.starts if start.motor_runs == 1]
    return tuple(line for line in lines if line)


def difference_lines(items: Iterable[PolarComparison], system: System) -> tuple[str, ...]:
    """One sentence for each pair of polars."""
    return tuple(_difference(item, system) for item in items)


def _wind(report: SoaringReport, system: System) -> str:
    wind = report.wind
    if wind is None:
        return ""
    scale = scale_of("wind_m_s", system)
    speed = f"{scale.text(wind.speed_m_s)} ±{scale.text(NORMAL_95 * wind.speed_se_m_s)} {scale.symbol}"
    direction = f"{wind.from_deg:.0f}° ±{NORMAL_95 * wind.from_se_deg:.0f}°"
    return f"Wind where it circled: {speed} from {direction}, {wind.circles:.0f} circles."


def _glide(report: SoaringReport, system: System) -> str:
    if not report.glide.polars:
        return ""
    polar = report.glide.polars[0]
    flown, scale = polar.flown, scale_of("least_sink_m_s", system)
    (sink,) = with_intervals(scale, [flown.least_sink_m_s], [polar.least_sink_se_m_s])
    (ratio,) = with_intervals(thermals_tables.GLIDE_RATIO, [flown.best_glide_ratio], [polar.best_glide_ratio_se])
    slow, fast = (shown("airspeed_m_s", v, system) for v in (flown.least_sink_speed_m_s, flown.best_glide_speed_m_s))
    slower = "" if polar.least_sink_reached else "; slower was not flown"
    return f"Least sink {sink} {scale.symbol} at {slow}; best glide {ratio} at {fast}{slower}."


def _start(start: StartScore, system: System) -> str:
    height = shown("start_height_m", start.start_height_m, system)
    if not start.valid:
        return f"Flight {start.flight_number}: start height {height}; {start.remark} ({start.rules})."
    score = f"{start.time_points:.0f} - {start.height_deduction:.1f} = {start.score_without_landing:.1f} points"
    remark = f"; {start.remark}" if start.remark else ""
    return f"Flight {start.flight_number}: start height {height}, {score} without landing{remark} ({start.rules})."


def _difference(item: PolarComparison, system: System) -> str:
    """One sentence at the middle of the common speeds."""
    middle = item.differences[len(item.differences) // 2]
    sink = scale_of("sink_m_s", system)
    speed = shown("airspeed_m_s", middle.airspeed_m_s, system)
    interval = f"{sink.text(middle.low_m_s)} to {sink.text(middle.high_m_s)} {sink.symbol}"
    names = f"{item.second} against {item.first} at {speed}"
    if not middle.is_shown:
        return f"{names}: no difference in sink shown ({interval})."
    more = "more" if middle.sink_difference_m_s > 0.0 else "less"
    return f"{names}: sinks {sink.with_unit(abs(middle.sink_difference_m_s))} {more} ({interval})."
