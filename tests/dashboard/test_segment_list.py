"""The list of segments and its editor: what a choice, a dragged edge and typed edges mean."""

from __future__ import annotations

import re
from dataclasses import replace

import pytest
import simulator

from analyzer.analysis import analyze_bytes
from analyzer.errors import OptionError
from dashboard.components.flight_graph import END_EDGE, START_EDGE, moved_shape, selection_shapes
from dashboard.components.segments import choice, choice_after, chosen_index, dragged_edge, edited, moved
from dashboard.preferences import LOOKS
from dashboard.session import OpenFlight

SEED = 81


@pytest.fixture(scope="module")
def flight() -> OpenFlight:
    data = simulator.simulate(simulator.scenario_for("normal", SEED), SEED).log.to_csv(index=False).encode()
    return OpenFlight("own", "tab", "f.csv", analyze_bytes(data, "f.csv"))


def test_a_choice_means_a_segment_of_its_own_flight_alone(flight: OpenFlight) -> None:
    assert chosen_index(flight, choice(flight, 1)) == 1
    assert chosen_index(replace(flight, key="other"), choice(flight, 1)) is None
    assert chosen_index(flight, choice(flight, len(flight.analysis.segmentation.segments))) is None
    assert [chosen_index(flight, value) for value in (None, "")] == [None, None]


def test_a_dragged_edge_is_one_between_two_segments(flight: OpenFlight) -> None:
    last = len(flight.analysis.segmentation.segments) - 1
    assert dragged_edge(flight, choice(flight, 1), START_EDGE) == 0
    assert dragged_edge(flight, choice(flight, 1), END_EDGE) == 1
    assert dragged_edge(flight, choice(flight, 0), START_EDGE) is None
    assert dragged_edge(flight, choice(flight, last), END_EDGE) is None
    assert dragged_edge(flight, choice(flight, 1), END_EDGE + 1) is None
    assert dragged_edge(flight, None, START_EDGE) is None


def test_an_edge_typed_in_moves_and_an_empty_field_leaves_it(flight: OpenFlight) -> None:
    before = flight.analysis.segmentation.segments[1]
    moved = edited(flight, 1, before.kind, "", before.end_s - 1.0)
    assert moved.segments[1].start_s == before.start_s
    assert moved.segments[1].end_s == pytest.approx(before.end_s - 1.0)
    assert moved.segments[2].start_s == moved.segments[1].end_s


def test_where_segments_become_one_the_choice_stays_with_the_one_that_was_corrected(flight: OpenFlight) -> None:
    cut = flight.analysis.segmentation
    index = next(n for n, one in enumerate(cut.segments) if n > 0 and one.kind == "thermal_climb")
    kind = cut.segments[index - 1].kind
    merged = edited(flight, index, kind, "", "")
    after = replace(flight, analysis=replace(flight.analysis, segmentation=merged))
    chosen = choice_after(choice(flight, index), flight, after)
    assert chosen == choice(after, index - 1)
    assert merged.segments[index - 1].kind == kind
    assert choice_after(choice(flight, index), flight, flight) == choice(flight, index)
    assert choice_after(None, flight, after) is None


@pytest.mark.parametrize("time_s", [99999.0, -5.0])
def test_an_edge_beyond_its_neighbours_is_refused_with_the_limits(flight: OpenFlight, time_s: float) -> None:
    """Held at the neighbour's edge, it would leave a segment of 0:00 that nobody asked for."""
    segments = flight.analysis.segmentation.segments
    limits = f"{segments[1].start_s:.1f} to {segments[2].end_s:.1f} s"
    with pytest.raises(OptionError, match=re.escape(limits)):
        edited(flight, 1, segments[1].kind, "", time_s)
    with pytest.raises(OptionError, match=re.escape(limits)):
        moved(flight, 1, time_s)


def test_a_kind_is_corrected_without_moving_an_edge(flight: OpenFlight) -> None:
    before = flight.analysis.segmentation.segments
    renamed = edited(flight, 1, "ground", round(before[1].start_s, 2), round(before[1].end_s, 2)).segments
    assert [one.kind for one in renamed if one.start_s <= before[1].start_s < one.end_s] == ["ground"]
    assert renamed[-1].end_s == before[-1].end_s


def test_the_edges_stand_where_a_drag_is_looked_for(flight: OpenFlight) -> None:
    segment = flight.analysis.segmentation.segments[1]
    shapes = selection_shapes(segment, LOOKS["day"])
    for place, time_s in ((START_EDGE, segment.start_s), (END_EDGE, segment.end_s)):
        assert moved_shape({f"shapes[{place}].x0": shapes[place]["x0"]}) == (place, pytest.approx(time_s, abs=1e-3))
    assert not any(shape["visible"] for shape in selection_shapes(None, LOOKS["day"]))
    assert moved_shape({"xaxis.range[0]": "2000-01-01"}) is None
