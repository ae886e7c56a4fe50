"""The factory: one app, its pages, its checks; nothing is built or read when this module is imported."""

from __future__ import annotations

import logging
from pathlib import Path
from typing import TYPE_CHECKING, Final

from dash import Dash, set_props

from analyzer.errors import ClimbledgerError
from dashboard import ids
from dashboard.pages import air, compare, flight, logbook, next_propeller, setup
from dashboard.security import Exposure, guard
from dashboard.shell import message, register_shell, shell
from dashboard.workbench import Workbench

if TYPE_CHECKING:
    from types import ModuleType

LOGGER: Final = logging.getLogger("climbledger.dashboard")

INDEX: Final = """<!DOCTYPE html>
<html lang="en">
    <head>
        {%metas%}
        <meta name="viewport" content="width=device-width, initial-scale=1">
        <title>{%title%}</title>
        {%favicon%}
        {%css%}
    </head>
    <body>
        <div id="trouble" class="message problem" role="alert" hidden></div>
        {%app_entry%}
        {%config%}
        {%scripts%}
        {%renderer%}
    </body>
</html>
"""

UNEXPECTED: Final = "Something went wrong inside climbledger; nothing was lost. The terminal shows the details."

PAGES: Final[dict[str, ModuleType]] = {
    "/": flight,
    "/next": next_propeller,
    "/compare": compare,
    "/air": air,
    "/logbook": logbook,
    "/setup": setup,
}
"""Each page module holds `layout(workbench)` and `register(app, workbench)`."""


def create_app(exposure: Exposure | None = None, workbench: Workbench | None = None) -> Dash:
    """Build the app.

    Parameters
    ----------
    exposure : Exposure, optional
        Where it will listen; loopback when not given.
    workbench : Workbench, optional
        What the pages work with; one with the pilot's own logbook when not given.
    """
    bench = workbench or Workbench()
    app = Dash(
        "climbledger",
        assets_folder=str(Path(__file__).parent / "assets"),
        title="climbledger",
        update_title="",
        index_string=INDEX,
        suppress_callback_exceptions=True,
        on_error=_say,
        enable_mcp=False,
    )
    guard(app.server, exposure or Exposure())
    app.layout = shell
    register_shell(app, bench, PAGES)
    for page in PAGES.values():
        page.register(app, bench)
    # The framework gathers its assets while it answers its first request; a page asked for meanwhile lacks them.
    app.server.test_client().get("/")
    return app


def _say(error: Exception) -> None:
    """Show an error of a callback in words; the trace of one that is not the user's doing goes to the server's log."""
    if not isinstance(error, ClimbledgerError):
        LOGGER.error("unexpected error in a callback", exc_info=error)
    words = error if isinstance(error, ClimbledgerError) else UNEXPECTED
    set_props(ids.MESSAGE, {"children": message(words)})
