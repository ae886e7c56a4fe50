"""Flight summaries as one flat CSV table, safe to open in a spreadsheet.

One row per result, whatever its kind; the columns are the JSON keys, empty where a kind has no such value::

    log, kind, start_s, end_s, ...

``kind`` is ``flight``, one of the four kinds of segment (a motor run, glide or thermal climb with everything that was
measured of it), ``glide_part`` (in one flight mode), ``totals``, ``power_system``, ``limit``, ``match``, ``finding`` or
``notice``. Values are SI, as in the JSON.
"""

from __future__ import annotations

import csv
import io
import re
from dataclasses import fields
from typing import TYPE_CHECKING, Any, Final

from analyzer.export.serializer import to_plain
from analyzer.records import (
    Finding,
    Flight,
    Glide,
    LimitCheck,
    MatchItem,
    MotorRun,
    Notice,
    PowerSystemMeasures,
    Segment,
    ThermalClimb,
    Totals,
)

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator

    from analyzer.records import FlightSummary

_ROW_RECORDS: Final = (
    Segment, Flight, MotorRun, Glide, ThermalClimb, Totals, PowerSystemMeasures, LimitCheck, MatchItem, Finding,
    Notice,
)  # fmt: skip
COLUMNS: Final = tuple(
    dict.fromkeys(
        ["log", "kind", *(entry.name for record in _ROW_RECORDS for entry in fields(record) if entry.name != "limits")]
    )
)
"""Every column of the table, in order."""

_STARTERS: Final = (
    r"=+\-@\N{FULLWIDTH EQUALS SIGN}\N{FULLWIDTH PLUS SIGN}\N{FULLWIDTH HYPHEN-MINUS}\N{FULLWIDTH COMMERCIAL AT}"
)
_FORMULA_START: Final = re.compile(rf"(^|[,;|\"'])(\s*)(?=[{_STARTERS}])")
_LINE_BREAKING: Final = re.compile(r"[\x00-\x1f\x7f]+")


def csv_table(summaries: Iterable[FlightSummary]) -> str:
    """Write summaries as one table.

    Parameters
    ----------
    summaries : iterable of FlightSummary
        One log each; their rows follow one another, and ``log`` names the file.

    Returns
    -------
    str
        RFC 4180 with a heading line; an absent value is an empty cell.
    """
    stream = io.StringIO(newline="")
    writer = csv.DictWriter(stream, COLUMNS, restval="", quoting=csv.QUOTE_MINIMAL, lineterminator="\r\n")
    writer.writeheader()
    for summary in summaries:
        name = summary.log.name
        writer.writerows({key: _cell(value) for key, value in {"log": name, **row}.items()} for row in _rows(summary))
    return stream.getvalue()


def safe_text(text: str) -> str:
    """Keep a spreadsheet from taking a text for a formula.

    A text that begins with =, +, -, @ (or their full-width forms), or holds one of them right after a character that
    a spreadsheet may take for a separator or a quote, gets an apostrophe before it; control characters, tabs and line
    breaks among them, become a space.

    References
    ----------
    OWASP Foundation, "CSV Injection", https://owasp.org/www-community/attacks/CSV_Injection
    """
    return _FORMULA_START.sub(r"\1\2'", _LINE_BREAKING.sub(" ", text))


def _cell(value: object) -> object:
    if isinstance(value, str):
        return safe_text(value)
    if isinstance(value, bool):
        return str(value).lower()
    if isinstance(value, list):
        return safe_text("; ".join(map(str, value)))
    return "" if value is None else value


def _rows(summary: FlightSummary) -> Iterator[dict[str, Any]]:
    yield from ({"kind": "flight", **to_plain(flight)} for flight in summary.flights)
    yield from _segment_rows(summary)
    yield {"kind": "totals", **to_plain(summary.totals)}
    findings = to_plain(summary.power_system)
    limits = findings.pop("limits")
    yield {"kind": "power_system", **findings}
    yield from ({"kind": "limit", **limit} for limit in limits)
    yield from ({"kind": "match", **to_plain(item)} for item in summary.match)
    yield from ({"kind": "finding", **to_plain(finding)} for finding in summary.findings)
    yield from ({"kind": "notice", **to_plain(notice)} for notice in summary.log.notices)


def _segment_rows(summary: FlightSummary) -> Iterator[dict[str, Any]]:
    """One row per segment with all that was measured of it, and one per part of a glide in one flight mode."""
    results: dict[str, tuple[Any, ...]] = {
        "motor_run": summary.motor_runs,
        "glide": summary.glides,
        "thermal_climb": summary.thermal_climbs,
    }
    for segment in summary.segments:
        for entry in _inside(segment, results.get(segment.kind, ())) or [segment]:
            yield {**to_plain(segment), **to_plain(entry), "kind": segment.kind}
        if segment.kind == "glide":
            for part in _inside(segment, summary.glide_parts):
                yield {"kind": "glide_part", **to_plain(part)}


def _inside(segment: Segment, entries: tuple[Any, ...]) -> list[Any]:
    """The results whose middle lies in a segment."""
    return [entry for entry in entries if segment.start_s <= 0.5 * (entry.start_s + entry.end_s) <= segment.end_s]
