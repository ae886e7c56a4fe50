"""Clock times, dates, date-times; against the standard library."""

from datetime import UTC, datetime, timedelta, timezone

import numpy as np
import pandas as pd
import pytest
from hypothesis import given
from hypothesis import strategies as st

from analyzer.ingest.clocks.clock import clock_seconds, packed_clock_s
from analyzer.ingest.clocks.dates import date_order
from analyzer.ingest.clocks.time_text import TimeText, time_kind


def seconds(cells: list[str]) -> list[float]:
    kind = time_kind(cells)
    assert kind is not None
    text = TimeText(kind)
    assert not text.add(pd.Series(cells, dtype="str")).any()
    return text.finish()[0].tolist()


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        ("00:00:00", 0.0),
        ("12:30:01.5", 45001.5),
        ("12:30:01,5", 45001.5),
        ("12:30:01:500", 45001.5),
        ("9:05:01", 32701.0),
        ("02:30.5", 150.5),
        ("125:30", 7530.0),
        ("12:00:00 AM", 0.0),
        ("12:00:00 pm", 43200.0),
        ("1:02 p.m.", 46920.0),
        ("25:00:00", 90000.0),
        ("-00:00:05", -5.0),
        ("123456", 45296.0),
        ("123456.25", 45296.25),
        ("23:59:60", 86400.0),
    ],
)
def test_clock_times(text: str, expected: float) -> None:
    assert clock_seconds(text) == expected


@pytest.mark.parametrize("text", ["", "abc", "12", "12:61:00", "1:00:99", "12:30:", "::", "24x"])
def test_what_is_no_clock_time(text: str) -> None:
    assert np.isnan(clock_seconds(text))


@pytest.mark.parametrize(
    "text",
    [
        "2024-05-06T12:00:01",
        "2024-05-06 12:00:01",
        "2024/05/06 12:00:01",
        "06.05.2024 12:00:01",
        "6-May-2024 12:00:01",
        "06 Mai 2024 12:00:01",
        "20240506T120001",
        "20240506 120001",
        "2024-05-06_12:00:01",
        "06.05.24 12:00:01",
        "13/05/2024 12:00:01",
        "05/13/2024 12:00:01 PM",
    ],
)
def test_date_times(text: str) -> None:
    day = 13 if "13" in text else 6
    assert seconds([text]) == [datetime(2024, 5, day, 12, 0, 1, tzinfo=UTC).timestamp()]


@pytest.mark.parametrize("zone", ["Z", "+00:00", "+02:00", "-0530", " UTC", "+02"])
def test_zones(zone: str) -> None:
    hours = {"+02:00": 2.0, "+02": 2.0, "-0530": -5.5}.get(zone, 0.0)
    expected = datetime(2024, 5, 6, 12, 0, 1, tzinfo=timezone(timedelta(hours=hours)))
    for separator in ("T", " "):
        assert seconds([f"2024-05-06{separator}12:00:01{zone}"]) == [expected.timestamp()]


def test_a_zone_behind_a_date_that_is_not_iso() -> None:
    expected = datetime(2024, 5, 6, 12, 0, 1, tzinfo=timezone(timedelta(hours=-5.5))).timestamp()
    assert seconds(["06.05.2024 12:00:01 -05:30"]) == [expected]


def test_the_order_of_day_and_month_shows_in_later_rows() -> None:
    text = TimeText("date")
    text.add(pd.Series(["05/12/2024"] * 3, dtype="str"))
    text.add(pd.Series(["05/13/2024"], dtype="str"))
    days, order = text.finish()
    assert order == "month-day"
    assert np.diff(days).tolist() == [0.0, 0.0, 86_400.0]


@pytest.mark.parametrize(
    ("dates", "order"),
    [
        (["05/06/2024"], "unknown"),
        (["05.06.2024"], "day-month"),
        (["13/06/2024"], "day-month"),
        (["06/13/2024"], "month-day"),
        (["2024-05-06"], "day-month"),
        (["04/03/2026", "04/04/2026"], "month-day"),
        (["03/04/26", "04/04/26"], "day-month"),
    ],
)
def test_order_of_day_and_month(dates: list[str], order: str) -> None:
    assert date_order(dates) == order


def test_bad_cells_are_told_from_empty_ones() -> None:
    text = TimeText("clock")
    bad = text.add(pd.Series(["12:00:00", "", None, "--", "noon", "12:00:01"], dtype="str"))
    assert bad.tolist() == [False, False, False, False, True, False]
    assert np.isnan(text.finish()[0]).tolist() == [False, True, True, True, True, False]


