"""Tables and answers of the analyzer as page elements."""

from __future__ import annotations

from typing import TYPE_CHECKING

from dash import html

if TYPE_CHECKING:
    from collections.abc import Sequence

    from analyzer.export.answers import Answer
    from analyzer.export.table import Table


def ledger(table: Table, *, beyond: Sequence[int] = ()) -> html.Div:
    """Draw a table with its title and note; rows listed in `beyond` stand out."""
    if not table.rows:
        return html.Div()
    heading = html.Tr([html.Th(_title(column.title, column.unit), scope="col") for column in table.columns])
    rows = [
        html.Tr(
            [
                html.Td(cell, className=None if column.is_number else "words")
                for column, cell in zip(table.columns, row, strict=True)
            ],
            className="beyond" if number in beyond else None,
        )
        for number, row in enumerate(table.rows)
    ]
    return html.Div(
        [
            html.H3(table.title),
            html.Div(
                html.Table([html.Thead(heading), html.Tbody(rows)], className="ledger"),
                className="table-scroll",
                tabIndex=0,
            ),
            html.P(table.note, className="quiet") if table.note else None,
        ]
    )


def answer_list(answers: Sequence[Answer]) -> html.Ul:
    """One line a question, the state told by mark and words, not by colour alone."""
    return html.Ul(
        [
            html.Li(
                [html.Span(answer.question, className="question"), html.Span(answer.said, className="said")],
                className=f"answer {answer.state}",
            )
            for answer in answers
        ],
        className="answers",
    )


def _title(title: str, unit: str) -> str:
    return f"{title} ({unit})" if unit else title
