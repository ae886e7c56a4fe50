"""The course of the log as a list: choose a segment, read it, correct its edges or its kind by hand."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

import dash_mantine_components as dmc
from dash import html

from analyzer.export.display import KIND_TITLES, clock, shown
from dashboard.components.attributes import aria

if TYPE_CHECKING:
    from analyzer.export.display import System
    from analyzer.records import Segmentation

ROW: Final = "segment-row"
KIND: Final = "segment-kind"
START: Final = "segment-start"
END: Final = "segment-end"
APPLY: Final = "segment-apply"


def segment_list(segmentation: Segmentation, selected: int | None, system: System) -> html.Table:
    """One row a segment; its button selects it, and says so to a screen reader."""
    rows = []
    for index, segment in enumerate(segmentation.segments):
        change_m = segment.end_altitude_m - segment.start_altitude_m
        is_selected = index == selected
        button = html.Button(
            KIND_TITLES[segment.kind],
            id={"type": ROW, "index": index},
            className=f"kind {segment.kind}",
            **aria(pressed="true" if is_selected else "false"),
        )
        cells = (clock(segment.start_s), clock(segment.duration_s), shown("change_m", change_m, system))
        rows.append(
            html.Tr(
                [html.Td(button), *(html.Td(cell) for cell in cells)], className="selected" if is_selected else None
            )
        )
    heading = html.Tr([html.Th(title, scope="col") for title in ("kind", "start", "time", "height")])
    return html.Table([html.Thead(heading), html.Tbody(rows)], className="ledger segments")


def segment_editor(segmentation: Segmentation, selected: int | None) -> html.Div:
    """Fields to correct the selected segment; the edges can also be dragged in the plot."""
    if selected is None or not 0 <= selected < len(segmentation.segments):
        return html.Div(html.P("Select a segment in the plot or in the list to read or correct it.", className="quiet"))
    segment = segmentation.segments[selected]
    is_first, is_last = selected == 0, selected == len(segmentation.segments) - 1
    return html.Div(
        [
            html.H3(f"{KIND_TITLES[segment.kind].capitalize()} at {clock(segment.start_s)}"),
            html.Div(
                [
                    dmc.Select(
                        id=KIND,
                        label="It was",
                        data=[{"value": kind, "label": title} for kind, title in KIND_TITLES.items()],
                        value=segment.kind,
                        allowDeselect=False,
                        w=170,
                    ),
                    _edge(START, "from (s)", segment.start_s, disabled=is_first),
                    _edge(END, "to (s)", segment.end_s, disabled=is_last),
                    html.Button("Correct it", id=APPLY, className="plain"),
                ],
                className="row",
            ),
            html.P("Or drag the edges in the plot. Measures follow at once.", className="quiet"),
        ]
    )


def _edge(component_id: str, label: str, value_s: float, *, disabled: bool) -> dmc.NumberInput:
    return dmc.NumberInput(
        id=component_id, label=label, value=round(value_s, 2), step=0.5, decimalScale=2, disabled=disabled, w=120
    )
