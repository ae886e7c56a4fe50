"""A comparison as text: the answer first, then what it rests on."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

from analyzer.display import notice_lines
from analyzer.export import comparison_tables as tables
from analyzer.export.text_page import page, rendered, sentences

if TYPE_CHECKING:
    from analyzer.comparison.records import Comparison
    from analyzer.display import System

_MOST_SENTENCES: Final = 10
"""Pairs put into sentences; of more groups the table tells."""


def comparison_text(comparison: Comparison, system: System = "metric") -> str:
    """Write a comparison as aligned text.

    Parameters
    ----------
    comparison : Comparison
        What was found.
    system : System
        Units for heights and speeds.

    Returns
    -------
    str
        Lines with a final newline.
    """
    chosen = [tables.groups_table(comparison, system), tables.differences_table(comparison, system)]
    return page(
        sentences(comparison.verdict[:_MOST_SENTENCES]),
        *rendered([*chosen, tables.set_aside_table(comparison, system)]),
        sentences(notice_lines(comparison.notices, system)),
    )
