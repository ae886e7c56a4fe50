"""Choosing entries: by what the pilot said of them, and by day."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

from analyzer.errors import NoAnswerError, OptionError
from analyzer.logbook.records import iso_day
from analyzer.wording import counted

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

    from analyzer.logbook.records import Entry

FIELDS: Final = {"propeller": "propeller", "place": "place", "setup": "setup_name", "day": "day", "log": "log_name"}
"""What a choice can be made by, besides tags, and the field of `Entry` that holds it."""


def choose(
    entries: Sequence[Entry], where: Iterable[str] = (), since: str | None = None, until: str | None = None
) -> tuple[Entry, ...]:
    """Choose entries that fit all that is asked.

    Parameters
    ----------
    entries : sequence of Entry
        To choose from.
    where : iterable of str
        Each "name=value", the name being one of `FIELDS` or a tag.
    since, until : str, optional
        First and last day, ISO 8601; an entry without a day fits neither.

    Raises
    ------
    OptionError
        For a condition without "=", a name that no entry has, or a day that is none.
    NoAnswerError
        When nothing fits.
    """
    wanted = [_condition(text, entries) for text in where]
    first = None if since is None else iso_day(since, "--since")
    last = None if until is None else iso_day(until, "--until")
    chosen = tuple(
        entry
        for entry in entries
        if all(_said(entry, name) == value for name, value in wanted)
        and (first is None or entry.day >= first)
        and (last is None or "" < entry.day <= last)
    )
    if entries and not chosen:
        raise NoAnswerError(f"of {counted(len(entries), 'log')} none fits", remedy="ask for less")
    return chosen


def _condition(text: str, entries: Sequence[Entry]) -> tuple[str, str]:
    name, divider, value = (part.strip() for part in text.partition("="))
    tags = sorted({tag for entry in entries for tag in entry.tags})
    if not divider or not (name in FIELDS or name in tags):
        names = ", ".join([*FIELDS, *tags])
        raise OptionError(
            f"'{text}' is no condition", source="--where", remedy=f"write name=value, name one of {names}"
        )
    return name, value


def _said(entry: Entry, name: str) -> str | None:
    return getattr(entry, FIELDS[name]) if name in FIELDS else entry.tags.get(name)
