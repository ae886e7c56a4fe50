"""A real server on loopback, and pages that note every request and every complaint."""

from __future__ import annotations

import threading
import time
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest
from playwright.sync_api import BrowserContext, Page
from waitress import create_server

from dashboard.app import create_app
from dashboard.workbench import Workbench

READY_MS = 60_000


@pytest.fixture(scope="session")
def server_url(tmp_path_factory: pytest.TempPathFactory) -> Iterator[str]:
    """The dashboard with the project's sample flights and an empty logbook."""
    logbook = tmp_path_factory.mktemp("logbook") / "flights.sqlite"
    app = create_app(workbench=Workbench(logbook=str(logbook)))
    server = create_server(app.server, host="127.0.0.1", port=0, threads=8)
    thread = threading.Thread(target=server.run, daemon=True)
    thread.start()
    yield f"http://127.0.0.1:{server.effective_port}"
    server.task_dispatcher.shutdown()  # an answer still on its way would find the server's pipe closed
    server.trigger.pull_trigger(server.close)  # by its own thread: what that polls must not be closed under its hands
    thread.join(timeout=1.0)


class Watched:
    """A page that notes every request and every error of the console."""

    def __init__(self, page: Page, url: str) -> None:
        self.page = page
        self.url = url
        self.foreign: list[str] = []
        self.errors: list[str] = []
        page.set_default_timeout(READY_MS)
        page.on("request", self._note_request)
        page.on("console", lambda line: self.errors.append(line.text) if line.type == "error" else None)
        page.on("pageerror", lambda error: self.errors.append(str(error)))

    def _note_request(self, request: object) -> None:
        address = getattr(request, "url", "")
        if not address.startswith((self.url, "data:", "blob:")):
            self.foreign.append(address)

    def open(self, path: str = "/") -> Page:
        self.page.goto(self.url + path)
        self.page.wait_for_selector("#page > *")
        return self.page

    def start(self) -> Page:
        """Open the first page, and wait for the invented flights on it."""
        self.open()
        self.page.wait_for_selector(".sample-flag")
        return self.page

    def drop(self, path: Path) -> None:
        self.page.set_input_files("#drop input[type=file]", str(path))


@pytest.fixture
def watched(profile: BrowserContext, server_url: str) -> Iterator[Watched]:
    """A tab of a pilot who was never here: nothing that a test before kept in the browser is left."""
    page = profile.new_page()
    forget = {"origin": server_url, "storageTypes": "cookies,indexeddb,local_storage"}
    profile.new_cdp_session(page).send("Storage.clearDataForOrigin", forget)
    yield Watched(page, server_url)
    profile.set_offline(False)
    page.close()


@pytest.fixture
def until() -> Callable[[Page, str], None]:
    """Wait until an expression of the page is true; the browser's own polling needs an eval that the page forbids."""

    def wait(page: Page, expression: str) -> None:
        end = time.monotonic() + READY_MS / 1000
        while not page.evaluate(expression):
            assert time.monotonic() < end, f"never true: {expression}"
            page.wait_for_timeout(100)

    return wait
