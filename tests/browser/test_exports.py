"""What the browser saves is a document that another program can read."""

from __future__ import annotations

import csv
import io
import json
from pathlib import Path

import pytest

pytestmark = pytest.mark.browser


def saved(watched, title: str) -> bytes:
    page = watched.open()
    page.wait_for_selector("#flight-graph .scatterlayer path")
    with page.expect_download(timeout=60_000) as download:
        page.get_by_role("button", name=title).click()
    path: Path = download.value.path()
    return path.read_bytes()


def test_the_json_is_the_flight_summary_of_the_contract(watched) -> None:
    document = json.loads(saved(watched, "Data (JSON)"))
    assert document["schema"] == "climbledger/flight-summary/1"
    assert document["segments"][0]["start_s"] == 0


def test_the_csv_has_a_row_for_each_result(watched) -> None:
    rows = list(csv.DictReader(io.StringIO(saved(watched, "Table (CSV)").decode("utf-8-sig"))))
    assert {"motor_run", "glide"} <= {value for row in rows for value in row.values()}


def test_the_report_needs_no_other_file(watched) -> None:
    page = saved(watched, "Report (HTML)").decode()
    assert page.lstrip().lower().startswith("<!doctype html>")
    assert "<script src" not in page
    assert "<link" not in page


def test_the_pdf_is_a_pdf_of_some_pages(watched) -> None:
    data = saved(watched, "Report (PDF)")
    assert data.startswith(b"%PDF-")
    assert data.count(b"/Type /Page\n") + data.count(b"/Type /Page ") + data.count(b"/Type/Page") >= 1
