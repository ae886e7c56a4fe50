"""What every text on the terminal is made of: a heading, sentences, lists and tables, a blank line between."""

from __future__ import annotations

import textwrap
from typing import TYPE_CHECKING

from analyzer.errors import printable
from analyzer.export.table import WIDTH, render_text

if TYPE_CHECKING:
    from collections.abc import Iterable

    from analyzer.export.table import Table


def page(*parts: str) -> str:
    """Set parts under one another, those that say nothing left out; ends with a newline."""
    return "\n\n".join(part for part in parts if part) + "\n"


def heading(title: str, *facts: str) -> str:
    """The title, underlined, and below it one line a fact."""
    shown = printable(title)
    return "\n".join([shown, "=" * len(shown), *(fact for fact in facts if fact)])


def sentences(texts: Iterable[str]) -> str:
    """Each text on lines of its own."""
    return "\n".join(textwrap.fill(printable(text), WIDTH, subsequent_indent="  ") for text in texts)


def bullet_list(title: str, texts: Iterable[str]) -> str:
    """Texts as a list under a title; nothing where there are none."""
    items = [textwrap.fill(printable(text), WIDTH, initial_indent="  - ", subsequent_indent="    ") for text in texts]
    return "\n".join([title.upper(), *items]) if items else ""


def rendered(tables: Iterable[Table]) -> list[str]:
    """Tables for the terminal, without columns that say nothing; tables of nothing else are left out."""
    told = (table.without_empty_columns() for table in tables)
    return [render_text(table) for table in told if table.rows]
