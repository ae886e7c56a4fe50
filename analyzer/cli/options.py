"""Options that several commands share: one spelling, one meaning, one help text."""

from __future__ import annotations

import math
import os
from pathlib import Path
from typing import TYPE_CHECKING, Any, Final

import click

from analyzer.display import SYSTEMS
from analyzer.errors import ColumnMapError, OptionError

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable

    from analyzer.setup_file import Setup

    Decorator = Callable[[Callable[..., Any]], Callable[..., Any]]


class Number(click.FloatRange):
    """A number in a range; "nan" is in none, although it is beyond neither end."""

    name = "number"

    def convert(self, value: Any, param: click.Parameter | None, ctx: click.Context | None) -> Any:  # noqa: ANN401 - as in the base class
        """Read a number, as the base class does, but not "nan"."""
        number = super().convert(value, param, ctx)
        if math.isnan(number):
            self.fail(f"{value!r} is not a valid number.", param, ctx)
        return number


class _NamedPath(click.Path):
    """A path, but not the empty one, which would mean the folder that the user happens to stand in."""

    def convert(self, value: Any, param: click.Parameter | None, ctx: click.Context | None) -> Any:  # noqa: ANN401 - as in the base class
        if not str(value):
            self.fail("a path is empty", param, ctx)
        return super().convert(value, param, ctx)


FILE: Final = _NamedPath(path_type=Path, readable=False)
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
    type=click.Choice(list(SYSTEMS)),
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

        try:
            for header, text in setup.telemetry.columns.items():
                parse_target(text, header)
        except ColumnMapError as error:
            error.source = str(path)
            raise
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
        Files that are read, or kept, and must not be overwritten.

    Raises
    ------
    OptionError
        When a document has no name, two want one place, or one wants the place of an input.
    """
    taken: dict[str, str] = {}
    for option, target in targets.items():
        if target is None:
            continue
        if not target:
            raise OptionError("names no file", source=option, remedy="give one, or - for standard output")
        place = target if target == "-" else _place(target)
        if place in taken:
            where = "standard output" if target == "-" else target
            raise OptionError(
                f"{taken[place]} and {option} cannot both go to {where}", remedy="give each a place of its own"
            )
        taken[place] = option
        for path in inputs if target != "-" else ():
            if place == _place(path) or _same_file(target, path):
                raise OptionError(f"would overwrite the input {path}", source=option, remedy="give another name")


def setup_files(path: Path | None, setup: Setup | None) -> list[Path]:
    """The files that a setup is read from: its own, and the coefficient table that it names."""
    table = setup.value("propeller.coefficients_csv") if setup is not None else None
    files = [path, setup.folder / table if setup is not None and table else None]
    return [file for file in files if file is not None]


def logbook_files(where: str | None) -> list[Path]:
    """The file of a logbook; a server's has none.

    Raises
    ------
    LogbookError
        When the URL is none.
    """
    from analyzer.logbook.location import locate

    file = locate(where).path
    return [] if file is None else [file]


def _place(path: str | Path) -> str:
    """One spelling for each place, whether a file is there or not yet."""
    try:
        return os.path.realpath(path)
    except (OSError, ValueError):  # a name that no file can have: writing says so
        return str(path)


def _same_file(one: str | Path, other: str | Path) -> bool:
    try:
        return os.path.samefile(one, other)  # noqa: PTH121 - either may be text
    except (OSError, ValueError):
        return False
