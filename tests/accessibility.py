"""What an accessibility checker finds on a page that is open in a browser."""

from __future__ import annotations

from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import Page

AT_REST = "document.getAnimations().every((one) => one.playState !== 'running')"
"""Nothing is half faded in any more, whose contrast would be that of no page."""
CONTRAST = ("color-contrast",)
"""Rules of a page's colours alone."""


def serious(page: Page, rules: tuple[str, ...] = ()) -> list[tuple[str, list[str]]]:
    """Rules that a page breaks seriously, each with the elements that do; all rules, or those that are named."""
    only = {"runOnly": list(rules)} if rules else {}
    violations = Axe().run(page, options={"resultTypes": ["violations"], **only}).response["violations"]
    return [
        (entry["id"], [node["html"][:160] for node in entry["nodes"]])
        for entry in violations
        if entry["impact"] in ("serious", "critical")
    ]
