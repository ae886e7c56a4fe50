"""The adapter for text tables: any delimited table of telemetry, whatever its dialect."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

from analyzer.ingest.adapter import Adapter
from analyzer.ingest.describe import describe_table
from analyzer.ingest.log_builder import build_log
from analyzer.ingest.long_reader import read_long
from analyzer.ingest.source import begin_digest
from analyzer.ingest.text.dialect import find_dialect
from analyzer.ingest.text.encoding import decode, is_text
from analyzer.ingest.text.layout import lay_out
from analyzer.ingest.text.long_table import find_long
from analyzer.ingest.wide_table import read_wide

if TYPE_CHECKING:
    from collections.abc import Mapping

    from analyzer.ingest.source import Source
    from analyzer.records import Log

TABLE_CONFIDENCE: Final = 0.6
"""A text that makes a table; a format with a signature of its own is surer."""

TEXT_CONFIDENCE: Final = 0.1
"""Any other text: this adapter can best say what is wrong with it."""


def confidence(head: bytes) -> float:
    """How sure this adapter is that bytes begin a text table."""
    if not is_text(head):
        return 0.0
    return TABLE_CONFIDENCE if find_dialect(decode(head).splitlines()) is not None else TEXT_CONFIDENCE


def read(source: Source, columns: Mapping[str, str]) -> Log:
    """Read a text table.

    Raises
    ------
    LogFileError
        When it is no table, or has no usable time or altitude.
    ColumnMapError
        When the user's map does not fit it.
    """
    table, layout = lay_out(source, columns)
    digest = begin_digest(source)
    long = find_long(layout, columns)
    observations = read_wide(table, layout, columns) if long is None else read_long(table, layout, long, columns)
    return build_log(observations, source, digest)


ADAPTER: Final = Adapter(name="text table", confidence=confidence, read=read, describe=describe_table)