def test_days_that_do_not_exist_are_no_times() -> None:
    text = TimeText("date")
    text.add(pd.Series(["2024-02-30", "2024-02-29"], dtype="str"))
    assert np.isnan(text.finish()[0]).tolist() == [True, False]


@given(
    st.datetimes(datetime(1990, 1, 1), datetime(2080, 1, 1)).map(
        lambda moment: moment.replace(microsecond=moment.microsecond // 1000 * 1000)
    ),
    st.sampled_from(
        [
            "%Y-%m-%dT%H:%M:%S.%f",
            "%d.%m.%Y %H:%M:%S.%f",
            "%Y/%m/%d %H:%M:%S.%f",
            "%d-%b-%Y %H:%M:%S.%f",
            "%d.%m.%Y %I:%M:%S.%f %p",
        ]
    ),
)
def test_any_moment_written_and_read_is_the_same(moment: datetime, pattern: str) -> None:
    (found,) = seconds([moment.strftime(pattern)])
    assert found == pytest.approx(moment.replace(tzinfo=UTC).timestamp(), abs=1e-6)


@given(st.lists(st.text(max_size=30), min_size=1, max_size=5), st.sampled_from(["clock", "date", "date-time"]))
def test_any_text_is_a_time_or_bad_or_empty(texts: list[str], kind: str) -> None:
    text = TimeText(kind)  # type: ignore[arg-type]
    text.add(pd.Series(texts, dtype="str"))
    assert text.finish()[0].size == len(texts)


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        ("0h01m23s", 83.0),
        ("1h 2m 3.5s", 3723.5),
        ("1m02.5s", 62.5),
        ("59.8s", 59.8),
        ("1'02.5\"", 62.5),
        ("PT1M2.5S", 62.5),
        ("P0DT0H1M2S", 62.0),
        ("14.03.07", 50587.0),
        ("14.03.07,250", 50587.25),
        ("0 days 00:01:02.5", 62.5),
    ],
)
def test_clock_times_without_colons(text: str, expected: float) -> None:
    assert clock_seconds(text) == pytest.approx(expected)


def test_points_part_a_date_that_stays_and_a_clock_that_runs() -> None:
    assert time_kind(["14.03.07"] * 9) == "date"
    assert time_kind(["14.03.07", "14.03.08", "14.03.09"]) == "clock"


def test_eight_digits_that_stay_are_a_date() -> None:
    assert time_kind(["20260514"] * 9) == "date"
    assert time_kind(["20260514", "20260515", "20260516"]) == "number"
    assert time_kind(["20269914"] * 9) == "number"


