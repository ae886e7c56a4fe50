"""``climbledger thermals``: what the air gave, and how the aircraft glides apart from it."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

import click

from analyzer.cli import options
from analyzer.cli.problems import report_problem
from analyzer.cli.streams import Progress, show, write_out

if TYPE_CHECKING:
    from pathlib import Path

    from analyzer.display import System
    from analyzer.records import FlightSummary
    from analyzer.setup_file import Setup
    from analyzer.soaring.records import SoaringReport

EPILOG: Final = """\b
Examples:
  climbledger thermals flight.csv
  climbledger thermals saturday/*.csv --setup my_model.toml
  climbledger thermals --logbook flights.db --json session.json
"""


@click.command(epilog=EPILOG, short_help="Thermals, wind, glide and speed to fly.")
@click.argument("logs", metavar="[LOG]...", nargs=-1, type=options.FILE)
@options.setup_option
@click.option(
    "--next-climb",
    "next_climbs_m_s",
    type=options.Number(0.0, 20.0),
    multiple=True,
    metavar="M/S",
    help="Mean climb expected next, for the speed to fly; may be repeated.",
)
@options.json_option
@options.map_option
@options.logbook_option
@options.units_option
def command(
    logs: tuple[Path, ...],
    setup_path: Path | None,
    next_climbs_m_s: tuple[float, ...],
    json_target: str | None,
    mappings: tuple[str, ...],
    logbook: str | None,
    units: System,
) -> int:
    """Say where the lift was and how strong, how it was centred, the wind, the glide and the speed to fly.

    Reads logs, or the climbs that a logbook keeps. Several logs, or a logbook, are also summed up together: by height
    and by time of day. In a JSON document, each log is one object, on a line of its own when there are several or
    on standard output, and the sum stands last.
    """
    if bool(logs) == (logbook is not None):
        raise click.UsageError("Give either logs or '--logbook'.")
    if logbook is not None:
        unheeded = {"--setup": setup_path, "--map": mappings, "--next-climb": next_climbs_m_s}
        for option, value in unheeded.items():
            if value:
                raise click.UsageError(
                    f"Option '{option}' is for logs, not for a logbook, which keeps climbs as analysed."
                )
    setup, columns = options.read_setup_option(setup_path), options.column_map(mappings)
    kept_in = options.logbook_files(logbook) if logbook is not None else []
    options.check_targets({"--json": json_target}, inputs=[*logs, *options.setup_files(setup_path, setup), *kept_in])
    if logbook is not None:
        return _write([], _kept(logbook), json_target, units, with_session=True)
    reports, summaries, status = _analyzed(logs, setup, columns, next_climbs_m_s)
    if not reports:
        return status
    return max(status, _write(reports, summaries, json_target, units, with_session=len(logs) > 1))


def _analyzed(
    logs: tuple[Path, ...], setup: Setup | None, columns: dict[str, str], next_climbs_m_s: tuple[float, ...]
) -> tuple[list[SoaringReport], list[FlightSummary], int]:
    from analyzer.analysis import analyze_log
    from analyzer.soaring.report import soar

    reports, summaries, status = [], [], 0
    with Progress(len(logs)) as progress:
        for path in logs:
            progress.item(path.name)
            try:
                analysis = analyze_log(path, setup, columns)
                reports.append(soar(analysis.log, analysis.segmentation, analysis.summary, setup, next_climbs_m_s))
                summaries.append(analysis.summary)
            except Exception as error:  # noqa: BLE001 - one broken log must not keep the others from their results
                progress.clear()
                status = max(status, report_problem(error, str(path)))
    return reports, summaries, status


def _kept(logbook: str) -> list[FlightSummary]:
    """The summaries that a logbook keeps, in the order flown."""
    from analyzer.errors import NoAnswerError
    from analyzer.logbook import open_logbook

    with open_logbook(logbook, create=False) as book:
        summaries = [book.summary(entry.id) for entry in book.list()]
    if not summaries:
        raise NoAnswerError("holds no log yet", source=logbook, remedy="add logs with climbledger logbook add")
    return summaries


def _write(
    reports: list[SoaringReport],
    summaries: list[FlightSummary],
    json_target: str | None,
    units: System,
    *,
    with_session: bool,
) -> int:
    from analyzer.export.json_document import json_document, json_line
    from analyzer.export.thermals_text import session_text, thermals_text
    from analyzer.soaring.session import session_of

    session = session_of(summaries, reports) if with_session else None
    if json_target is not None:
        records = [*reports, *([session] if session else [])]
        lines = json_target == "-" or len(records) > 1
        write_out(json_target, "".join(map(json_line, records)) if lines else json_document(records[0]))
    if json_target != "-":
        texts = [
            *(thermals_text(report, units) for report in reports),
            *([session_text(session, units)] if session else []),
        ]
        show("\n\n".join(texts))
    return 0
