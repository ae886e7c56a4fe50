"""The flight report on paper: the HTML report printed to PDF by a browser of the Chromium kind on this machine.

One layout serves screen and paper. The browser is found and driven by `choreographer`, which the extra
``climbledger[export]`` installs; it opens the file without a network.
"""

from __future__ import annotations

import asyncio
import base64
import tempfile
from pathlib import Path
from typing import TYPE_CHECKING, Any, Final

from analyzer.errors import NoAnswerError
from analyzer.export.flight_html import flight_section, report_page

if TYPE_CHECKING:
    from analyzer.analysis import Analysis
    from analyzer.display import System
    from analyzer.setup_file import Setup

PATIENCE_S: Final = 60.0
"""A slow laptop starts a browser and draws the plots well within this."""

_REMEDY: Final = "print the HTML report from a browser instead"


def flight_pdf(analysis: Analysis, system: System = "metric", setup: Setup | None = None) -> bytes:
    """Print one flight's report.

    Parameters
    ----------
    analysis : Analysis
        The analysed log.
    system : System
        Units.
    setup : Setup, optional
        The one it was analysed with.

    Returns
    -------
    bytes
        A PDF document.

    Raises
    ------
    NoAnswerError
        When there is no browser to print with, or it fails.
    """
    try:
        import choreographer
    except ModuleNotFoundError as error:
        raise NoAnswerError(
            "PDF needs the extra climbledger[export]", source="PDF export", remedy=f"install it, or {_REMEDY}"
        ) from error
    page = report_page([flight_section(analysis, system, setup)])
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "report.html"
        path.write_text(page, encoding="utf-8")
        try:
            return asyncio.run(asyncio.wait_for(_print(choreographer, path), PATIENCE_S))
        except (TimeoutError, RuntimeError, OSError, KeyError) as error:
            raise NoAnswerError(
                f"the browser could not print ({error})", source="PDF export", remedy=_REMEDY
            ) from error


async def _print(choreographer: Any, path: Path) -> bytes:  # noqa: ANN401 - an optional module
    async with choreographer.Browser(headless=True) as browser:
        tab = await browser.create_tab("about:blank")
        await tab.send_command("Page.enable")
        loaded = tab.subscribe_once("Page.loadEventFired")
        await tab.send_command("Page.navigate", params={"url": path.as_uri()})
        await loaded
        settings = {"printBackground": True, "preferCSSPageSize": True}
        answer = await tab.send_command("Page.printToPDF", params=settings)
        return base64.b64decode(answer["result"]["data"])
