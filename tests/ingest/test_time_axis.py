"""Which column tells the time, and in what unit."""

from datetime import UTC, datetime

import numpy as np
import pytest

from analyzer.errors import LogFileError
from analyzer.ingest import read_log_bytes
from analyzer.ingest.clocks.time_axis import TimeColumn, choose_time, number_column
from analyzer.units import unit_of

STEADY = np.arange(500) * 0.1


@pytest.mark.parametrize(
    ("scale", "offset", "kind"),
    [
        (1.0, 0.0, "elapsed"),
        (1e3, 0.0, "elapsed"),
        (1e6, 0.0, "elapsed"),
        (1.0, 1.75e9, "absolute"),
        (1e3, 1.75e9, "absolute"),
        (1e6, 1.75e9, "absolute"),
        (1e9, 1.75e9, "absolute"),
    ],
)
def test_the_unit_of_bare_numbers_shows_in_size_and_step(scale: float, offset: float, kind: str) -> None:
    column = number_column("t", (STEADY + offset) * scale, None)
    assert column.kind == kind
    np.testing.assert_allclose(np.diff(column.seconds), 0.1, atol=1e-6)
    assert column.notices


@pytest.mark.parametrize("step_s", [0.02, 0.05, 0.2, 1.0, 2.0, 5.0])
def test_running_seconds_from_fifty_hertz_to_five_seconds(step_s: float) -> None:
    assert number_column("t", np.arange(400) * step_s, None).seconds[1] == pytest.approx(step_s)


@pytest.mark.parametrize("step_ms", [10.0, 20.0, 50.0, 100.0, 1000.0, 5000.0])
def test_running_milliseconds(step_ms: float) -> None:
    assert number_column("t", np.arange(400) * step_ms, None).seconds[1] == pytest.approx(step_ms / 1000.0)


def test_a_named_unit_is_taken_at_its_word() -> None:
    column = number_column("t (min)", np.array([0.0, 0.5]), unit_of("min"))
    assert column.seconds.tolist() == [0.0, 30.0]
    assert number_column("t (s)", np.array([0.0, 0.5]), unit_of("s")).notices == ()


def test_a_spreadsheets_day_numbers() -> None:
    # 45 292.5 is noon of 2024-01-01 (spreadsheets count days from 1899-12-30).
    column = number_column("Date", 45_292.5 + np.arange(10) / 86_400.0, None)
    axis = choose_time([column])
    assert axis is not None
    assert axis.started_at(0) == datetime(2024, 1, 1, 12)


def test_the_column_that_tells_most_samples_apart_wins() -> None:
    coarse = TimeColumn("Time", np.floor(STEADY), "clock", rank=(0,))
    fine = TimeColumn("Ticks", STEADY, "elapsed", rank=(9,))
    axis = choose_time([coarse, fine])
    assert axis is not None
    assert axis.header == "Ticks"
    assert "'Time'" in axis.notices[0].message


def test_of_equal_columns_the_better_named_wins_and_the_users_before_all() -> None:
    one, other = TimeColumn("A", STEADY, "elapsed", rank=(3,)), TimeColumn("B", STEADY, "elapsed", rank=(1,))
    assert [choose_time(pair).header for pair in ([one, other], [other, one])] == ["B", "B"]  # type: ignore[union-attr]
    mapped = TimeColumn("C", np.floor(STEADY), "elapsed", rank=(9,), explicit=True)
    assert choose_time([one, other, mapped]).header == "C"  # type: ignore[union-attr]


def test_a_date_and_a_clock_make_one_time() -> None:
    midnight = datetime(2026, 6, 21, tzinfo=UTC).timestamp()
    clock = np.array([86_399.0, 0.0])
    date = TimeColumn("Date", np.array([midnight - 86_400.0, midnight]), "date")
    axis = choose_time([TimeColumn("Time", clock, "clock"), date])
    assert axis is not None
    assert (axis.kind, axis.started_at(0)) == ("absolute", datetime(2026, 6, 20, 23, 59, 59))
    assert np.diff(axis.seconds).tolist() == [1.0]


