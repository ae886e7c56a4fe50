"""Keep the flight on screen in the logbook, with a place and a note."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

import dash_mantine_components as dmc
from dash import html

if TYPE_CHECKING:
    from dashboard.session import OpenFlight

KEEP: Final = "keep"
PLACE: Final = "keep-place"
NOTE: Final = "keep-note"


def keep_row() -> html.Div:
    """A button and the words that go with the flight."""
    return html.Div(
        [
            dmc.TextInput(id=PLACE, label="Place", w=180),
            dmc.TextInput(id=NOTE, label="Note", className="grow"),
            html.Button("Keep in the logbook", id=KEEP, className="plain main"),
        ],
        className="row",
    )


def said(flight: OpenFlight) -> str:
    """What to tell the pilot once it is kept."""
    return f"{flight.title} is in the logbook as number {flight.logbook_id}. Corrections are kept there from now on."
