"""Hand the flight on from where you are: CSV, JSON, HTML, PDF; the figures through the plot's own picture button."""

from __future__ import annotations

import base64
import re
from typing import TYPE_CHECKING, Any, Final

from dash import dcc, html

if TYPE_CHECKING:
    from analyzer.display import System
    from dashboard.session import OpenFlight

FORM: Final = "export-form"
DOWNLOAD: Final = "export-download"

FORMS: Final = (
    ("html", "Report (HTML)"),
    ("pdf", "Report (PDF)"),
    ("csv", "Table (CSV)"),
    ("json", "Data (JSON)"),
)


def export_row() -> html.Div:
    """Buttons for each form of the flight's summary."""
    buttons = [html.Button(title, id={"type": FORM, "form": form}, className="plain") for form, title in FORMS]
    note = html.Span("Pictures: the camera button of the plot saves SVG.", className="quiet")
    return html.Div([*buttons, note, dcc.Download(id=DOWNLOAD)], className="row")


def export(flight: OpenFlight, form: str, system: System) -> dict[str, Any]:
    """Make one document for the browser to save.

    Raises
    ------
    NoAnswerError
        When a PDF cannot be printed on this machine.
    KeyError
        For a form that is none of `FORMS`.
    """
    makers = {"html": _html, "pdf": _pdf, "csv": _csv, "json": _json}
    data = makers[form](flight, system)
    return {
        "filename": f"{_safe_stem(flight.title)}.{form}",
        "content": base64.b64encode(data).decode("ascii"),
        "base64": True,
    }


def _html(flight: OpenFlight, system: System) -> bytes:
    from analyzer.export.flight_html import flight_section, report_page

    return report_page([flight_section(flight.analysis, system, flight.setup)]).encode()


def _pdf(flight: OpenFlight, system: System) -> bytes:
    from analyzer.export.flight_pdf import flight_pdf

    return flight_pdf(flight.analysis, system, flight.setup)


def _csv(flight: OpenFlight, _: System) -> bytes:
    from analyzer.export.csv_table import csv_table

    return csv_table([flight.analysis.summary]).encode()


def _json(flight: OpenFlight, _: System) -> bytes:
    from analyzer.export.json_document import json_document

    return json_document(flight.analysis.summary).encode()


def _safe_stem(title: str) -> str:
    """A file name without folders or odd characters, whatever the log was called."""
    stem = title.replace("\\", "/").rpartition("/")[2].rpartition(".")[0] or title
    return re.sub(r"[^\w.\- ]+", "_", stem).strip(". ")[:80] or "flight"
