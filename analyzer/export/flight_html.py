"""The flight report: one HTML file that opens without a network, on a phone, in sunlight, and prints on A4.

Plotly's script is embedded once and nothing is fetched from anywhere (a content security policy in the page sees to
it). Where no script runs, and on paper, still pictures stand in for the interactive ones. Everything that comes
from a log or a setup is escaped by the template engine.
"""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING, Any

from analyzer.cautions import REPORT_CAUTIONS
from analyzer.channels import channel_of
from analyzer.display import System, notice_lines, recorded, when
from analyzer.export import flight_tables, match_tables
from analyzer.export.answers import answers
from analyzer.export.html_page import picture_of, render

if TYPE_CHECKING:
    from collections.abc import Sequence

    from analyzer.analysis import Analysis
    from analyzer.setup_file import Setup


def flight_section(
    analysis: Analysis, system: System = "metric", setup: Setup | None = None, *, number: int = 1
) -> dict[str, Any]:
    """Gather what the report says of one log.

    Parameters
    ----------
    analysis : Analysis
        The log and what was found; it need not be kept afterwards.
    system : System
        Units for heights and speeds.
    setup : Setup, optional
        The combination flown.
    number : int
        Its place in the report, from 1.

    Returns
    -------
    dict
        The template's values for this log: tables, pictures and texts.
    """
    summary = analysis.summary
    key = f"log-{number}"
    return {
        "key": key,
        "name": summary.log.name,
        "facts": _facts(analysis, setup),
        "answers": answers(summary, system, setup),
        "limits": flight_tables.limits_table(summary, system),
        "climbs": flight_tables.motor_runs_table(summary, system),
        "draw": flight_tables.draw_table(summary, system),
        "match": match_tables.match_table(summary, system),
        "match_by_climb": match_tables.match_by_climb_table(summary),
        "findings": match_tables.finding_lines(summary.findings),
        "glides": [flight_tables.glides_table(summary, system), flight_tables.glide_parts_table(summary, system)],
        "thermals": flight_tables.thermals_table(summary, system),
        "totals": flight_tables.totals_table(summary, system),
        "kinds": flight_tables.kinds_table(summary, system),
        "flights": flight_tables.flights_table(summary),
        "segments": flight_tables.segments_table(summary, system),
        "notices": notice_lines(summary.log.notices, system),
        "channels": [channel_of(name).title for name in summary.log.channels],
        "sha256": summary.log.sha256,
        **_pictures(analysis, system, setup, key),
    }


def report_page(sections: Sequence[dict[str, Any]]) -> str:
    """Write the report.

    Parameters
    ----------
    sections : sequence of dict
        From `flight_section`, one a log.

    Returns
    -------
    str
        A complete HTML document.
    """
    return render("report.html", flights=sections, cautions=REPORT_CAUTIONS)


def _facts(analysis: Analysis, setup: Setup | None) -> list[str]:
    log = analysis.summary.log
    facts = [
        when(log.started_at),
        recorded(log),
        f"flown with {setup.name}" if setup is not None else "",
    ]
    return [fact for fact in facts if fact]


def _pictures(analysis: Analysis, system: System, setup: Setup | None, key: str) -> dict[str, Any]:
    from analyzer.figures.climbs import climbs_figure
    from analyzer.figures.flight import flight_figure
    from analyzer.figures.glides import glides_figure

    summary = analysis.summary
    limits = summary.power_system.limits
    course = flight_figure(analysis.log, summary.segments, limits, setup=setup, system=system)
    pictures: dict[str, Any] = {
        "course": picture_of(course, f"{key}-course", "Height by kind of segment, and what the power system did."),
        "climb_pictures": [],
        "glide_pictures": [],
    }
    if any(run.height_gain_m is not None for run in summary.climbs):
        climbs = climbs_figure(summary.motor_runs, system=system)
        caption = "Each motor run with its 95 % interval; the axes do not all begin at zero."
        pictures["climb_pictures"] = [replace(picture_of(climbs, f"{key}-climbs", caption), is_wide=True)]
    flown = summary.single_mode_glides
    if any(glide.sink_rate_m_s is not None for glide in flown):
        glides = glides_figure(flown, system=system)
        pictures["glide_pictures"] = [
            picture_of(glides, f"{key}-glides", "Sink rate of each glide with its 95 % interval.")
        ]
    return pictures
