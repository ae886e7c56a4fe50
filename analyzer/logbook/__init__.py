"""The logbook: every log with its summary, setup, propeller, place and notes, and the log itself, in one database.

One SQLite file by default, a PostgreSQL database by its URL. `open_logbook` gives a `Logbook`; `add_logs` takes a whole
folder in, over all cores or over any ``concurrent.futures`` executor.
"""

from __future__ import annotations

from analyzer.logbook.batch import add_logs, find_logs, renew_entries
from analyzer.logbook.location import default_path
from analyzer.logbook.records import Edits, Entry, Outcome, parse_tags
from analyzer.logbook.store import Logbook, open_logbook

__all__ = [
    "Edits",
    "Entry",
    "Logbook",
    "Outcome",
    "add_logs",
    "default_path",
    "find_logs",
    "open_logbook",
    "parse_tags",
    "renew_entries",
]
