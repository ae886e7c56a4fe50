"""Clocks that do not simply run forward."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from analyzer.errors import LogFileError
from analyzer.ingest import read_log_bytes
from analyzer.ingest.clocks.stamps import order_stamps
from analyzer.ingest.clocks.stray_stamps import fill_missing
from analyzer.ingest.clocks.timeline import settle_repeats
from analyzer.wording import clock

STEADY = np.arange(300) * 0.2


def codes(notices: object) -> list[str]:
    return [notice.code for notice in notices]  # type: ignore[attr-defined]


def test_a_steady_clock_is_left_alone() -> None:
    found = order_stamps(STEADY, "elapsed")
    assert found.notices == ()
    assert found.rows.tolist() == list(range(300))
    assert found.seconds.tolist() == STEADY.tolist()


def test_midnight_is_passed_once_or_twice() -> None:
    for start, length in ((86_390.0, 90_000.0), (86_390.0, 600.0), (80_000.0, 6_440.0), (80_000.0, 50_000.0)):
        running = start + np.arange(0, length, 30.0)
        found = order_stamps(running % 86_400.0, "clock")
        np.testing.assert_allclose(np.diff(found.seconds), 30.0)
        assert codes(found.notices) == ["clock-midnight"]


@pytest.mark.parametrize("overflow_s", [2**16 * 1e-3, 2**32 * 1e-6, 2**31 * 1e-6])
def test_counters_overflow(overflow_s: float) -> None:
    found = order_stamps((overflow_s - 10.0 + STEADY) % overflow_s, "elapsed")
    np.testing.assert_allclose(np.diff(found.seconds), 0.2)
    assert codes(found.notices) == ["clock-overflow"]


def test_a_counter_that_reads_more_than_it_holds_did_not_overflow_there() -> None:
    """A block of lines written twice goes back by about 2^24 microseconds, after stamps of more than a minute."""
    once = np.arange(0.0, 200.0, 0.5)
    found = order_stamps(np.concatenate((once[:300], once[266:])), "elapsed")
    assert codes(found.notices) == ["clock-sorted"]
    assert found.seconds[-1] == pytest.approx(once[-1], abs=0.5)


@pytest.mark.parametrize(("overflow_s", "step_s"), [(2**16 * 1e-3, 1.0), (2**16 * 1e-3, 2.0), (2**24 * 1e-6, 0.5)])
def test_counters_overflow_under_slow_telemetry(overflow_s: float, step_s: float) -> None:
    found = order_stamps((7.3 + np.arange(0.0, 900.0, step_s)) % overflow_s, "elapsed")
    np.testing.assert_allclose(np.diff(found.seconds), step_s)
    assert codes(found.notices) == ["clock-overflow"]


def test_a_log_written_last_line_first_is_turned_round() -> None:
    found = order_stamps(STEADY[::-1], "elapsed")
    assert found.seconds.tolist() == STEADY.tolist()
    assert found.rows[0] == 299
    assert codes(found.notices) == ["clock-reversed"]


@pytest.mark.parametrize("wrong", [1e9, -1e9, 0.0, 1e12])
@pytest.mark.parametrize("count", [1, 2, 3])
def test_a_few_wrong_stamps_are_dropped(wrong: float, count: int) -> None:
    stamps = 1000.0 + STEADY
    stamps[150 : 150 + count] = wrong
    found = order_stamps(stamps, "elapsed")
    assert found.rows.size == 300 - count
    assert not set(range(150, 150 + count)) & set(found.rows.tolist())
    np.testing.assert_allclose(np.delete(1000.0 + STEADY, slice(150, 150 + count)), found.seconds)


def test_late_lines_are_sorted() -> None:
    stamps = STEADY.copy()
    stamps[[50, 51]] = stamps[[51, 50]]
    found = order_stamps(stamps, "elapsed")
    assert found.seconds.tolist() == STEADY.tolist()
    assert codes(found.notices) == ["clock-sorted"]


def test_lines_written_a_little_late_all_along_are_sorted() -> None:
    stamps = 0.2 * np.arange(2000)
    stamps[3::5], stamps[4::5] = stamps[4::5].copy(), stamps[3::5].copy()
    found = order_stamps(stamps, "elapsed")
    assert found.seconds.tolist() == (0.2 * np.arange(2000)).tolist()
    assert codes(found.notices) == ["clock-sorted"]


def test_a_logger_switched_on_again_goes_on_after_a_gap() -> None:
    found = order_stamps(np.append(STEADY, STEADY), "elapsed")
    assert found.rows.tolist() == list(range(600))
    assert found.seconds[300] - found.seconds[299] == pytest.approx(10.0)
    assert codes(found.notices) == ["clock-restarted"]
    assert "after 1:00" in found.notices[0].message


def test_several_restarts_follow_each_other() -> None:
    found = order_stamps(np.concatenate([STEADY, STEADY, STEADY]), "elapsed")
    assert np.all(np.diff(found.seconds) > 0.0)
    assert codes(found.notices) == ["clock-restarted"] * 2


def test_a_clock_set_by_the_first_fix_loses_its_jump() -> None:
    for kind, before, after in (("absolute", 315_964_800.0, 1.7e9), ("clock", 5.0, 43_200.0)):
        stamps = np.append(before + STEADY[:50], after + STEADY)
        found = order_stamps(stamps, kind)  # type: ignore[arg-type]
        np.testing.assert_allclose(np.diff(found.seconds), 0.2, atol=1e-6)
        assert codes(found.notices) == ["clock-set"]


def test_pieces_with_dates_go_where_they_belong() -> None:
    found = order_stamps(np.append(1.7e9 + 1000.0 + STEADY, 1.7e9 + STEADY), "absolute")
    assert found.rows[0] == 300
    assert found.seconds[-1] == 1.7e9 + 1000.0 + STEADY[-1]


def test_two_flights_hours_apart_stay_hours_apart() -> None:
    found = order_stamps(np.append(STEADY, 7200.0 + STEADY), "elapsed")
    assert found.notices == ()


def test_a_clock_that_only_jumps_is_refused() -> None:
    stamps = np.random.default_rng(1).uniform(0.0, 1000.0, 400)
    with pytest.raises(LogFileError, match="jumps back"):
        order_stamps(stamps, "elapsed")


@pytest.mark.parametrize("stamps", [[], [1.0], [np.nan, np.nan], [1e300, np.inf], [5.0, np.nan]])
def test_fewer_than_two_stamps_are_no_log(stamps: list[float]) -> None:
    with pytest.raises(LogFileError, match="fewer than two samples"):
        order_stamps(np.array(stamps), "elapsed")


def test_few_missing_stamps_are_dropped_many_are_carried() -> None:
    few = STEADY.copy()
    few[[5, 9]] = np.nan
    seconds, notices = fill_missing(few, np.ones(300, dtype=bool))
    assert np.isnan(seconds[[5, 9]]).all()
    assert codes(notices) == ["rows-without-time"]
    many = np.where(np.arange(300) % 3 == 0, STEADY, np.nan)
    seconds, notices = fill_missing(many, np.ones(300, dtype=bool))
    assert seconds.tolist() == np.repeat(many[::3], 3).tolist()
    assert codes(notices) == ["stamps-carried"]


def test_empty_rows_need_no_stamp() -> None:
    seconds, notices = fill_missing(np.array([0.0, np.nan, 1.0]), np.array([True, False, True]))
    assert np.isnan(seconds[1])
    assert notices == ()


def test_whole_seconds_at_five_hertz_are_spread() -> None:
    true = 0.6 + np.arange(53) * 0.2
    found = settle_repeats(np.floor(true + 1e-9), [np.arange(53.0)])
    np.testing.assert_allclose(found.stamps, true, atol=1e-9)
    assert codes(found.notices) == ["stamps-spread"]


def test_rows_of_one_instant_are_joined() -> None:
    first, second = np.array([1.0, np.nan, 2.0, np.nan]), np.array([np.nan, 5.0, np.nan, 6.0])
    found = settle_repeats(np.array([0.0, 0.0, 1.0, 1.0]), [first, second])
    assert found.stamps.tolist() == [0.0, 1.0]
    assert (found.numbers(first).tolist(), found.numbers(second).tolist()) == ([1.0, 2.0], [5.0, 6.0])
    assert codes(found.notices) == ["rows-merged"]


def test_a_line_written_twice_counts_once() -> None:
    stamps = np.sort(np.append(STEADY, STEADY[100]))
    values = np.append(np.arange(300.0), 100.0)
    values.sort()
    found = settle_repeats(stamps, [values])
    assert found.stamps.tolist() == STEADY.tolist()
    assert codes(found.notices) == ["rows-merged"]


def test_a_row_with_a_stale_stamp_is_set_between_its_neighbours() -> None:
    stale = STEADY.copy()
    stale[5] = stale[4]
    found = settle_repeats(stale, [np.arange(300.0)])
    np.testing.assert_allclose(found.stamps, STEADY, atol=1e-12)
    assert codes(found.notices) == ["stamps-repeated"]


def test_a_stale_stamp_before_a_gap_stays_before_it() -> None:
    found = settle_repeats(np.append(STEADY, [STEADY[-1], 500.0]), [np.arange(302.0)])
    assert found.stamps[300] == pytest.approx(STEADY[-1] + 0.2)


def test_a_clock_lost_for_a_while_is_bridged() -> None:
    lost = STEADY.copy()
    lost[100:150] = np.nan
    seconds, notices = fill_missing(lost, np.ones(300, dtype=bool))
    found = settle_repeats(seconds, [np.arange(300.0)])
    np.testing.assert_allclose(found.stamps, STEADY, atol=1e-9)
    assert codes((*notices, *found.notices)) == ["stamps-carried", "stamps-repeated"]


def test_samples_before_the_first_stamp_are_dropped() -> None:
    late = STEADY.copy()
    late[:60] = np.nan
    seconds, notices = fill_missing(late, np.ones(300, dtype=bool))
    assert np.isnan(seconds[:60]).all()
    assert codes(notices) == ["rows-without-time"]
    assert "60 samples" in notices[0].message


MILLISECONDS = st.floats(-1e14, 1e14).map(lambda seconds: round(seconds, 3))
"""Stamps closer than a double tells apart have nothing between them to spread rows in."""


@given(
    st.lists(st.one_of(MILLISECONDS, st.just(float("nan"))), min_size=0, max_size=60),
    st.sampled_from(["elapsed", "clock", "absolute"]),
)
def test_any_stamps_run_forward_afterwards(stamps: list[float], kind: str) -> None:
    try:
        found = order_stamps(np.array(stamps, dtype=np.float64), kind)  # type: ignore[arg-type]
    except LogFileError:
        return
    assert np.all(np.diff(found.seconds) >= 0.0)
    assert len(set(found.rows.tolist())) == found.rows.size
    settled = settle_repeats(found.seconds, [np.arange(float(found.seconds.size))])
    assert np.all(np.diff(settled.stamps) > 0.0) or np.ptp(found.seconds) > 1e11


@given(st.floats(-1e6, 1e6), st.integers(2, 60))
def test_shifting_the_clock_shifts_the_result(shift: float, size: int) -> None:
    stamps = np.round(np.cumsum(np.linspace(0.1, 0.3, size)), 3)
    one, other = order_stamps(stamps, "elapsed"), order_stamps(stamps + shift, "elapsed")
    np.testing.assert_allclose(other.seconds - shift, one.seconds, atol=1e-6)
    assert one.notices == other.notices


def test_a_few_dates_of_another_year_among_many_are_dropped() -> None:
    stamps = 1.78e9 + np.arange(1000) * 0.2
    stamps[[200, 700]] = [0.0, 4e9]
    stamps[400:405] = [5.0, 6.0, 7.0, 8.0, 9.0]
    found = order_stamps(stamps, "absolute")
    assert np.ptp(found.seconds) < 201.0
    assert found.rows.size == 993
    assert "clock-glitch" in codes(found.notices)


@pytest.mark.parametrize("days", [0.5, 7, 100])
def test_a_pause_of_a_night_or_more_is_drawn_short(days: float) -> None:
    stamps = 1.78e9 + np.concatenate([np.arange(500), 499.0 + days * 86_400.0 + np.arange(500)])
    found = order_stamps(stamps, "absolute")
    assert found.rows.size == 1000
    assert np.ptp(found.seconds) == pytest.approx(499 + 10 + 499)
    assert f"the log pauses for {days:.1f} days; drawn as 10 s" in [notice.message for notice in found.notices]


def test_a_count_from_midnight_passes_it() -> None:
    found = order_stamps((86_390.0 + STEADY) % 86_400.0, "elapsed")
    np.testing.assert_allclose(np.diff(found.seconds), 0.2)
    assert codes(found.notices) == ["clock-overflow"]


def jumping(heights: np.ndarray, at: int, jump_s: float) -> tuple[np.ndarray, list[str]]:
    """Times and notices of a log at 5 Hz whose clock jumps before one row."""
    seconds = np.arange(heights.size) * 0.2
    seconds[at:] += jump_s
    rows = "".join(f"{stamp:.1f},{height:.2f}\n" for stamp, height in zip(seconds, heights, strict=True))
    log = read_log_bytes(f"time (s),alt (m)\n{rows}".encode(), "x.csv")
    return log.frame["time_s"].to_numpy(), [notice.message for notice in log.notices if notice.code == "clock-set"]


UP_AND_DOWN_M = np.interp(np.arange(3000), [0, 300, 800, 2700, 3000], [0.0, 0.0, 200.0, 0.0, 0.0])


@pytest.mark.parametrize("jump_s", [900.0, 3600.0, 7200.0])
@pytest.mark.parametrize("at", [500, 1500])
def test_a_clock_set_forward_in_the_air_loses_its_jump(at: int, jump_s: float) -> None:
    seconds, notices = jumping(UP_AND_DOWN_M, at, jump_s)
    np.testing.assert_allclose(seconds, np.arange(3000) * 0.2, atol=1e-6)
    assert [f"set forward by {clock(jump_s)} after {clock(at * 0.2)}" in notice for notice in notices] == [True]


@pytest.mark.parametrize(
    ("at", "jump_s", "higher_m"),
    [(100, 3600.0, 0.0), (2900, 3600.0, 0.0), (1500, 400.0, 0.0), (1500, 3600.0, 40.0)],
    ids=["before launch", "after landing", "a connection lost", "at another height"],
)
def test_what_may_be_a_pause_stays_one(at: int, jump_s: float, higher_m: float) -> None:
    heights = UP_AND_DOWN_M + np.where(np.arange(3000) >= at, higher_m, 0.0)
    seconds, notices = jumping(heights, at, jump_s)
    assert seconds[-1] == pytest.approx(599.8 + jump_s)
    assert notices == []


@pytest.mark.parametrize("step", [1, 100, 0.1])
def test_a_table_sorted_as_text_is_sorted_by_time(step: float) -> None:
    rows = sorted(f"{i * step:g},{i}\n" for i in range(1500))
    log = read_log_bytes(f"time (s),alt (dm)\n{''.join(rows)}".encode(), "x.csv")
    assert log.frame["altitude_m"].tolist() == pytest.approx(np.arange(1500) / 10.0)
    np.testing.assert_allclose(log.frame["time_s"], np.arange(1500) * step)
    assert "another order" in next(notice.message for notice in log.notices if notice.code == "clock-sorted")


@pytest.mark.parametrize("overflow_s", [2.0**32 / 1e6, 2.0**16 / 1e3])
def test_late_lines_of_a_counter_that_overflows_leave_it_in_order(overflow_s: float) -> None:
    true = 0.2 * np.arange(1000)
    stamps = (true + overflow_s - 10.0) % overflow_s
    late = np.arange(60, 998, 151)
    stamps[late], stamps[late + 1] = stamps[late + 1].copy(), stamps[late].copy()
    found = order_stamps(stamps, "elapsed")
    np.testing.assert_allclose(found.seconds - found.seconds[0], true, atol=1e-6)
    assert [notice.message for notice in found.notices if notice.code == "clock-sorted"] == [
        "sorted 14 samples written out of order in time"
    ]


@pytest.mark.parametrize(("count", "later_s"), [(8, 0.03), (8, 0.0), (40, 0.0)])
def test_sessions_one_after_the_other_are_not_sorted_into_each_other(count: int, later_s: float) -> None:
    sessions = [later_s * i + STEADY[: 200 + i] for i in range(count)]
    found = order_stamps(np.concatenate(sessions), "elapsed")
    assert codes(found.notices) == ["clock-restarted"] * (count - 1)


@pytest.mark.parametrize("rows", [1000, 10_000])
@pytest.mark.parametrize("later_s", [0.0, 0.07])
def test_a_few_short_sessions_behind_a_long_one_follow_it(rows: int, later_s: float) -> None:
    short = [later_s + 0.2 * np.arange(3) for _ in range(5)]
    found = order_stamps(np.concatenate([0.2 * np.arange(rows), *short]), "elapsed")
    assert codes(found.notices) == ["clock-restarted"] * 5
