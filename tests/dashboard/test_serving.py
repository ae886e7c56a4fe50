"""The app as it is served: the very first requests, at once, get the whole page."""

from __future__ import annotations

import threading
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path

import pytest

from analyzer.errors import LogbookError, OptionError
from dashboard.app import create_app
from dashboard.server import serve

AT_ONCE = 8


def test_the_first_pages_asked_for_at_once_are_whole() -> None:
    app = create_app()
    start = threading.Barrier(AT_ONCE)

    def page(_: int) -> str:
        start.wait()
        return app.server.test_client().get("/", headers={"Host": "localhost"}).get_data(as_text=True)

    with ThreadPoolExecutor(AT_ONCE) as pool:
        pages = list(pool.map(page, range(AT_ONCE)))
    assert [("behaviour.js" in text, "climbledger.css" in text) for text in pages] == [(True, True)] * AT_ONCE


def test_a_file_that_is_no_logbook_is_said_at_the_start(tmp_path: Path) -> None:
    notes = tmp_path / "notes.txt"
    notes.write_text("bring the long wing\n" * 400)
    with pytest.raises(LogbookError, match=r"notes\.txt"):
        serve("127.0.0.1", 0, str(notes))
    assert notes.read_text().startswith("bring the long wing")


def test_an_empty_host_is_not_every_address() -> None:
    with pytest.raises(OptionError, match=r"--host"):
        serve("", 0, None)
