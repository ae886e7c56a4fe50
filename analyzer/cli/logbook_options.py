"""Options that choose or describe entries of a logbook."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import click

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable

    from analyzer.logbook import Edits

    Decorator = Callable[[Callable[..., Any]], Callable[..., Any]]

where_option: Decorator = click.option(
    "--where",
    multiple=True,
    metavar="NAME=VALUE",
    help="Only logs of which this is true: propeller, place, setup, day, log, or a tag; may be repeated.",
)
since_option: Decorator = click.option("--since", metavar="DATE", help="Only logs of this day and later.")
until_option: Decorator = click.option("--until", metavar="DATE", help="Only logs of this day and earlier.")
propeller_option: Decorator = click.option(
    "--propeller", metavar="14x8", help="The propeller flown, where it is not the setup's."
)
place_option: Decorator = click.option("--place", help="Where it was flown.")
day_option: Decorator = click.option("--day", metavar="DATE", help="When, where the log does not say: 2026-05-31.")
note_option: Decorator = click.option("--note", help="Anything worth keeping.")
tag_option: Decorator = click.option(
    "--tag", "tags", multiple=True, metavar="NAME=VALUE", help="A tag of your own, to compare or choose by; repeatable."
)


def edits_from(
    propeller: str | None,
    place: str | None,
    day: str | None,
    note: str | None,
    tags: Iterable[str],
    untag: Iterable[str] = (),
) -> Edits:
    """Gather what the pilot says of a log.

    Raises
    ------
    OptionError
        For a tag without "=".
    """
    from analyzer.logbook import Edits, parse_tags

    changed = {**dict.fromkeys(untag), **parse_tags(tags)}
    return Edits(propeller=propeller, place=place, day=day, note=note, tags=changed)
