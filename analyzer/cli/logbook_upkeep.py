"""``climbledger logbook``: analyse anew, export, back up, take over from another logbook."""

from __future__ import annotations

from pathlib import Path
from typing import Final

import click

from analyzer.cli import logbook_options, options
from analyzer.cli.batch_report import report_outcomes
from analyzer.cli.streams import Progress, say


@click.command(
    "reanalyze",
    short_help="Analyse entries anew, after an upgrade.",
    epilog="\b\nExample:\n  climbledger logbook reanalyze",
)
@click.argument("entry_ids", metavar="[NUMBER...]", nargs=-1, type=int)
@click.option("--all", "everything", is_flag=True, help="Every entry, also those that this version has analysed.")
@click.option("--jobs", type=click.IntRange(1, 256), help="Processes to work in; default: one a core.")
@options.logbook_option
def reanalyze(entry_ids: tuple[int, ...], everything: bool, jobs: int | None, logbook: str | None) -> int:
    """Analyse entries anew; what you said of them, and segments corrected by hand, stay as they are.

    Without numbers: every entry that another version of climbledger has analysed.
    """
    from importlib.metadata import version

    from analyzer.logbook import open_logbook, renew_entries

    with open_logbook(logbook, create=False) as book:
        here = version("climbledger")
        old = [entry.id for entry in book.list() if everything or entry.analyzer_version != here]
        chosen = [book.get(entry_id).id for entry_id in entry_ids] or old
        return report_outcomes(renew_entries(book, chosen, jobs=jobs), len(chosen), book.label)


@click.command(
    "export",
    short_help="Write logs, setups and summaries as plain files.",
    epilog="\b\nExample:\n  climbledger logbook export my_flights/ --where place=Larkmoor",
)
@click.argument("folder", type=options.FILE)
@logbook_options.where_option
@logbook_options.since_option
@logbook_options.until_option
@options.logbook_option
def export(folder: Path, where: tuple[str, ...], since: str | None, until: str | None, logbook: str | None) -> int:
    """Write each log exactly as it was, its setup and its summary into FOLDER, and a table of all as logbook.csv."""
    from analyzer.logbook import open_logbook
    from analyzer.logbook.choosing import choose
    from analyzer.logbook.files import export_entries

    with open_logbook(logbook, create=False) as book:
        chosen = choose(book.list(), where, since, until)
        with Progress(len(chosen)) as progress:
            for name in export_entries(book, chosen, folder):
                progress.item(name)
    say(f"wrote {len(chosen)} logs to {folder}")
    return 0


@click.command(
    "backup",
    short_help="Copy the whole logbook into one file.",
    epilog="\b\nExample:\n  climbledger logbook backup logbook-2026-05.sqlite",
)
@click.argument("target", metavar="FILE", type=options.FILE)
@options.logbook_option
def backup(target: Path, logbook: str | None) -> int:
    """Copy the whole logbook, on a server too, into one new file that is a logbook itself.

    To go back, use it with --logbook FILE, or take its entries over with `climbledger logbook merge FILE`.
    """
    options.check_targets({"backup": str(target)}, options.logbook_files(logbook))

    from analyzer.logbook import open_logbook
    from analyzer.logbook.files import back_up

    with open_logbook(logbook, create=False) as book:
        count = back_up(book, target)
    say(f"copied {count} logs to {target}")
    return 0


@click.command(
    "merge",
    short_help="Take over what another logbook has.",
    epilog="\b\nExample:\n  climbledger logbook merge logbook-2026-05.sqlite",
)
@click.argument("other", metavar="DB")
@options.logbook_option
def merge(other: str, logbook: str | None) -> int:
    """Take over all entries of another logbook, a file or the URL of a database; known logs are left as they are."""
    from analyzer.logbook import open_logbook

    with open_logbook(other, create=False) as source, open_logbook(logbook) as book:
        chosen = source.list()
        return report_outcomes(book.copy_from(source, chosen), len(chosen), book.label)


COMMANDS: Final = (reanalyze, export, backup, merge)
