"""What must hold for any log: segments cover it; shifting or repeating it changes nothing that it should not."""

from itertools import pairwise

import numpy as np
import pandas as pd
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from segmentation.invented_flight import InventedFlight, cut

from analyzer.records import SEGMENT_KINDS, Log


def assert_covers(found, last_s):
    assert found.segments[0].start_s == 0.0
    assert found.segments[-1].end_s == last_s
    for before, after in pairwise(found.segments):
        assert before.end_s == after.start_s
        assert before.kind != after.kind
    for piece in found.segments:
        assert piece.end_s > piece.start_s
        assert piece.kind in SEGMENT_KINDS
        assert np.isfinite([piece.start_altitude_m, piece.end_altitude_m]).all()
    assert all(found.segments[index].kind == "motor_run" for index in found.blips)
    for before, after in pairwise(found.flights):
        assert before.end_s < after.start_s


@settings(max_examples=60, deadline=None)
@given(data=st.data())
def test_segments_cover_any_log(data):
    count = data.draw(st.integers(2, 150))
    number = st.one_of(st.floats(-600.0, 3000.0, width=32), st.sampled_from([np.nan, 0.0, 30.0]))
    columns = {
        name: np.array(data.draw(st.lists(number, min_size=count, max_size=count)), dtype=float)
        for name in ("altitude_m", "current_a", "rpm", "airspeed_m_s", "heading_deg")
    }
    columns["altitude_m"][0] = 0.0
    steps = data.draw(st.lists(st.floats(0.01, 20.0), min_size=count, max_size=count))
    time_s = np.cumsum(steps) - steps[0]
    found = cut(Log("any", "", pd.DataFrame({"time_s": time_s, **columns})))
    assert_covers(found, float(time_s[-1]))


@settings(max_examples=25, deadline=None)
@given(
    plan=st.lists(st.sampled_from(["rest", "run", "glide", "thermal", "zoom", "dive", "bump"]), min_size=1, max_size=8),
    rate_hz=st.sampled_from([1.0, 4.0, 10.0]),
    seed=st.integers(0, 1000),
)
def test_segments_cover_any_flight(plan, rate_hz, seed):
    flight = InventedFlight(seed).rest(5)
    lasting = {"rest": 12.0, "run": 8.0, "glide": 25.0, "thermal": 40.0}
    for name in plan:
        piece = getattr(flight, name)
        piece(lasting[name]) if name in lasting else piece()
    log = flight.log(rate_hz=rate_hz)
    assert_covers(cut(log), float(log.frame["time_s"].iloc[-1]))


def flown(seed=1):
    flight = InventedFlight(seed).rest(20).run(20).glide(50).thermal(60).glide(50)
    return flight.land().rest(25).log()


@pytest.mark.parametrize("shift", [-250.0, 137.0, 2500.0])
def test_lifting_the_field_changes_nothing(shift):
    log = flown()
    lifted = log.frame.assign(altitude_m=log.frame["altitude_m"] + shift)
    plain, other = cut(log), cut(log.then("lifted", lifted))
    assert [piece.kind for piece in plain.segments] == [piece.kind for piece in other.segments]
    for mine, theirs in zip(plain.segments, other.segments, strict=True):
        assert theirs.start_s == pytest.approx(mine.start_s, abs=0.3)
        assert theirs.start_altitude_m == pytest.approx(mine.start_altitude_m, abs=0.05)


def test_a_second_flight_behind_the_first_leaves_the_first_alone():
    log = flown()
    again = log.frame.assign(time_s=log.frame["time_s"] + log.frame["time_s"].iloc[-1] + 0.2)
    double = cut(log.then("twice", pd.concat([log.frame, again], ignore_index=True)))
    single = cut(log)
    assert len(double.flights) == 2
    kinds = [piece.kind for piece in single.segments]
    assert [piece.kind for piece in double.segments] == [*kinds[:-1], *kinds]
    for mine, theirs in zip(single.segments[:-1], double.segments, strict=False):
        assert theirs.start_s == pytest.approx(mine.start_s, abs=0.6)


def test_missing_altitudes_leave_the_segments_alone():
    log = flown()
    holes = log.frame.copy()
    holes.loc[np.random.default_rng(0).choice(len(holes), len(holes) // 10, replace=False), "altitude_m"] = np.nan
    plain, other = cut(log), cut(log.then("holes", holes))
    assert [piece.kind for piece in plain.segments] == [piece.kind for piece in other.segments]
    for mine, theirs in zip(plain.segments, other.segments, strict=True):
        assert theirs.start_s == pytest.approx(mine.start_s, abs=2.0)
