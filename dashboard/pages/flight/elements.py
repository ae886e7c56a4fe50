"""Ids of the flight page's elements, and the flight that they show."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

from dash.exceptions import PreventUpdate

from analyzer.errors import InputError

if TYPE_CHECKING:
    from dashboard.session import OpenFlight
    from dashboard.workbench import Workbench

DROP: Final = "drop"
DROPPED: Final = "dropped"
"""What was dropped, on its way to the server: {"names", "contents", "at"}."""
CHOOSE: Final = "flight-choice"
QUESTION: Final = "column-question"
HEADLINE: Final = "flight-headline"
BESIDE_OTHERS: Final = "beside-others"
"""The answer that needs the logbook: it follows the others, which need not wait for it."""
GRAPH: Final = "flight-graph"
LIST: Final = "segment-list"
"""Its value is the selected segment, see `segments.choice`."""
EDITOR: Final = "segment-editor"
CALIBRATE: Final = "calibrate"
DETAILS: Final = "flight-details"


def flight_on_screen(workbench: Workbench, key: str | None, tab: str | None) -> OpenFlight:
    """The flight that a tab shows.

    Raises
    ------
    PreventUpdate
        While none is chosen yet: nothing is then changed on the page.
    InputError
        When the server has it no longer.
    """
    if key is None:
        raise PreventUpdate
    flight = workbench.shelf.get(key, tab or "")
    if flight is None:
        raise InputError(
            "the flight on screen is no longer open", remedy="drop its log again, or open it from the logbook"
        )
    return flight
