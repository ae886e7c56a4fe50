"""A comparison as text: the answer first, then what it rests on."""

from __future__ import annotations

import textwrap
from typing import TYPE_CHECKING, Final

from analyzer.errors import printable
from analyzer.export import comparison_tables as tables
from analyzer.export.table import render_text

if TYPE_CHECKING:
    from analyzer.comparison.records import Comparison
    from analyzer.export.display import System

WIDTH: Final = 80
_MOST_SENTENCES: Final = 10
"""Pairs put into sentences; of more groups the table tells."""


def comparison_text(comparison: Comparison, system: System = "metric") -> str:
    """Write a comparison as aligned text.

    Parameters
    ----------
    comparison : Comparison
        What was found.
    system : {"metric", "feet"}
        Units for heights and speeds.

    Returns
    -------
    str
        Lines with a final newline.
    """
    sentences = (_wrapped(sentence) for sentence in comparison.verdict[:_MOST_SENTENCES])
    return "\n".join(sentences) + "\n\n" + tables_text(comparison, system)


def tables_text(comparison: Comparison, system: System = "metric") -> str:
    """What the verdict rests on: groups, differences, what was set aside, what was not corrected."""
    notices = (notice.message for notice in comparison.notices)
    chosen = [tables.groups_table(comparison, system), tables.differences_table(comparison, system)]
    if comparison.set_aside:
        chosen.append(tables.set_aside_table(comparison))
    parts = [
        *(render_text(table) for table in chosen),
        "\n".join(_wrapped(notice) for notice in notices),
    ]
    return "\n\n".join(part for part in parts if part) + "\n"


def _wrapped(sentence: str) -> str:
    return textwrap.fill(printable(sentence), WIDTH, subsequent_indent="  ")
