"""From a telemetry file to a `Log`: canonical columns in SI units, on the log's own time stamps.

`read_log` opens the file (`source`), asks the installed adapters who knows it (`adapter`), and lets the surest read it.
A text table (`text_table`) passes through::

    text      encoding -> dialect -> header_row -> layout -> table     where header and data are, and its cells
    columns   headers -> meaning -> column_plan                        what each column may be
    clocks    time_axis -> stamps -> timeline                          its rows in order of time, one an instant
    columns   choice -> convert                                        which column is which channel, in which unit

What is no plain table is made one first: key and value in pairs (`text.pairs`), cells by their place on the line
(`text.aligned`). `wide_table` and `long_reader` take it to `observations`, an IGC file (`igc`) comes there by itself,
and `log_builder` makes the log. Each rule has one place: words of channels in `analyzer.channels`, other words of
headers in `columns.words`, units in `analyzer.units`, units told from values in `columns.unit_guess`, what a cell holds
in `text.cells`, `text.numbers`, `clocks.clock` and `clocks.dates`. Whatever is inferred, converted, mended or dropped
on the way is a `Notice` on the log; what cannot be decided is an error that names the alternatives and the column map
to write; `reading` adds which log it is about.

To add a kind of log, write a module with an `Adapter` and name it in the entry-point group "climbledger.ingest" of its
package; no file here changes.
"""

from __future__ import annotations

from analyzer.ingest.adapter import Adapter
from analyzer.ingest.describe import ColumnDescription
from analyzer.ingest.reading import describe_columns, read_log, read_log_bytes

__all__ = ["Adapter", "ColumnDescription", "describe_columns", "read_log", "read_log_bytes"]