def test_a_date_that_never_changes_leaves_the_clock_to_pass_midnight() -> None:
    date = TimeColumn("Date", np.full(2, datetime(2026, 6, 20, tzinfo=UTC).timestamp()), "date")
    axis = choose_time([TimeColumn("Time", np.array([86_399.0, 0.0]), "clock"), date])
    assert axis is not None
    assert (axis.kind, axis.started_at(0)) == ("clock", datetime(2026, 6, 20, 23, 59, 59))


def test_a_date_whose_day_is_not_sure_leaves_the_start_open() -> None:
    date = TimeColumn("Date", np.full(2, 1.7e9), "date", date_sure=False)
    axis = choose_time([TimeColumn("Time", np.array([1.0, 2.0]), "clock"), date])
    assert axis is not None
    assert axis.started_at(0) is None
    assert axis.notices[0].code == "date-ambiguous"


def test_dates_alone_tell_no_time() -> None:
    assert choose_time([TimeColumn("Date", np.array([0.0, 86_400.0]), "date")]) is None
    assert choose_time([]) is None


def test_years_that_python_does_not_know_leave_the_start_open() -> None:
    axis = choose_time([TimeColumn("t", np.array([9e11, 9e11 + 1.0]), "absolute")])
    assert axis is not None
    assert axis.started_at(0) is None


def test_a_time_over_several_columns_survives_a_damaged_line() -> None:
    rows = [f"14,{3 + i // 60},{i % 60},{i}" for i in range(300)]
    rows[100] = "14,99,4711,100"
    log = read_log_bytes(("Hour,Minute,Second,Altitude (m)\n" + "\n".join(rows) + "\n").encode(), "x.csv")
    assert log.frame["time_s"].iloc[-1] == 299.0
    assert len(log.frame) == 299


@pytest.mark.parametrize(("unit", "size_s"), [("day", 86_400.0), ("h", 3600.0), ("min", 60.0)])
def test_fractions_of_a_day_without_a_unit_are_refused_and_read_as_the_refusal_says(unit: str, size_s: float) -> None:
    rows = "".join(f"{0.2 * i / size_s:.10f},{i}\n" for i in range(500))
    data = f"Time,Altitude (m)\n{rows}".encode()
    with pytest.raises(LogFileError, match=r'--map "Time=time_s \[min\]" \(or h, day, s\)'):
        read_log_bytes(data, "x.csv")
    log = read_log_bytes(data, "x.csv", columns={"Time": f"time_s [{unit}]"})
    assert log.frame["time_s"].iloc[-1] == pytest.approx(99.8, abs=0.01)


@pytest.mark.parametrize("rank", [(1,), (9,)])
def test_an_interval_that_is_different_each_time_is_no_clock(rank: tuple[int, ...]) -> None:
    ticks = TimeColumn("clock", np.repeat(np.arange(50.0), 5), "clock", rank=(3,))
    interval = TimeColumn("interval", np.random.default_rng(1).random(250), "elapsed", rank=rank)
    exact = TimeColumn("ms", np.arange(250.0) / 5.0, "elapsed", rank=(5,))
    for columns, header in (([ticks, interval], "clock"), ([interval, exact, ticks], "ms")):
        axis = choose_time(columns)
        assert axis is not None
        assert axis.header == header


@pytest.mark.parametrize(
    ("header", "step", "problem"), [("Tick", 5, "how long a tick is"), ("dt_ms", 0, "no time among")]
)
def test_ticks_of_any_length_and_intervals_tell_no_time(header: str, step: int, problem: str) -> None:
    rows = "".join(f"{i * step if step else 500 * (i > 0)},{i % 50}.5,12.{i % 10}\n" for i in range(200))
    with pytest.raises(LogFileError, match=problem):
        read_log_bytes(f"{header},altitude (m),voltage (V)\n{rows}".encode(), "x.csv")


def test_a_count_whose_rate_the_header_gives_is_a_time() -> None:
    rows = "".join(f"{i},{i % 50}.5\n" for i in range(200))
    assert read_log_bytes(f"Sample (50 Hz),altitude (m)\n{rows}".encode(), "x.csv").frame["time_s"].iloc[50] == 1.0


def test_minutes_and_seconds_in_words_of_the_trade() -> None:
    rows = "".join(f"{i // 60};{i % 60};{i % 50},5\n" for i in range(300))
    assert read_log_bytes(f"Minuten;Sekunden;Höhe (m)\n{rows}".encode(), "x.csv").frame["time_s"].iloc[-1] == 299.0


