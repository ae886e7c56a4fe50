"""The report in a real Chromium: it draws without a network and without complaints, on a desk, on a phone, on paper."""

from __future__ import annotations

from pathlib import Path

import pytest
from accessibility import serious
from made_flight import made_analysis

from analyzer.export.flight_html import flight_section, report_page

pytestmark = pytest.mark.browser
A4_PAGES = 4


@pytest.fixture(scope="module")
def address(tmp_path_factory: pytest.TempPathFactory) -> str:
    path: Path = tmp_path_factory.mktemp("report") / "report.html"
    path.write_text(report_page([flight_section(made_analysis())]), encoding="utf-8")
    return path.as_uri()


def test_it_draws_its_plots_offline_without_complaints_and_clear_to_a_screen_reader(browser, address: str) -> None:
    page = browser.new_page(viewport={"width": 1100, "height": 900})
    complaints: list[str] = []
    page.on(
        "console", lambda message: complaints.append(message.text) if message.type in ("error", "warning") else None
    )
    page.on("pageerror", lambda error: complaints.append(str(error)))
    requests: list[str] = []
    page.on("request", lambda request: requests.append(request.url))
    page.goto(address)
    page.wait_for_function("document.querySelectorAll('.live .main-svg').length >= 3")
    assert [url for url in requests if not url.startswith(("file:", "data:", "blob:"))] == []
    assert complaints == []
    assert page.locator(".still:visible").count() == 0
    assert page.locator("[data-title*='hare']").count() == 0, "no button that sends the plot away"
    ticks = page.locator("[data-figure=log-1-course] .xtick text").all_text_contents()
    assert ticks[0] == "0:00"
    assert {"4:00", "8:00"} <= set(ticks)
    assert serious(page) == []
    page.close()


def test_without_scripts_the_still_pictures_remain(browser, address: str) -> None:
    context = browser.new_context(java_script_enabled=False)
    page = context.new_page()
    page.goto(address)
    assert page.locator(".still:visible").count() == 3
    assert page.locator(".live:visible").count() == 0
    context.close()


def test_a_phone_scrolls_tables_not_the_page(browser, address: str) -> None:
    page = browser.new_page(viewport={"width": 375, "height": 800})
    page.goto(address)
    page.wait_for_function("document.querySelectorAll('.live .main-svg').length >= 3")
    assert page.evaluate("document.documentElement.scrollWidth") <= 375
    page.close()


def test_on_paper_it_is_a_few_pages_with_still_pictures(browser, address: str, tmp_path: Path) -> None:
    page = browser.new_page()
    page.goto(address)
    page.emulate_media(media="print")
    assert page.locator(".still:visible").count() == 3
    assert page.locator(".live:visible").count() == 0
    printed = page.pdf(prefer_css_page_size=True)
    pages = printed.count(b"/Type /Page\n") + printed.count(b"/Type /Page>")
    assert 1 <= pages <= A4_PAGES
    assert b"/MediaBox [0 0 594" in printed or b"/MediaBox [0 0 595" in printed  # A4: 595 points wide
    page.close()
