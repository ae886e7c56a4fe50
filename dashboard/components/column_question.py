"""What is in this column? Asked in place, with a look at the values, when a log cannot be read without an answer."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING, Any, Final

import dash_mantine_components as dmc
from dash import html

from analyzer.channels import CHANNELS
from dashboard.components.attributes import aria

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from analyzer.ingest import ColumnDescription
    from dashboard.session import HeldUpload

CHANNEL: Final = "asked-channel"
UNIT: Final = "asked-unit"
ANSWER: Final = "asked-answer"
CANCEL: Final = "asked-cancel"
AGAIN: Final = "asked-again"
UNUSED: Final = "ignore"
MAX_COLUMNS: Final = 60
"""More than that is said in the setup, which holds columns too."""


def column_question(held: HeldUpload) -> html.Div:
    """Build the question: one row a column, its first values, what it seems to be, and the choice."""
    rows = [_row(column) for column in held.columns[:MAX_COLUMNS]]
    heading = html.Tr([html.Th(title, scope="col") for title in ("column", "is", "unit")])
    return html.Div(
        [
            html.H2(f"{held.name}: what is in its columns?"),
            html.P(f"{held.problem[:1].upper()}{held.problem[1:]}."),
            html.Div(
                html.Table(
                    [html.Thead(heading), html.Tbody(rows)], className="ledger question words-1 words-2 words-3"
                ),
                className="table-scroll",
                tabIndex=0,
                role="group",
                **aria(label="What is in its columns?"),
            ),
            html.Div(
                [
                    html.Button("Read it so", id=ANSWER, className="plain main"),
                    html.Button("Leave it", id=CANCEL, className="plain"),
                    html.Span("The answer is remembered for logs with the same header.", className="quiet"),
                ],
                className="row",
            ),
        ],
        className="sheet question",
    )


def column_map(
    headers: Sequence[Mapping[str, str]], channels: Sequence[str | None], units: Sequence[str | None]
) -> dict[str, str]:
    """Turn the answers into a column map: header to "channel [unit]"."""
    answered = {}
    for header, channel, unit in zip(headers, channels, units, strict=True):
        chosen = channel or UNUSED
        answered[header["header"]] = f"{chosen} [{unit.strip()}]" if unit and chosen != UNUSED else chosen
    return answered


def as_answered(columns: Sequence[ColumnDescription], answered: Mapping[str, str]) -> tuple[ColumnDescription, ...]:
    """The columns as an earlier answer has them: "channel [unit]", or not used."""
    return tuple(
        replace(column, channel=channel if channel != UNUSED else None, unit=unit.rstrip("]") or None)
        if column.header in answered
        else column
        for column in columns
        for channel, _, unit in [answered.get(column.header, "").partition(" [")]
    )


def signature(columns: Sequence[ColumnDescription]) -> str:
    """What logs with the same header have in common."""
    return "\x1f".join(column.header for column in columns)


def _row(column: ColumnDescription) -> html.Tr:
    likely = [name for name in (column.channel, *column.alternatives) if name]
    rest = [channel.name for channel in CHANNELS if channel.name not in likely]
    titles = {channel.name: channel.title for channel in CHANNELS}
    options: list[dict[str, Any]] = [{"value": UNUSED, "label": "not used"}]
    options += [{"value": name, "label": titles[name]} for name in (*likely, *rest) if name in titles]
    choice = dmc.Select(
        id={"type": CHANNEL, "header": column.header},
        data=options,
        value=column.channel if column.channel in titles else UNUSED,
        allowDeselect=False,
        searchable=True,
        w="100%",
        **aria(label=f"{column.header} is"),
    )
    unit = dmc.TextInput(
        id={"type": UNIT, "header": column.header},
        value=column.unit or "",
        placeholder="unit",  # on a phone no heading says it
        w="100%",
        **aria(label=f"unit of {column.header}"),
    )
    name = html.Td([html.B(column.header), html.Div(", ".join(column.sample), className="quiet")])
    return html.Tr([name, html.Td(choice), html.Td(unit)])
