"""Times, counts and lists as a pilot reads them."""

import pytest

from analyzer.wording import clock, counted, listed


@pytest.mark.parametrize(
    ("seconds", "said"),
    [(0.0, "0:00"), (59.6, "1:00"), (187.0, "3:07"), (3787.2, "1:03:07"), (-5.0, "-0:05"), (-0.2, "0:00")],
)
def test_times_are_minutes_and_seconds(seconds: float, said: str) -> None:
    assert clock(seconds) == said


def test_one_thing_is_not_several() -> None:
    assert [counted(count, "climb") for count in (0, 1, 2)] == ["0 climbs", "1 climb", "2 climbs"]


def test_a_long_list_is_cut_and_counted() -> None:
    assert listed(["a", "b"]) == "'a', 'b'"
    assert listed(["x"] * 15, most=2) == "'x', 'x' and 13 more"
