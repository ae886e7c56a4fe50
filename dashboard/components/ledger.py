"""Tables and answers of the analyzer as page elements."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

import dash_mantine_components as dmc
from dash import html

from dashboard.components.attributes import aria
from dashboard.components.page_words import on_page

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

    from analyzer.export.answers import Answer
    from analyzer.export.table import Table


LONGEST_WORDS: Final = 40
"""Letters of a cell that still stands on one line; what is longer is prose."""

LONGEST_KEY: Final = 14
"""Letters of what a row is about that a phone has room for on one line."""


def ledger(table: Table, *, beyond: Sequence[int] = (), titled: bool = True, empty: str = "") -> html.Div:
    """Draw a table with its title (unless a heading above says it) and note; rows listed in `beyond` stand out.

    Of a table without rows nothing is drawn but the words that are given as `empty`.

    The whole table is one component with plain data: hundreds of cells as components of their own would keep a phone
    busy for seconds.
    """
    if not table.rows:
        return html.Div(html.P(empty, className="quiet") if empty else None)
    words = [f"words-{number}" for number, column in enumerate(table.columns, start=1) if not column.is_number]
    key, last = (max(map(len, table.columns[at].cells)) for at in (table.key - 1, -1))
    shape = [
        f"key-{table.key}",
        *(["long-key"] if key > LONGEST_KEY else []),
        *(["prose"] if last > LONGEST_WORDS else []),
    ]
    marked = [f"beyond-{number}" for number, _ in enumerate(table.rows, start=1) if number - 1 in beyond]
    content = {
        "head": [_title(column.title, column.unit) for column in table.columns],
        "body": [list(row) for row in table.rows],
    }
    return html.Div(
        [
            html.H3(table.title) if titled else None,
            html.Div(
                dmc.Table(data=content, className=" ".join(["ledger", *shape, *words, *marked]), unstyled=True),
                className="table-scroll",
                tabIndex=0,
                role="group",
                **aria(label=table.title),
            ),
            html.P(table.note, className="quiet") if table.note else None,
        ]
    )


def verdict_list(sentences: Iterable[str]) -> html.Ul:
    """Answers that need no question beside them."""
    return html.Ul(
        [html.Li(html.Span(_unbroken(said), className="said"), className="answer whole") for said in sentences],
        className="answers",
    )


def answer_list(answers: Sequence[Answer], late: str) -> html.Ul:
    """One line a question; the one without an answer yet bears the id `late`, for the answer to follow."""
    return html.Ul(
        [
            html.Li(answer_parts(answer), className=answer_class(answer))
            if answer.said
            else html.Li(answer_parts(answer), className=answer_class(answer), id=late)
            for answer in answers
        ],
        className="answers",
    )


def answer_parts(answer: Answer) -> list[html.Span]:
    """Question and answer; dots while there is none."""
    headline = html.Strong(_unbroken(on_page(answer.headline)))
    said = html.Span([headline, _unbroken(on_page(answer.rest)) if answer.said else "…"], className="said")
    return [html.Span(answer.question, className="question"), said]


def answer_class(answer: Answer) -> str:
    """The state, told by mark and words, not by colour alone."""
    return f"answer {answer.state}"


def bullets(lines: Iterable[str]) -> html.Ul:
    """Remarks in the words of the page, one a line."""
    return html.Ul([html.Li(on_page(line)) for line in lines], className="notices")


def _unbroken(text: str) -> str:
    """A share stays on one line with its sign."""
    return text.replace(" %", "\N{NO-BREAK SPACE}%")


def _title(title: str, unit: str) -> str:
    return f"{title} ({unit})" if unit else title
