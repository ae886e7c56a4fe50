"""A correction by hand moves what it should, and the segments still cover the log."""

from __future__ import annotations

import itertools

import numpy as np
import pandas as pd
import pytest
from hypothesis import given
from hypothesis import strategies as st

from analyzer.errors import OptionError
from analyzer.records import SEGMENT_KINDS, Flight, Log, Segment, Segmentation, SegmentKind
from analyzer.segmentation.correction import move_edge, rename_segment

LOG = Log("f.csv", "0" * 64, pd.DataFrame({"time_s": np.arange(0.0, 101.0), "height_m": np.arange(0.0, 101.0) * 2}))


def cut(*kinds: SegmentKind, blips: tuple[int, ...] = ()) -> Segmentation:
    width = 100.0 / len(kinds)
    segments = tuple(
        Segment(kind, width * i, width * (i + 1), 2 * width * i, 2 * width * (i + 1)) for i, kind in enumerate(kinds)
    )
    return Segmentation((Flight(segments[0].end_s, 100.0),), segments, blips)


def covers_the_log(segmentation: Segmentation) -> bool:
    edges = [segment.start_s for segment in segmentation.segments] + [segmentation.segments[-1].end_s]
    joined = all(a.end_s == b.start_s for a, b in zip(segmentation.segments, segmentation.segments[1:], strict=False))
    return joined and edges[0] == 0.0 and edges[-1] == 100.0 and edges == sorted(edges)


def test_an_edge_takes_its_altitude_and_the_flights_start_along() -> None:
    moved = move_edge(cut("ground", "motor_run", "glide"), 0, 20.0, LOG)
    assert moved.segments[0].end_s == moved.segments[1].start_s == 20.0
    assert moved.segments[0].end_altitude_m == 40.0
    assert moved.flights[0].start_s == 20.0


@given(index=st.integers(0, 2), time_s=st.floats(-1e6, 1e6))
def test_wherever_an_edge_is_dragged_the_log_stays_covered(index: int, time_s: float) -> None:
    assert covers_the_log(move_edge(cut("ground", "motor_run", "glide", "ground"), index, time_s, LOG))


@given(index=st.integers(0, 4), kind=st.sampled_from(SEGMENT_KINDS))
def test_whatever_a_segment_is_called_the_log_stays_covered_and_no_two_neighbours_agree(
    index: int, kind: SegmentKind
) -> None:
    renamed = rename_segment(cut("ground", "motor_run", "glide", "motor_run", "ground", blips=(3,)), index, kind)
    assert covers_the_log(renamed)
    kinds = [segment.kind for segment in renamed.segments]
    assert all(a != b for a, b in itertools.pairwise(kinds))
    assert all(renamed.segments[blip].kind == "motor_run" for blip in renamed.blips)


@pytest.mark.parametrize(("index", "time_s"), [(2, 5.0), (-1, 5.0), (0, float("nan"))])
def test_an_edge_that_is_none_is_refused(index: int, time_s: float) -> None:
    with pytest.raises(OptionError):
        move_edge(cut("ground", "motor_run", "glide"), index, time_s, LOG)
