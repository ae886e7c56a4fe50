"""From a telemetry file to a `Log`: canonical columns in SI units, on the log's own time stamps.

`read_log` opens the file (`source`), asks the installed adapters who knows it (`adapter`), and lets the surest read it.
A text table passes through::

    encoding -> dialect -> layout -> column plan -> table -> time axis -> arrangement -> choice -> conversion -> Log

Each step is a module of that name. Whatever is inferred, converted, mended or dropped on the way is a `Notice` on the
log; what cannot be decided is an error that names the alternatives and the column map to write.

To add a kind of log, write a module with an `Adapter` and name it in the entry-point group "climbledger.ingest" of its
package; no file here changes.
"""

from __future__ import annotations

from analyzer.ingest.adapter import Adapter
from analyzer.ingest.describe import ColumnDescription
from analyzer.ingest.reading import describe_columns, read_log, read_log_bytes

__all__ = ["Adapter", "ColumnDescription", "describe_columns", "read_log", "read_log_bytes"]
