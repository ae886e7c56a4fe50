"""``climbledger analyze``: logs in, what the flights were made of out."""

from __future__ import annotations

from contextlib import nullcontext
from pathlib import Path
from typing import TYPE_CHECKING, Final

import click

from analyzer.cli import options
from analyzer.cli.outputs import Outputs
from analyzer.cli.problems import report_problem
from analyzer.cli.streams import Progress, say, show, write_out
from analyzer.errors import ClimbledgerError

if TYPE_CHECKING:
    from collections.abc import Mapping
    from contextlib import AbstractContextManager

    from analyzer.analysis import Analysis
    from analyzer.display import System
    from analyzer.export.answers import Answer
    from analyzer.logbook import Logbook
    from analyzer.setup_file import Setup

EPILOG: Final = """\b
Examples:
  climbledger analyze flight.csv
  climbledger analyze flight.csv --setup my_model.toml --report flight.html
  climbledger analyze monday/*.csv --json - | another_program
  climbledger analyze flight.csv --setup my.toml --logbook flights.sqlite
  climbledger analyze flight.csv --setup my.toml --calibrate as_flown.toml
"""


@click.command(epilog=EPILOG, short_help="What a flight was made of, and what it cost.")
@click.argument("logs", metavar="LOG...", nargs=-1, required=True, type=options.FILE)
@options.setup_option
@options.json_option
@options.report_option
@options.csv_option
@options.map_option
@click.option(
    "--logbook",
    "logbook",
    metavar="DB",
    help="Keep the logs in this logbook (a file, or the URL of a database), and set the propeller of a single log "
    "beside those that are there.",
)
@click.option(
    "--calibrate",
    "calibrate_target",
    metavar="OUT.toml",
    help="Write the setup with the values that fit these logs; all must be flown with it. Yours is not changed.",
)
@options.units_option
def command(
    logs: tuple[Path, ...],
    setup_path: Path | None,
    json_target: str | None,
    report_target: str | None,
    csv_target: str | None,
    mappings: tuple[str, ...],
    logbook: str | None,
    calibrate_target: str | None,
    units: System,
) -> int:
    """Say what a flight was made of, what each climb cost, and whether everything stayed inside its limits.

    Reads one or more telemetry logs: CSV and other text tables, or IGC. Without options, a summary is written to
    the terminal. Several logs in one JSON document are one object per line.
    """
    if calibrate_target is not None and setup_path is None:
        raise click.UsageError("Option '--calibrate' needs '--setup'.")
    targets = {
        "--json": json_target,
        "--report": report_target,
        "--csv": csv_target,
        "--calibrate": calibrate_target,
    }
    setup = options.read_setup_option(setup_path)
    kept_in = options.logbook_files(logbook) if logbook is not None else []
    options.check_targets(targets, inputs=[*logs, *options.setup_files(setup_path, setup), *kept_in])
    columns = options.column_map(mappings)

    from analyzer.analysis import analyze_log

    outputs = Outputs(targets, units, setup, several=len(logs) > 1, kept=logbook is not None)
    kept: list[Analysis] = []
    status = 0
    with _logbook(logbook) as book, Progress(len(logs)) as progress:
        for path in logs:
            progress.item(path.name)
            try:
                analysis = analyze_log(path, setup, columns)
                progress.clear()
                outputs.add(analysis, _beside_others(book, analysis, setup) if len(logs) == 1 else None)
                if calibrate_target is not None:
                    kept.append(analysis)
                if book is not None:
                    _keep(book, path, analysis, setup, columns)
            except BrokenPipeError:
                raise
            except Exception as error:  # noqa: BLE001 - one broken log must not keep the others from their results
                progress.clear()
                status = max(status, report_problem(error, str(path)))
    status = max(status, outputs.write())
    if calibrate_target is not None and setup is not None and setup_path is not None:
        status = max(status, _calibrate(kept, len(logs), setup, setup_path, targets, units))
    return status


def _calibrate(
    kept: list[Analysis],
    wanted: int,
    setup: Setup,
    setup_path: Path,
    targets: dict[str, str | None],
    units: System,
) -> int:
    """Calibrate from all logs, or not at all, and write the setup beside the user's, which is read for its comments."""
    from analyzer.export.calibration_text import calibration_text
    from analyzer.export.writing import STDOUT
    from analyzer.match import calibrate, calibrated_toml

    target = str(targets["--calibrate"])
    if len(kept) < wanted:
        say(f"{target}: not written, since {wanted - len(kept)} of {wanted} logs could not be read")
        return 1
    try:
        result = calibrate(kept, setup)
        folder = None if target == STDOUT else Path(target).resolve().parent
        write_out(target, calibrated_toml(result, setup_path.read_text(encoding="utf-8-sig"), folder))
        if STDOUT not in targets.values():
            show("\n\n" + calibration_text(result, units))
    except ClimbledgerError as error:
        return report_problem(error)
    return 0


def _logbook(where: str | None) -> AbstractContextManager[Logbook | None]:
    """Open the logbook before the work begins, so that one which cannot be opened costs no waiting."""
    if where is None:
        return nullcontext()
    from analyzer.logbook import open_logbook

    return open_logbook(where)


def _beside_others(book: Logbook | None, analysis: Analysis, setup: Setup | None) -> Answer | None:
    """How the propeller did beside those of the logbook; of many logs at once, ``compare`` tells."""
    if book is None:
        return None
    from analyzer.comparison.flights import LoggedFlight
    from analyzer.export.propeller_answer import propeller_answer

    return propeller_answer(LoggedFlight(analysis.summary, setup), book.flights())


def _keep(book: Logbook, path: Path, analysis: Analysis, setup: Setup | None, columns: Mapping[str, str]) -> None:
    """Put an analysed log into the logbook, and say under which number it is."""
    outcome = book.add(path.read_bytes(), path.name, setup=setup, columns=columns, analysis=analysis)
    words = "added to the logbook" if outcome.status == "added" else "already in the logbook"
    say(f"{path.name}: {words} {book.label} as no. {outcome.entry_id}")
