"""The flight summary as text: what a pilot reads on a small screen at the field."""

from __future__ import annotations

import textwrap
from typing import TYPE_CHECKING, Final

from analyzer.cautions import REPORT_CAUTIONS
from analyzer.display import KIND_TITLES, System, clock, notice_lines, recorded, when
from analyzer.errors import printable
from analyzer.export import flight_tables, match_tables
from analyzer.export.answers import answers
from analyzer.export.table import WIDTH
from analyzer.export.text_page import bullet_list, heading, page, rendered

if TYPE_CHECKING:
    from collections.abc import Sequence

    from analyzer.export.answers import Answer
    from analyzer.records import FlightSummary, LogFacts, Segment, SegmentKind
    from analyzer.setup_file import Setup

MARKS: Final = {"good": "  ", "bad": "! ", "open": "  "}

STRIP_MARKS: Final[dict[SegmentKind, str]] = {"ground": ".", "motor_run": "M", "glide": "-", "thermal_climb": "T"}


def flight_text(
    summary: FlightSummary,
    system: System = "metric",
    setup: Setup | None = None,
    beside_others: Answer | None = None,
) -> str:
    """Write a summary as aligned text.

    Parameters
    ----------
    summary : FlightSummary
        What was found.
    system : System
        Units for heights and speeds.
    setup : Setup, optional
        The combination flown.
    beside_others : Answer, optional
        How its propeller did beside others, where there are flights to compare with.

    Returns
    -------
    str
        Lines with a final newline; control characters that a log may hold are replaced.
    """
    of_climbs = (
        flight_tables.limits_table(summary, system),
        flight_tables.motor_runs_table(summary, system),
        flight_tables.draw_table(summary, system),
        match_tables.match_table(summary, system),
        match_tables.match_by_climb_table(summary),
    )
    of_the_rest = (
        flight_tables.glides_table(summary, system),
        flight_tables.glide_parts_table(summary, system),
        flight_tables.thermals_table(summary, system),
        flight_tables.totals_table(summary, system),
        flight_tables.flights_table(summary),
        flight_tables.kinds_table(summary, system),
    )
    return page(
        _heading(summary.log, setup),
        _answers(answers(summary, system, setup, beside_others)),
        *rendered(of_climbs),
        bullet_list("What the climbs say of the setup", match_tables.finding_lines(summary.findings)),
        *rendered(of_the_rest),
        _strip(summary),
        bullet_list("About the log", notice_lines(summary.log.notices, system)),
        bullet_list("Cautions", REPORT_CAUTIONS),
    )


def _answers(found: Sequence[Answer]) -> str:
    """The questions of a pilot, each with its answer; what needs the pilot is marked."""
    lines = [(f"{MARKS[answer.state]}{answer.question}", answer.said) for answer in found]
    indent = max(len(question) for question, _ in lines) + 2
    return "\n".join(
        textwrap.fill(printable(said), WIDTH, initial_indent=question.ljust(indent), subsequent_indent=" " * indent)
        for question, said in lines
    )


def _heading(log: LogFacts, setup: Setup | None) -> str:
    facts = [when(log.started_at), recorded(log)]
    title = log.name + (f"   with {setup.name}" if setup is not None else "")
    return heading(title, "   ".join(fact for fact in facts if fact))


def _strip(summary: FlightSummary) -> str:
    """Draw the course of the log on one line, one letter for the kind that fills most of each slice of time."""
    if not summary.segments or summary.log.duration_s <= 0.0:
        return ""
    width = WIDTH - 4
    slice_s = summary.log.duration_s / width
    kinds = [_main_kind(summary.segments, index * slice_s, (index + 1) * slice_s) for index in range(width)]
    legend = ", ".join(f"{mark} {KIND_TITLES[kind]}" for kind, mark in STRIP_MARKS.items())
    end = clock(summary.log.duration_s)
    strip = "".join(STRIP_MARKS[kind] for kind in kinds)
    return f"  {strip}\n  0:00{end.rjust(width - 4)}\n  {legend}"


def _main_kind(segments: Sequence[Segment], start_s: float, end_s: float) -> SegmentKind:
    return max(segments, key=lambda entry: min(entry.end_s, end_s) - max(entry.start_s, start_s)).kind
