"""Options that several commands share: one spelling, one meaning, one help text."""

from __future__ import annotations

from collections import Counter
from pathlib import Path
from typing import TYPE_CHECKING, Any, Final

import click

from analyzer.errors import OptionError

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable

    from analyzer.setup_file import Setup

    Decorator = Callable[[Callable[..., Any]], Callable[..., Any]]

FILE: Final = click.Path(path_type=Path)
"""A path that the reading stage itself checks, so that every complaint reads alike."""

setup_option: Decorator = click.option(
    "--setup", "setup_path", type=FILE, metavar="S.toml", help="Setup file of the airframe and power system flown."
)
json_option: Decorator = click.option(
    "--json", "json_target", metavar="OUT", help="Write the results as JSON; - is standard output."
)
csv_option: Decorator = click.option(
    "--csv", "csv_target", metavar="OUT", help="Write the results as one CSV table; - is standard output."
)
report_option: Decorator = click.option(
    "--report", "report_target", metavar="OUT.html", help="Write a report that opens in any browser, without a network."
)
logbook_option: Decorator = click.option(
    "--logbook", "logbook", metavar="DB", help="Logbook: a file, or the URL of a database."
)
units_option: Decorator = click.option(
    "--units",
    type=click.Choice(["metric", "feet"]),
    default="metric",
    show_default=True,
    help="Units to show.",
)
map_option: Decorator = click.option(
    "--map",
    "mappings",
    multiple=True,
    metavar='"Header=channel [unit]"',
    help='Say what a column means, as in --map "Hgt=altitude_m [ft]"; may be repeated.',
)


def read_setup_option(path: Path | None) -> Setup | None:
    """Read the setup file, where one was given.

    Raises
    ------
    SetupFileError
        When it cannot be read or holds something impossible.
    ColumnMapError
        When its column map names a channel or unit that does not exist.
    """
    if path is None:
        return None
    from analyzer.setup_file import read_setup

    setup = read_setup(path)
    if setup.telemetry.columns:
        from analyzer.ingest.columns.column_map import parse_target

        for header, text in setup.telemetry.columns.items():
            parse_target(text, source=str(path), header=header)
    return setup


def column_map(mappings: Iterable[str]) -> dict[str, str]:
    """Read the values of ``--map``.

    Parameters
    ----------
    mappings : iterable of str
        Each "Header=channel [unit]"; a header may itself hold "=", so the last one divides.

    Raises
    ------
    OptionError
        When one has no header, no "=" or no channel.
    """
    columns = {}
    for mapping in mappings:
        header, divider, meaning = mapping.rpartition("=")
        if not (divider and header.strip() and meaning.strip()):
            raise OptionError(
                f"'{mapping}' is no column map", source="--map", remedy='write it as "Header=channel [unit]"'
            )
        columns[header.strip()] = meaning.strip()
    return columns


def check_targets(targets: dict[str, str | None], inputs: Iterable[Path] = ()) -> None:
    """Check where documents are to go, before the work begins.

    Parameters
    ----------
    targets : dict of str to str or None
        Option name to its value.
    inputs : iterable of Path
        Files that are read and must not be overwritten.

    Raises
    ------
    OptionError
        When two documents want one place, or one wants the place of an input.
    """
    wanted = {option: target for option, target in targets.items() if target is not None}
    for target, count in Counter(wanted.values()).items():
        if count > 1:
            options = " and ".join(option for option, value in wanted.items() if value == target)
            place = "standard output" if target == "-" else target
            raise OptionError(f"{options} cannot both go to {place}", remedy="give each a place of its own")
    for option, target in wanted.items():
        for path in inputs:
            if target != "-" and _same_file(Path(target), path):
                raise OptionError(f"would overwrite the input {path}", source=option, remedy="give another name")


def _same_file(one: Path, other: Path) -> bool:
    try:
        return one.samefile(other)
    except OSError:
        return False
