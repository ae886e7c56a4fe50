"""The app as it is served: the very first requests, at once, get the whole page."""

from __future__ import annotations

import threading
from concurrent.futures import ThreadPoolExecutor

from dashboard.app import create_app

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