@pytest.mark.parametrize("form", ["{}:{}:{}.{}", "{}:{}:{}:{}", "2026-05-14 {}:{}:{}.{}"])
def test_milliseconds_counted_behind_the_seconds_have_no_zeros_before_them(form: str) -> None:
    stamps = [3_600_000 * 9 + 59_005 + 95 * i for i in range(400)]
    clock = [form.format(ms // 3_600_000, ms // 60_000 % 60, ms // 1000 % 60, ms % 1000) for ms in stamps]
    np.testing.assert_allclose(np.diff(seconds(clock)), 0.095, atol=1e-6)


def test_fractions_without_zeros_at_their_end_stay_fractions() -> None:
    clock = [f"9:00:{i // 20:02d}.{i % 20 * 50:03d}".rstrip("0") for i in range(1, 400) if i % 20]
    assert seconds(clock)[:2] == [32_400.05, 32_400.1]


def test_two_parts_are_minutes_and_seconds_unless_rows_come_too_fast_for_that() -> None:
    clock = [f"{i // 60:02d}:{i % 60:02d}" for i in range(300)]
    assert seconds([text for text in clock for _ in range(5)])[::5] == [float(i) for i in range(300)]
    assert seconds([text for text in clock[:5] for _ in range(300)])[::300] == [60.0 * i for i in range(5)]


@pytest.mark.parametrize(
    "text", ["May 14 2026 14:03:07", "May 14, 2026 14:03:07", "Thu 14 May 2026 14:03:07", "14 mai 2026, 14:03:07"]
)
def test_dates_with_names_of_months(text: str) -> None:
    assert seconds([text]) == [datetime(2026, 5, 14, 14, 3, 7, tzinfo=UTC).timestamp()]


@pytest.mark.parametrize(("name", "month"), [("juin", 6), ("juillet", 7), ("März", 3), ("août", 8), ("ott", 10)])
def test_names_of_months_in_other_languages(name: str, month: int) -> None:
    assert seconds([f"14 {name} 2026 00:00:00"]) == [datetime(2026, month, 14, tzinfo=UTC).timestamp()]


@pytest.mark.parametrize("scale", [1.0, 1e2, 1e3])
@given(start=st.integers(0, 80_000), step=st.sampled_from([0.2, 0.5, 1.0]))
def test_clock_times_written_as_one_number(scale: float, start: int, step: float) -> None:
    clock = start + step * np.arange(int(130 / step))
    packed = clock // 3600 * 10_000 + clock // 60 % 60 * 100 + clock % 60
    found = packed_clock_s(np.round(packed * scale, 3))
    assert found is not None
    np.testing.assert_allclose(found, clock, atol=2e-3)


@given(start=st.integers(0, 10**8), step=st.sampled_from([0.05, 0.2, 1.0, 50.0, 200.0]))
def test_plain_numbers_are_no_clock_times(start: int, step: float) -> None:
    assert packed_clock_s(start + step * np.arange(3000)) is None


@pytest.mark.parametrize(
    "form",
    [
        "%y%m%d%H%M%S", "%d%m%y%H%M%S", "%Y%m%d%H%M%S", "%Y%m%d%H%M%S000", "%y%m%d %H%M%S", "%y%m%d-%H%M%S",
        "%Y%m%d-%H%M%S", "%Y%m%d_%H%M%S.000",
    ],
)  # fmt: skip
def test_stamps_in_digits_alone_run_past_the_minute_and_the_day(form: str) -> None:
    start = datetime(2026, 5, 17, 23, 58, 30, tzinfo=UTC)
    cells = [(start + timedelta(seconds=i)).strftime(form) for i in range(200)]
    assert time_kind(cells) == "date-time"
    read = np.array(seconds(cells))
    assert (np.diff(read) == 1.0).all()
    assert read[0] == start.timestamp()


def test_six_digits_of_one_day_leave_open_which_are_the_year() -> None:
    assert date_order(["260517"]) == "unknown"
    assert date_order(["310526", "310527"]) == "year-first"
    assert date_order(["310526", "010626"]) == "day-month"
    assert date_order(["261517", "261617"]) == "unknown"  # neither


@pytest.mark.parametrize("step", [100_000, 500_000, 1_000_000])
@pytest.mark.parametrize("start", [1_779_029_920_000_000, 260_517_145_840, 1_805_121_020_307])
def test_counts_are_no_stamps_in_digits(start: int, step: int) -> None:
    assert time_kind([str(start + step * i) for i in range(200)]) == "number"


def test_the_letters_of_a_zone_leave_the_time_local() -> None:
    cells = [f"2026-05-17 14:58:{i:02d} CEST" for i in range(30)]
    text = TimeText("date-time")
    assert time_kind(cells) == "date-time"
    assert not text.add(pd.Series(cells, dtype="str")).any()
    assert text.finish()[0][0] == datetime(2026, 5, 17, 14, 58, tzinfo=UTC).timestamp()
    assert not text.zone_given


def test_a_clock_time_may_carry_its_zone() -> None:
    assert time_kind(["14:58:40Z", "14:58:41Z"]) == "clock"
    assert np.diff(seconds(["9:59:59 UTC", "10:00:00 UTC"])).tolist() == [1.0]
    assert np.diff(seconds(["9:59:59+02:00", "10:00:00+02:00"])).tolist() == [1.0]


def test_behind_a_date_two_parts_are_hours_and_minutes() -> None:
    expected = [datetime(2026, 5, 17, 14, minute, tzinfo=UTC).timestamp() for minute in (58, 59)]
    assert seconds(["5/17/2026 14:58", "5/17/2026 14:59"]) == expected
    assert seconds(["17.05.2026 14:58", "17.05.2026 14:59"]) == expected
    assert seconds(["5/17/2026 2:58 PM", "5/17/2026 2:59 PM"]) == expected


def test_more_ways_to_write_a_date() -> None:
    expected = [datetime(2026, 5, 17, 14, 58, 40, tzinfo=UTC).timestamp()]
    assert seconds(["Sun May 17 14:58:40 2026"]) == expected
    assert seconds(["May 17 14:58:40 2026"]) == expected
    assert seconds(["17-May-26 14:58:40"]) == expected


def test_a_clock_of_minutes_shows_at_one_sample_a_second() -> None:
    cells = [f"14:{58 + i // 60:02d}" for i in range(120)]
    assert set(seconds(cells)) == {14 * 3600.0 + 58 * 60.0, 14 * 3600.0 + 59 * 60.0}
