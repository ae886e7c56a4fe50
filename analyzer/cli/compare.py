"""``climbledger compare``: which propeller is better, by how much, and is that real or just the day's air."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

import click

from analyzer.cli import logbook_options, options
from analyzer.cli.streams import show, write_out
from analyzer.comparison.metrics import METRICS

if TYPE_CHECKING:
    from analyzer.comparison.records import Comparison
    from analyzer.display import System

EPILOG: Final = """\b
Examples:
  climbledger compare
  climbledger compare --by pack --metric climb_rate_m_s --report packs.html
  climbledger compare --where place=Larkmoor --since 2026-05-01
"""


@click.command(epilog=EPILOG, short_help="Which propeller is better, by how much, and whether that is real.")
@options.logbook_option
@click.option(
    "--by",
    default="propeller",
    show_default=True,
    metavar="WHAT",
    help="propeller, motor, pack, airframe, setup, place, or the name of a tag, which counts before the setup's word.",
)
@click.option(
    "--metric",
    type=click.Choice(list(METRICS)),
    metavar="METRIC",
    default=next(iter(METRICS)),
    show_default=True,
    help=f"What to compare: {', '.join(METRICS)}.",
)
@logbook_options.where_option
@logbook_options.since_option
@logbook_options.until_option
@options.json_option
@options.report_option
@options.units_option
def command(
    logbook: str | None,
    by: str,
    metric: str,
    where: tuple[str, ...],
    since: str | None,
    until: str | None,
    json_target: str | None,
    report_target: str | None,
    units: System,
) -> int:
    """Compare the climbs in a logbook: each group's mean, every difference with its 95 % interval, and the odds.

    Runs at part throttle, in lift or sink, or with gaps are set aside; the others are corrected to common mass, air
    density and pack voltage. Runs of one flight share its air, and the intervals say so.
    """
    options.check_targets({"--json": json_target, "--report": report_target}, options.logbook_files(logbook))

    from analyzer.comparison.compare import compare_flights
    from analyzer.logbook import open_logbook
    from analyzer.logbook.choosing import choose

    with open_logbook(logbook, create=False) as book:
        flights = book.flights(choose(book.list(), where, since, until))
    comparison = compare_flights(flights, by, metric)
    _write(comparison, json_target, report_target, units)
    return 1 if all(pair.why_not for pair in comparison.differences) else 0


def _write(comparison: Comparison, json_target: str | None, report_target: str | None, units: System) -> None:
    """Documents where they were asked for; text on the terminal, unless a document has it for itself."""
    if json_target is not None:
        from analyzer.export.json_document import json_document

        write_out(json_target, json_document(comparison))
    if report_target is not None:
        from analyzer.export.comparison_html import comparison_page

        write_out(report_target, comparison_page(comparison, units))
    if "-" not in (json_target, report_target):
        from analyzer.export.comparison_text import comparison_text

        show(comparison_text(comparison, units))
