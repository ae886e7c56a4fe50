"""What all tests share: one Chromium a process, and property tests that time nothing and repeat themselves in CI."""

from __future__ import annotations

import os
import shutil
from collections.abc import Iterator
from typing import TYPE_CHECKING

import pytest
from hypothesis import settings

if TYPE_CHECKING:
    from playwright.sync_api import Browser

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
def browser() -> Iterator[Browser]:
    """One running Chromium; a process can hold one driver only, so no test starts its own."""
    if CHROMIUM is None and "CI" not in os.environ:
        pytest.skip("Chromium is not installed; install it to run the browser tests")
    from playwright.sync_api import sync_playwright

    with sync_playwright() as driver:
        running = driver.chromium.launch(executable_path=CHROMIUM, args=QUIET)
        yield running
        running.close()
