"""From a telemetry file to a `Log`: canonical columns in SI units, on the log's own time stamps.

`read_log` opens the file (`source`), asks the installed adapters who knows it (`adapter`), and lets the surest read it.
A text table passes through::

    encoding -> dialect -> header_row -> layout          where header and data are
    column_plan -> table -> table_time -> arrangement    what is read, and its rows in order of time
    choice -> convert -> log_builder                     which column is which channel, in which unit

Each step is a module. What they go by stands in one place each: words of channels in `analyzer.channels` and of
anything else in `words`, units in `analyzer.units`, units told from values in `unit_guess`, cells in `cells`,
`numbers`, `clock`, `dates` and `positions`, clocks that jump in `stamps`. Whatever is inferred, converted, mended or
dropped on the way is a `Notice` on the log; what cannot be decided is an error that names the alternatives and the
column map to write.

To add a kind of log, write a module with an `Adapter` and name it in the entry-point group "climbledger.ingest" of its
package; no file here changes.
"""

from __future__ import annotations

from analyzer.ingest.adapter import Adapter
from analyzer.ingest.describe import ColumnDescription
from analyzer.ingest.reading import describe_columns, read_log, read_log_bytes

__all__ = ["Adapter", "ColumnDescription", "describe_columns", "read_log", "read_log_bytes"]
