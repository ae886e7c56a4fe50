"""The course of the log as a list: choose a segment, read it, correct its edges or its kind by hand."""

from __future__ import annotations

from collections import Counter
from typing import TYPE_CHECKING, Final

import dash_mantine_components as dmc
from dash import html

from analyzer.display import KIND_TITLES, clock, shown
from analyzer.errors import OptionError
from analyzer.figures.flight import NAMED_KINDS
from analyzer.figures.template import KIND_STYLES
from analyzer.segmentation.correction import move_edge, rename_segment
from dashboard.components.flight_graph import END_EDGE, START_EDGE, segment_at

if TYPE_CHECKING:
    from analyzer.display import System
    from analyzer.records import Log, Segmentation, SegmentKind
    from dashboard.session import OpenFlight

KIND: Final = "segment-kind"
START: Final = "segment-start"
END: Final = "segment-end"
APPLY: Final = "segment-apply"
UNDO: Final = "segment-undo"


def segment_options(flight: OpenFlight, system: System) -> list[dmc.Radio]:
    """One choice a segment: its name in the plot, its kind, start, length and change of height, in columns.

    Each is one component with one line of text: a long log has hundreds, and a phone must stay quick.
    """
    numbers: Counter[str] = Counter()
    options = []
    for index, segment in enumerate(flight.analysis.segmentation.segments):
        numbers[segment.kind] += 1
        letter = KIND_STYLES[segment.kind].letter if segment.kind in NAMED_KINDS else ""
        name = f"{letter}{numbers[segment.kind]}" if letter else ""
        change = shown("change_m", segment.end_altitude_m - segment.start_altitude_m, system)
        times = f"{clock(segment.start_s):>7}{clock(segment.duration_s):>7}"
        text = f"{name:<3}{KIND_TITLES[segment.kind]:<13}{times}{change:>9}"
        options.append(dmc.Radio(value=choice(flight, index), label=text, className=f"kind {segment.kind}", size="xs"))
    return options


def choice(flight: OpenFlight, index: int) -> str:
    """Value of the list when a segment is chosen; it names the flight, so that it never means another one's segment."""
    return f"{flight.key}:{index}"


def chosen_index(flight: OpenFlight, value: str | None) -> int | None:
    """Index of the segment that is chosen in the list; None where none of this flight is."""
    key, _, index = (value or "").rpartition(":")
    if key != flight.key or int(index) >= len(flight.analysis.segmentation.segments):
        return None
    return int(index)


def choice_after(value: str | None, before: OpenFlight, after: OpenFlight) -> str | None:
    """Value of the list after a correction or its undoing: where segments became one, or two again, they count anew.

    It then means the segment that holds the middle of the one that was chosen.
    """
    index = chosen_index(before, value)
    old, new = before.analysis.segmentation.segments, after.analysis.segmentation.segments
    if index is None or len(old) == len(new):
        return value
    found = segment_at(new, 0.5 * (old[index].start_s + old[index].end_s))
    return None if found is None else choice(after, found)


def edited(flight: OpenFlight, selected: int, kind: SegmentKind, start_s: object, end_s: object) -> Segmentation:
    """Correct one segment as the editor says; an empty field leaves its edge where it is.

    Raises
    ------
    OptionError
        When an edge would pass the next one.
    """
    cut = flight.analysis.segmentation
    before = cut.segments[selected]
    if selected > 0 and isinstance(start_s, int | float) and start_s != round(before.start_s, 2):
        cut = _moved(cut, selected - 1, start_s, flight.analysis.log)
    if selected < len(cut.segments) - 1 and isinstance(end_s, int | float) and end_s != round(before.end_s, 2):
        cut = _moved(cut, selected, end_s, flight.analysis.log)
    return cut if kind == before.kind else rename_segment(cut, selected, kind)


def moved(flight: OpenFlight, edge: int, time_s: float) -> Segmentation:
    """Move one edge, as `edited`."""
    return _moved(flight.analysis.segmentation, edge, time_s, flight.analysis.log)


def _moved(cut: Segmentation, edge: int, time_s: float, log: Log) -> Segmentation:
    low_s, high_s = cut.segments[edge].start_s, cut.segments[edge + 1].end_s
    if not low_s < time_s < high_s:
        raise OptionError(
            f"this edge can stand from {low_s:.1f} to {high_s:.1f} s ({clock(low_s)} to {clock(high_s)}), between the "
            "edges before and after it",
            remedy="to make two segments one, say of one that it was what the other is",
        )
    return move_edge(cut, edge, time_s, log)


def dragged_edge(flight: OpenFlight, value: str | None, shape: int) -> int | None:
    """Which edge of the segmentation a dragged shape of the plot is; None where it is none that can move."""
    selected = chosen_index(flight, value)
    if selected is None or shape not in (START_EDGE, END_EDGE):
        return None
    edge = selected - 1 if shape == START_EDGE else selected
    return edge if 0 <= edge < len(flight.analysis.segmentation.segments) - 1 else None


def segment_editor(flight: OpenFlight, selected: int | None) -> html.Div:
    """Fields to correct the selected segment; the edges can also be dragged in the plot."""
    segmentation = flight.analysis.segmentation
    undo = html.Button("Undo the last correction", id=UNDO, className="plain", hidden=not flight.earlier)
    if selected is None:
        hint = "Select a segment in the plot or in the list to read or correct it."
        return html.Div([html.P(hint, className="quiet"), undo])
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
                    undo,
                ],
                className="row",
            ),
            html.P(
                [html.Span("Or drag the edges in the plot. ", className="with-a-mouse"), "Measures follow at once."],
                className="quiet",
            ),
        ]
    )


def _edge(component_id: str, label: str, value_s: float, *, disabled: bool) -> dmc.NumberInput:
    return dmc.NumberInput(
        id=component_id,
        label=label,
        value=round(value_s, 2),
        step=0.5,
        decimalScale=2,
        hideControls=True,
        disabled=disabled,
        w=120,
    )
