"""Ids of the flight page's elements, and the flight that they show."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any, Final

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
IN_SIGHT: Final = "flight-in-sight"
"""What the pilot zoomed to: {"log": its SHA-256, "window_s": [from, to] or None}."""
LIST: Final = "segment-list"
"""Its value is the selected segment, see `segments.choice`."""
EDITOR: Final = "segment-editor"
CALIBRATE: Final = "calibrate"
DETAILS: Final = "flight-details"


def window_in_sight(flight: OpenFlight, in_sight: dict[str, Any] | None) -> tuple[float, float] | None:
    """The stretch of this flight's log that the plot shows; None for the whole."""
    if not in_sight or in_sight["log"] != flight.analysis.log.sha256 or in_sight["window_s"] is None:
        return None
    low, high = in_sight["window_s"]
    return low, high


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
    flight = workbench.shelf.get(key, tab)
    if flight is None:
        raise InputError(
            "the flight on screen is no longer open", remedy="drop its log again, or open it from the logbook"
        )
    return flight
