"""What the browser saves is a document that another program can read."""

from __future__ import annotations

import csv
import io
import json
from collections.abc import Iterator
from pathlib import Path

import pytest
from playwright.sync_api import BrowserContext, Page

pytestmark = pytest.mark.browser


@pytest.fixture(scope="module")
def flight(profile: BrowserContext, server_url: str) -> Iterator[Page]:
    """The flight page, drawn; saving changes nothing on it."""
    page = profile.new_page()
    page.goto(server_url)
    page.wait_for_selector("#flight-graph .scatterlayer path", timeout=60_000)
    yield page
    page.close()


def saved(page: Page, title: str) -> bytes:
    with page.expect_download(timeout=60_000) as download:
        page.get_by_role("button", name=title).click()
    path: Path = download.value.path()
    return path.read_bytes()


def test_the_json_is_the_flight_summary_of_the_contract(flight: Page) -> None:
    document = json.loads(saved(flight, "Data (JSON)"))
    assert document["schema"] == "climbledger/flight-summary/1"
    assert document["segments"][0]["start_s"] == 0


def test_the_csv_has_a_row_for_each_result(flight: Page) -> None:
    rows = list(csv.DictReader(io.StringIO(saved(flight, "Table (CSV)").decode("utf-8-sig"))))
    assert {"motor_run", "glide"} <= {value for row in rows for value in row.values()}


def test_the_report_needs_no_other_file(flight: Page) -> None:
    page = saved(flight, "Report (HTML)").decode()
    assert page.lstrip().lower().startswith("<!doctype html>")
    assert "<script src" not in page
    assert "<link" not in page


def test_the_pdf_is_a_pdf_of_some_pages(flight: Page) -> None:
    data = saved(flight, "Report (PDF)")
    assert data.startswith(b"%PDF-")
    assert data.count(b"/Type /Page\n") + data.count(b"/Type /Page ") + data.count(b"/Type/Page") >= 1
