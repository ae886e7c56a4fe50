"""From a telemetry file to a `Log`: canonical columns in SI units, on the log's own time stamps."""

from __future__ import annotations

from analyzer.ingest.text_table import read_log, read_log_bytes

__all__ = ["read_log", "read_log_bytes"]
