"""The report stands alone, says what the summary says, and shows a hostile log without obeying it."""

from __future__ import annotations

import json
import re
from dataclasses import replace
from html.parser import HTMLParser

import pytest
from made_flight import made_analysis, made_summary

from analyzer.cautions import REPORT_CAUTIONS
from analyzer.export.flight_html import flight_section, report_page
from analyzer.records import FlightSummary, LimitCheck, Notice, PowerSystemMeasures
from analyzer.setup_file import Setup

HOSTILE = "</script><script>alert(1)</script><img src=x onerror=alert(1)>\"'&{{7*7}}"


class Page(HTMLParser):
    """Tags with their attributes, and the text outside scripts and styles."""

    def __init__(self, page: str) -> None:
        super().__init__()
        self.tags: list[tuple[str, dict[str, str | None]]] = []
        self.text = ""
        self._within: list[str] = []
        self.feed(page)

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.tags.append((tag, dict(attrs)))
        if tag in ("script", "style"):
            self._within.append(tag)

    def handle_endtag(self, tag: str) -> None:
        if self._within and self._within[-1] == tag:
            self._within.pop()

    def handle_data(self, data: str) -> None:
        if not self._within:
            self.text += data


@pytest.fixture(scope="module")
def page() -> str:
    return report_page([flight_section(made_analysis(), setup=Setup(name="Demo 2.5 m"))])


def hostile_summary() -> FlightSummary:
    summary = made_summary()
    limit = LimitCheck(HOSTILE, 30.0, 34.0, -4.0, ok=False, unit="A")
    return replace(
        summary,
        log=replace(summary.log, name=HOSTILE, notices=(Notice("x", HOSTILE),), started_at=HOSTILE),
        glides=(replace(summary.glides[0], flight_mode=HOSTILE),),
        power_system=PowerSystemMeasures(None, None, None, None, (limit,)),
        match=(replace(summary.match[0], quantity=HOSTILE),),
    )


def test_the_decisions_come_first(page: str) -> None:
    text = Page(page).text
    order = ["Inside its limits?", "What did the climbs cost?", "Limits", "Climbs and their cost", "Prediction against"]
    order += ["Course of the flight", "Glides", "Thermal climbs", "About the log", "Cautions"]
    places = [text.index(words) for words in order]
    assert places == sorted(places)


def test_numbers_names_and_cautions_are_there(page: str) -> None:
    text = Page(page).text
    for words in ("171 ±2", "793 ±10", "controller current, continuous", "DIFFERS", "Demo 2.5 m", "2026-05-02 14:31"):
        assert words in text
    assert "Channels: time, altitude," in text
    for caution in REPORT_CAUTIONS:
        assert caution in text


def test_nothing_is_fetched_from_anywhere(page: str) -> None:
    parsed = Page(page)
    for tag, attributes in parsed.tags:
        assert tag not in ("link", "iframe", "object", "embed", "base")
        assert "src" not in attributes
        assert not (attributes.get("href") or "#").startswith(("http", "//"))
    policies = [entry["content"] for tag, entry in parsed.tags if entry.get("http-equiv") == "Content-Security-Policy"]
    assert len(policies) == 1
    assert policies[0].startswith("default-src 'none'")
    assert "http" not in policies[0]


def test_plots_cannot_be_sent_anywhere(page: str) -> None:
    drawings = re.findall(r'<script type="application/json"[^>]*>(.*?)</script>', page, re.DOTALL)
    assert len(drawings) == 3
    for drawing in drawings:
        assert json.loads(drawing)["config"]["showSendToCloud"] is False


def test_each_plot_has_a_still_picture_for_paper(page: str) -> None:
    stills = [attributes for tag, attributes in Page(page).tags if tag == "svg" and attributes.get("class") == "still"]
    assert len(stills) == 3
    assert all(entry["aria-label"] for entry in stills)


def test_a_hostile_log_is_shown_not_obeyed() -> None:
    harmless = Page(report_page([flight_section(made_analysis())]))
    hostile = Page(report_page([flight_section(made_analysis(hostile_summary()))]))
    assert HOSTILE in hostile.text
    assert "49" not in hostile.text[: hostile.text.index("Limits")]
    names = {tag for tag, _ in hostile.tags}
    assert names <= {tag for tag, _ in harmless.tags}
    assert sum(tag == "script" for tag, _ in hostile.tags) == sum(tag == "script" for tag, _ in harmless.tags)
    assert not any(name.startswith("on") for _, attributes in hostile.tags for name in attributes)


def test_control_characters_do_not_reach_the_page() -> None:
    """A file's name and a flight mode, which stands in the cell of a table, may hold any."""
    summary, hostile = made_summary(), "a\x00\x1b[31m\u202egnp.csv"
    glides = (replace(summary.glides[0], flight_mode=hostile),)
    named = replace(summary, log=replace(summary.log, name=hostile), glides=glides)
    text = Page(report_page([flight_section(made_analysis(named))])).text
    assert "\x1b" not in text
    assert "\u202e" not in text


def test_several_logs_share_one_page_and_one_plotting_script() -> None:
    sections = [flight_section(made_analysis(), number=number) for number in (1, 2)]
    page = report_page(sections)
    single = report_page(sections[:1])
    assert len(page) - len(single) < 0.1 * len(single)
    identifiers = [attributes["id"] for _, attributes in Page(page).tags if "id" in attributes]
    assert len(identifiers) == len(set(identifiers))
    assert 'href="#log-2"' in page


def test_a_log_without_flights_still_makes_a_page() -> None:
    summary = replace(made_summary(), flights=(), segments=(), motor_runs=(), glides=(), thermal_climbs=(), match=())
    text = Page(report_page([flight_section(made_analysis(summary))])).text
    assert "The motor made no climb" in text
    assert "Climbs and their cost" not in text