@pytest.mark.parametrize(("header", "first"), [("Time", "14:03:07"), ("Epoch", "1781100187"), ("Sec", "7")])
def test_milliseconds_in_a_column_of_their_own_join_whole_seconds(header: str, first: str) -> None:
    at = first[: -len("7")]
    rows = "".join(f"{at}{7 + i // 10},{30 + i % 10 * 95},{i % 50}.5\n" for i in range(30))
    log = read_log_bytes(f"{header},ms,Height (m)\n{rows}".encode(), "x.csv")
    np.testing.assert_allclose(log.frame["time_s"].iloc[[1, 9, 10]], [0.095, 0.855, 1.0], atol=1e-6)
    assert [notice.message for notice in log.notices if "together" in notice.message] == [
        f"read '{header}', 'ms' together as time"
    ]


def test_a_count_that_would_have_run_for_decades_is_not_guessed() -> None:
    rows = "".join(f"{134_284_734_682_500_000 + i * 2_000_000},{i % 50}.5\n" for i in range(200))
    data = f"Time,Altitude (m)\n{rows}".encode()
    with pytest.raises(LogFileError, match=r"'Time' has no unit, .* --map \"Time=time_s \[0.1 us\]\""):
        read_log_bytes(data, "x.csv")
    log = read_log_bytes(data, "x.csv", columns={"Time": "time_s [0.1 us]"})
    assert log.frame["time_s"].iloc[1] == pytest.approx(0.2, abs=1e-4)


@pytest.mark.parametrize(
    ("remark", "step_s"),
    [
        ("Sample rate: 10 Hz", 0.1),
        ("# sampling frequency = 5Hz", 0.2),
        ("Abtastrate;4,0 Hz;", 0.25),
        ("Logging interval (ms): 500 ms", 0.5),
        ("Recorded with a sample period of 2 s", 2.0),
    ],
)
def test_without_a_time_the_rate_in_the_preamble_tells_it(remark: str, step_s: float) -> None:
    rows = [f"{i / 10};{12.6 - i / 100:.2f}" for i in range(60)]
    rows[20:20] = ["marker;set by the pilot", ""]
    log = read_log_bytes("\n".join(["Logger 3", remark, "Altitude [m];Voltage [V]", *rows, ""]).encode(), "x.csv")
    np.testing.assert_allclose(log.frame["time_s"], np.arange(60) * step_s)
    assert log.frame["altitude_m"].iloc[-1] == 5.9
    notices = {notice.code: notice.message for notice in log.notices}
    assert (
        notices["time-from-rate"] == f"no column of times: a row every {step_s:g} s, as the lines above the table say"
    )
    assert "1 line" in notices["rows-dropped"]


@pytest.mark.parametrize("remark", ["Servo rate: 50 Hz", "Logger 3", "PWM frequency 8 kHz", "Sample rate: 0 Hz"])
def test_no_other_rate_makes_a_time(remark: str) -> None:
    with pytest.raises(LogFileError, match="no time among the columns"):
        read_log_bytes(f"{remark}\nAltitude [m],Voltage [V]\n1,12\n1.5,12.1\n2.5,12.2\n".encode(), "x.csv")


def test_a_rate_without_a_column_of_numbers_tells_no_time() -> None:
    rows = "".join(f"launch;48.{i:04d};11.{i:04d}\n" for i in range(30))
    with pytest.raises(LogFileError, match="no time among the columns"):
        read_log_bytes(f"Sample rate: 10 Hz\nMode;Latitude;Longitude\n{rows}".encode(), "x.csv")


def test_a_time_that_is_logged_goes_before_the_rate() -> None:
    log = read_log_bytes(b"Sample rate: 10 Hz\nTime [s],Altitude [m]\n0,1\n1,2\n2,3\n", "x.csv")
    assert log.frame["time_s"].tolist() == [0.0, 1.0, 2.0]


def test_how_a_count_is_read_as_time_is_said_once() -> None:
    rows = "".join(f"{i},{i * 0.5}\n" for i in range(50))
    log = read_log_bytes(f"Sample (10 Hz),Altitude [m]\n{rows}".encode(), "x.csv")
    assert [notice.message for notice in log.notices] == ["read 'Sample (10 Hz)' as time, converted from 1/10 s"]
