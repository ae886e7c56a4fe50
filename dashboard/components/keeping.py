"""Keep the flight on screen in the logbook, with a place and a note."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

import dash_mantine_components as dmc
from dash import html

if TYPE_CHECKING:
    from analyzer.logbook import Entry
    from dashboard.session import OpenFlight

KEEP: Final = "keep"
PLACE: Final = "keep-place"
NOTE: Final = "keep-note"
KEPT: Final = "kept-as"
"""Says whether the logbook has the flight."""

KEEP_IT: Final = "Keep in the logbook"
KEEP_MORE: Final = "Add to its entry"


def keep_row() -> html.Div:
    """A button and the words that go with the flight."""
    return html.Div(
        [
            dmc.TextInput(id=PLACE, label="Place", w=180),
            dmc.TextInput(id=NOTE, label="Note", className="grow"),
            html.Button(KEEP_IT, id=KEEP, className="plain main"),
        ],
        className="row",
    )


def said(flight: OpenFlight) -> str:
    """What to tell the pilot once it is kept."""
    return f"{flight.title} is in the logbook as number {flight.logbook_id}. Corrections are kept there from now on."


def kept_as(flight: OpenFlight, entry: Entry | None) -> tuple[str, str]:
    """Say beside the flight whether the logbook has it, and on the button what keeping it does."""
    if entry is None:
        return "", KEEP_IT
    of_it = ", ".join(filter(None, (entry.day, entry.place, entry.note)))
    place = f"In the logbook as number {entry.id}{f' ({of_it})' if of_it else ''}."
    if flight.logbook_id is None:
        place += " This is the log as dropped: opened from the logbook, it has the setup and corrections kept there."
    return place, KEEP_MORE
