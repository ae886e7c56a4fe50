"""What goes into a logbook and what comes out, as plain records."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field, replace
from datetime import date
from typing import TYPE_CHECKING, Final, Literal

from analyzer.errors import OptionError
from analyzer.power_system.propeller import parse_propeller

if TYPE_CHECKING:
    from analyzer.errors import ClimbledgerError
    from analyzer.records import Totals


KEY_LENGTH: Final = 100
"""Longest name of a tag."""

OWN_WORDS: Final = ("propeller", "place", "day", "note", "setup", "log")
"""What an entry says of itself: a tag of that name would be a second answer to one question."""


@dataclass(frozen=True)
class Edits:
    """What the pilot says of a log. None leaves a value as it is; "" takes it back, so that the log's own counts again.

    Attributes
    ----------
    propeller : str or None
        The propeller flown, where it is not the setup's: "14x8", or "14x8x3" with three blades.
    place, note : str or None
        Free text.
    day : str or None
        Date, ISO 8601.
    tags : mapping of str to (str or None)
        Tags to set; a tag given None is taken away.
    """

    propeller: str | None = None
    place: str | None = None
    day: str | None = None
    note: str | None = None
    tags: Mapping[str, str | None] = field(default_factory=dict)


def checked(edits: Edits) -> Edits:
    """Edits with propeller and day in one spelling ("14 X 8.0" is "14x8"), so that what is the same compares as such.

    Raises
    ------
    OptionError
        For a propeller that is no size, a date that is none, and tags without a name or with one of `OWN_WORDS`.
    """
    for key, value in edits.tags.items():
        if not key.replace("\0", "").strip() or len(key) > KEY_LENGTH:
            raise OptionError(f"'{key[:40]}' is no name for a tag", source="tag", remedy="write tag=value")
        if key in OWN_WORDS and value is not None:
            raise OptionError(
                f"'{key}' is no name for a tag", source="tag", remedy=f"each entry has a {key} of its own"
            )
    return replace(
        edits,
        propeller=parse_propeller(edits.propeller).name if edits.propeller else edits.propeller,
        day=iso_day(edits.day, "day") if edits.day else edits.day,
    )


def parse_tags(texts: Iterable[str]) -> dict[str, str]:
    """Read tags, each written "name=value".

    Raises
    ------
    OptionError
        When one is not.
    """
    tags = {}
    for text in texts:
        name, equals, value = (part.strip() for part in text.partition("="))
        if not (equals and name):
            raise OptionError(f"'{text.strip()}' is no tag", source="tag", remedy="write name=value")
        tags[name] = value
    return tags


def iso_day(text: str, source: str) -> str:
    """A date in ISO 8601, checked.

    Raises
    ------
    OptionError
        When it is none; `source` says where it was given.
    """
    try:
        return date.fromisoformat(text).isoformat()
    except ValueError as error:
        raise OptionError(f"'{text}' is no date", source=source, remedy="write it as 2026-05-31") from error


@dataclass(frozen=True)
class Entry:
    """One log in the logbook, without its summary (`Logbook.summary`) and its bytes (`Logbook.job`).

    Attributes
    ----------
    id : int
        What the pilot calls it by.
    sha256 : str
        Of the log file.
    log_name : str
        File name when it was added.
    added_at, analysed_at : str
        ISO 8601, UTC.
    started_at : str or None
        Of the log, as the log says it.
    analyzer_version : str
        Of the climbledger that analysed it.
    motor_runs : int
        How many.
    totals : Totals
        Of the whole log.
    setup_name, propeller, place, day, note : str
        As they count now: the pilot's word, else the setup's or the log's; "" where nobody says.
    tags : mapping of str to str
        The pilot's own.
    is_corrected : bool
        Whether segments were corrected by hand.
    """

    id: int
    sha256: str
    log_name: str
    added_at: str
    started_at: str | None
    analysed_at: str
    analyzer_version: str
    motor_runs: int
    totals: Totals
    setup_name: str
    propeller: str
    place: str
    day: str
    note: str
    tags: dict[str, str]
    is_corrected: bool


@dataclass(frozen=True)
class Outcome:
    """What became of one log that was to be added or analysed anew.

    Attributes
    ----------
    name : str
        File name or path.
    status : {"added", "known", "analysed", "failed"}
        "known": it is in the logbook already, and nothing was changed.
    entry_id : int or None
        None when it failed.
    error : ClimbledgerError or None
        Why it failed.
    """

    name: str
    status: Literal["added", "known", "analysed", "failed"]
    entry_id: int | None = None
    error: ClimbledgerError | None = None
