"""``climbledger logbook``: keep logs with their summaries, setups and notes."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

import click

from analyzer.cli import logbook_options, logbook_upkeep, options
from analyzer.cli.batch_report import report_outcomes
from analyzer.cli.streams import say, show, write_out
from analyzer.errors import OptionError

if TYPE_CHECKING:
    from pathlib import Path

    from analyzer.display import System

EPILOG: Final = """\b
Examples:
  climbledger logbook add morning_*.csv --setup my_model.toml --place Larkmoor
  climbledger logbook add all_my_logs/ --jobs 4
  climbledger logbook list --where place=Larkmoor
  climbledger logbook show 12
  climbledger logbook edit 12 --propeller 13x7 --note "gusty"
  climbledger logbook backup logbook-2026-05.sqlite
"""


@click.group(epilog=EPILOG, short_help="Keep flights, to look up and to compare.")
def command() -> None:
    """Keep every log with its summary, setup, propeller, place and notes, and the log itself, in one place.

    By default that is one file in your user data folder; --logbook names another file, or a PostgreSQL database by
    its URL, as in postgresql://user@host/name.
    """


@command.command(
    "add",
    short_help="Add logs, or folders of logs.",
    epilog="\b\nExample:\n  climbledger logbook add morning_*.csv --setup my_model.toml --place Larkmoor",
)
@click.argument("logs", metavar="LOG|FOLDER...", nargs=-1, required=True, type=options.FILE)
@options.setup_option
@logbook_options.propeller_option
@logbook_options.place_option
@logbook_options.day_option
@logbook_options.note_option
@logbook_options.tag_option
@options.map_option
@click.option("--jobs", type=click.IntRange(1, 256), help="Processes to work in; default: one a core.")
@options.logbook_option
def add(
    logs: tuple[Path, ...],
    setup_path: Path | None,
    propeller: str | None,
    place: str | None,
    day: str | None,
    note: str | None,
    tags: tuple[str, ...],
    mappings: tuple[str, ...],
    jobs: int | None,
    logbook: str | None,
) -> int:
    """Analyse logs and keep them. A log that is there already, under whatever name, changes nothing.

    A log that cannot be read is reported and left out; the others are added. The same command again goes on where it
    was stopped.
    """
    setup = options.read_setup_option(setup_path)
    columns = options.column_map(mappings)
    edits = logbook_options.edits_from(propeller, place, day, note, tags)

    from analyzer.logbook import add_logs, find_logs, open_logbook

    found = find_logs(logs)
    if not found:
        raise OptionError(
            "holds no log", source=str(logs[0]), remedy="name the files, if they end in something unusual"
        )
    with open_logbook(logbook) as book:
        outcomes = add_logs(book, found, setup=setup, columns=columns, edits=edits, jobs=jobs)
        return report_outcomes(outcomes, len(found), book.label)


@command.command(
    "list",
    short_help="List what is there.",
    epilog="\b\nExample:\n  climbledger logbook list --where place=Larkmoor --since 2026-05-01",
)
@logbook_options.where_option
@logbook_options.since_option
@logbook_options.until_option
@options.json_option
@options.csv_option
@options.units_option
@options.logbook_option
def list_entries(
    where: tuple[str, ...],
    since: str | None,
    until: str | None,
    json_target: str | None,
    csv_target: str | None,
    units: System,
    logbook: str | None,
) -> int:
    """List logs by the day they were flown."""
    options.check_targets({"--json": json_target, "--csv": csv_target}, options.logbook_files(logbook))

    from analyzer.export.json_document import json_document
    from analyzer.logbook import open_logbook
    from analyzer.logbook.choosing import choose
    from analyzer.logbook.files import entries_csv
    from analyzer.logbook.listing import entries_text

    with open_logbook(logbook, create=False) as book:
        chosen = choose(book.list(), where, since, until)
    if json_target is not None:
        write_out(json_target, json_document(chosen))
    if csv_target is not None:
        write_out(csv_target, entries_csv(chosen))
    if "-" not in (json_target, csv_target):
        show(entries_text(chosen, units) + "\n")
    return 0


@command.command("show", short_help="Show one entry.", epilog="\b\nExample:\n  climbledger logbook show 12")
@click.argument("entry_id", metavar="NUMBER", type=int)
@options.json_option
@options.units_option
@options.logbook_option
def show_entry(entry_id: int, json_target: str | None, units: System, logbook: str | None) -> int:
    """Show one entry with its flight summary."""
    options.check_targets({"--json": json_target}, options.logbook_files(logbook))
    from analyzer.logbook import open_logbook

    with open_logbook(logbook, create=False) as book:
        entry, summary, setup = book.get(entry_id), book.summary(entry_id), book.setup(entry_id)
        kept = book.flights() if json_target != "-" else ()
    if json_target is not None:
        from analyzer.export.json_document import json_document

        write_out(json_target, json_document(summary))
    if json_target != "-":
        from analyzer.export.flight_text import flight_text
        from analyzer.export.propeller_answer import propeller_answer
        from analyzer.logbook.listing import entry_heading

        own = next(one for one in kept if one.summary.log.sha256 == summary.log.sha256)
        text = flight_text(summary, units, setup, propeller_answer(own, kept))
        show(f"{entry_heading(entry)}\n\n{text}")
    return 0


@command.command(
    "edit",
    short_help="Change what you said of an entry.",
    epilog="\b\nExample:\n  climbledger logbook edit 12 --propeller 13x7",
)
@click.argument("entry_ids", metavar="NUMBER...", nargs=-1, required=True, type=int)
@options.setup_option
@logbook_options.propeller_option
@logbook_options.place_option
@logbook_options.day_option
@logbook_options.note_option
@logbook_options.tag_option
@click.option("--untag", multiple=True, metavar="NAME", help="Take a tag away; may be repeated.")
@options.logbook_option
def edit(
    entry_ids: tuple[int, ...],
    setup_path: Path | None,
    propeller: str | None,
    place: str | None,
    day: str | None,
    note: str | None,
    tags: tuple[str, ...],
    untag: tuple[str, ...],
    logbook: str | None,
) -> int:
    """Change propeller, place, day, note, tags or setup of entries; an empty text ("") takes one back.

    What depends on the setup or the propeller is analysed anew. A later analysis never touches these words.
    """
    setup = options.read_setup_option(setup_path)
    edits = logbook_options.edits_from(propeller, place, day, note, tags, untag)

    from analyzer.logbook import Edits, open_logbook
    from analyzer.logbook.listing import entry_heading

    if setup is None and edits == Edits():
        raise click.UsageError(
            "Nothing to change: give --propeller, --place, --day, --note, --tag, --untag or --setup."
        )
    with open_logbook(logbook, create=False) as book:
        found = [book.get(entry_id) for entry_id in entry_ids]
        changed = [book.update(entry.id, edits, setup=setup) for entry in found]
    show("".join(f"{entry_heading(entry)}\n" for entry in changed))
    return 0


@command.command(
    "remove", short_help="Delete entries, with --yes.", epilog="\b\nExample:\n  climbledger logbook remove 12 13 --yes"
)
@click.argument("entry_ids", metavar="NUMBER...", nargs=-1, required=True, type=int)
@click.option("--yes", is_flag=True, help="Really delete; without it, say only what would be deleted.")
@options.logbook_option
def remove(entry_ids: tuple[int, ...], yes: bool, logbook: str | None) -> int:
    """Delete entries, the logs in them included. Only a backup brings them back."""
    from analyzer.logbook import open_logbook

    with open_logbook(logbook, create=False) as book:
        named = [f"{entry.id} ({entry.log_name})" for entry in map(book.get, entry_ids)]
        if not yes:
            raise OptionError(f"would delete {', '.join(named)}", source="remove", remedy="add --yes to do it")
        book.remove(entry_ids)
    say(f"deleted {', '.join(named)}")
    return 0


for _upkeep in logbook_upkeep.COMMANDS:
    command.add_command(_upkeep)
