"""What all tests share: one Chromium a process, and property tests that time nothing and repeat themselves in CI."""

from __future__ import annotations

import os
import shutil
from collections.abc import Iterator
from typing import TYPE_CHECKING

import pytest
from hypothesis import settings

if TYPE_CHECKING:
    from playwright.sync_api import Browser, BrowserContext

CHROMIUM = shutil.which("chromium") or shutil.which("chromium-browser")
QUIET = [
    "--no-sandbox",
    "--disable-gpu",
    "--disable-quic",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
]

# a busy machine is no failure; what CI runs is the same each time, and people's runs look further
settings.register_profile("house", deadline=None, derandomize="CI" in os.environ, print_blob=True)
settings.load_profile("house")


@pytest.fixture(scope="session")
def profile(tmp_path_factory: pytest.TempPathFactory) -> Iterator[BrowserContext]:
    """A running Chromium as one pilot has it: what it compiled of a page's scripts serves the next visit.

    A process can hold one driver only, so no test starts its own.
    """
    if CHROMIUM is None and "CI" not in os.environ:
        pytest.skip("Chromium is not installed; install it to run the browser tests")
    from playwright.sync_api import sync_playwright

    folder = tmp_path_factory.mktemp("profile")
    with sync_playwright() as driver:
        running = driver.chromium.launch_persistent_context(
            folder, executable_path=CHROMIUM, args=QUIET, viewport={"width": 1280, "height": 900}
        )
        yield running
        running.close()


@pytest.fixture(scope="session")
def browser(profile: BrowserContext) -> Browser:
    """The same Chromium, for contexts of other kinds; each of them begins with nothing kept, and so more slowly."""
    assert profile.browser is not None
    return profile.browser
