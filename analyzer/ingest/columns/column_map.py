"""The user's own column map: "Header" = "channel [unit]" or "ignore"."""

from __future__ import annotations

import difflib
import re
from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

from analyzer.channels import BY_NAME, CHANNELS, Channel
from analyzer.errors import ColumnMapError, LogFileError, NoSuchColumnError
from analyzer.ingest.columns.words import UNHEADED
from analyzer.units import UNITS, Unit, parse_units
from analyzer.wording import listed

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

IGNORE: Final = "ignore"
"""What a map says of a column that is to be left out."""

_NUMBERED: Final = re.compile(r" \(column \d+\)$")
_TARGET: Final = re.compile(r"\s*(?P<channel>[^\[\]]*?)\s*(?:\[(?P<unit>[^\[\]]*)\])?\s*")


@dataclass(frozen=True, slots=True)
class Target:
    """What one column is mapped to; no channel: it is left out. No unit: as the header or the values say."""

    channel: Channel | None
    unit: Unit | None = None


def map_option(header: str, target: str) -> str:
    """How to map a column by hand, for remedies: the option of the command line."""
    return f'--map "{header}={target}"'


def map_hint(header: str, channel: Channel, unit: str = "") -> str:
    """Tell how to decide by hand."""
    return f"say so with {map_option(header, f'{channel.name} [{unit}]' if unit else channel.name)}"


def none_among(what: str, headers: Sequence[str], target: str, example: str) -> LogFileError:
    """Say that no column is what is needed, and how to name it; one without a header is named by its number.

    Parameters
    ----------
    what : str
        What is missing, for a person.
    headers : sequence of str
        All headers of the table, "column 2" where there is none.
    target : str
        The channel that is missing.
    example : str
        How its unit is given.
    """
    headed = not all(UNHEADED.fullmatch(header) for header in headers)
    problem = f"no {what} among the columns {listed(headers)}" if headed else f"no {what} found: it has no header"
    header = "Header" if headed else "column 1" if target == "time_s" else "column 2"
    return LogFileError(problem, remedy=f'name the column with --map "{header}={target}" ({example})')


def channel_spellings() -> dict[str, Channel]:
    """Every name by which a map may call a channel: "altitude_m", "altitude", "pack voltage"."""
    spellings: dict[str, Channel] = {}
    for channel in CHANNELS:
        stem = re.sub(r"_(m_s|s|m|v|a|ah|w|c|pa|deg)$", "", channel.name)
        for name in (channel.name, stem, channel.title, channel.title.replace(" ", "_")):
            spellings.setdefault(name.casefold(), channel)
    return spellings


def parse_target(text: str, header: str) -> Target:
    """Read "channel [unit]" or "ignore".

    Raises
    ------
    ColumnMapError
        When the channel or the unit is not known, or the unit measures something else.
    """
    where = f"column map '{header}'"
    match = _TARGET.fullmatch(text)
    name = match["channel"].casefold() if match else ""
    if name == IGNORE and match and match["unit"] is None:
        return Target(None)
    channel = channel_spellings().get(name)
    if match is None or channel is None:
        close = difflib.get_close_matches(name, [*channel_spellings(), IGNORE], n=1, cutoff=0.5)
        hint = f"did you mean {close[0]}? " if close else ""
        known = ", ".join(BY_NAME)
        raise ColumnMapError(f"no channel '{text}'", where=where, remedy=f"{hint}the channels are {known}, {IGNORE}")
    if match["unit"] is None:
        return Target(channel)
    units = [unit for unit in parse_units(match["unit"]) if unit.dimension == channel.dimension]
    if not units:
        fitting = ", ".join(unit.symbol for unit in UNITS if unit.dimension == channel.dimension) or "none"
        raise ColumnMapError(
            f"'{match['unit']}' is no unit of {channel.title}",
            where=where,
            remedy=f"its units are {fitting}",
        )
    return Target(channel, units[0])


def resolve_map(columns: Mapping[str, str], headers: Sequence[str]) -> dict[int, Target]:
    """Find the columns that a map names.

    Parameters
    ----------
    columns : mapping of str to str
        Header (or "column 3", counted from 1) to "channel [unit]" or "ignore".
    headers : sequence of str
        The log's headers, in order.

    Returns
    -------
    dict of int to Target
        By position of the column.

    Raises
    ------
    ColumnMapError
        When a header or channel is unknown, a header stands for several columns, or two columns are given to a channel
        that a log has once.
    """
    targets: dict[int, Target] = {}
    for header, text in columns.items():
        position = _position(header, headers)
        if position in targets:
            raise ColumnMapError(f"column '{header}' is mapped twice", remedy="name each column once")
        targets[position] = parse_target(text, header)
    _check_single(targets, headers)
    return targets


def _position(header: str, headers: Sequence[str]) -> int:
    """Find a column by its header, then without regard to case and blanks, then by its number."""
    wanted = header.strip().casefold()
    plain = [_NUMBERED.sub("", name).strip().casefold() for name in headers]
    for fits in (
        [i for i, name in enumerate(headers) if name == header],
        [i for i, name in enumerate(plain) if name == wanted],
        [i for i in range(len(headers)) if f"column {i + 1}" == wanted],
    ):
        if len(fits) == 1:
            return fits[0]
        if fits:
            ones = listed([headers[i] for i in fits])
            problem = f"{len(fits)} columns are headed '{header}'"
            raise ColumnMapError(problem, remedy=f"name the one you mean: {ones}")
    close = difflib.get_close_matches(wanted, [name.strip().casefold() for name in headers], n=1, cutoff=0.5)
    original = next((name for name in headers if close and name.strip().casefold() == close[0]), "")
    hint = f"did you mean '{original}'? " if original else ""
    error = NoSuchColumnError(f"no column '{header}'", remedy=f"{hint}the headers are {listed(headers)}")
    error.header, error.close = header, original
    raise error


def _check_single(targets: dict[int, Target], headers: Sequence[str]) -> None:
    taken: dict[str, int] = {}
    for position, target in targets.items():
        if target.channel is None or target.channel.several or target.channel.name == "time_s":
            continue
        if target.channel.name in taken:
            both = f"'{headers[taken[target.channel.name]]}' and '{headers[position]}'"
            raise ColumnMapError(
                f"{both} are both mapped to {target.channel.name}", remedy=f"map one of them to {IGNORE}"
            )
        taken[target.channel.name] = position
