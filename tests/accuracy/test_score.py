"""The scorer on intervals whose scores are worked out by hand."""

from __future__ import annotations

from dataclasses import dataclass

import pytest

from accuracy.report import Row
from accuracy.score import Figures, ScoreCard, intersection_over_union, match_events, score_segments


@dataclass(frozen=True)
class Piece:
    kind: str
    start_s: float
    end_s: float


TRUE = [Piece("ground", 0, 10), Piece("motor_run", 10, 30), Piece("glide", 30, 60), Piece("thermal_climb", 60, 100)]


def scored(found: list[Piece], zooms: tuple[tuple[float, float], ...] = ()) -> ScoreCard:
    card = ScoreCard()
    score_segments(card, found, TRUE, 100.0, zooms)
    return card


def test_perfect_segments_score_one() -> None:
    card = scored(TRUE)
    assert all(overlap.f1 == 1.0 for overlap in card.overlap.values())
    assert all(
        card.events[kind].precision == card.events[kind].recall == 1.0 for kind in card.events if kind != "ground"
    )


def test_time_overlap_counts_seconds() -> None:
    card = scored([Piece("ground", 0, 10), Piece("motor_run", 15, 30), Piece("glide", 30, 100)])
    # 15 s shared, none false, 5 s missed: F1 = 30 / (30 + 5)
    assert card.overlap["motor_run"].f1 == pytest.approx(30 / 35, abs=2e-3)
    assert card.overlap["thermal_climb"].f1 == 0.0
    assert card.events["thermal_climb"].missed == 1


def test_event_needs_half_the_joint_time() -> None:
    near, far = Piece("thermal_climb", 60, 80.5), Piece("thermal_climb", 60, 79.5)
    assert scored([near]).events["thermal_climb"].matched == 1
    assert scored([far]).events["thermal_climb"].false == 1
    assert intersection_over_union(near, TRUE[3]) == pytest.approx(20.5 / 40)


def test_each_event_is_used_once() -> None:
    halves = [Piece("glide", 30, 45.5), Piece("glide", 45.5, 60)]
    assert match_events(halves, [TRUE[2]]) == [(halves[0], TRUE[2])]


def test_blips_may_be_missed_but_not_invented() -> None:
    true = [Piece("motor_run", 10, 12), Piece("motor_run", 40, 44)]
    card = ScoreCard()
    score_segments(card, [Piece("motor_run", 70, 71), Piece("motor_run", 40, 44)], true, 100.0)
    events = card.events["motor_run"]
    assert (events.matched, events.missed, events.false) == (1, 0, 1)


def test_zoom_called_a_thermal_is_counted() -> None:
    claimed = [Piece("thermal_climb", 30, 52)]
    assert scored(claimed, zooms=((30.0, 40.0),)).zooms_as_thermals == 1
    assert scored(claimed, zooms=((30.0, 33.0),)).zooms_as_thermals == 0


def test_figures_know_errors_absences_and_coverage() -> None:
    figures = Figures()
    figures.add(10.2, 10.0, 0.15)
    figures.add(9.0, 10.0, 0.15)
    figures.add(None, 10.0)
    assert figures.absent == 1
    assert figures.errors(relative=True) == pytest.approx([0.02, -0.1])
    assert figures.coverage() == 0.5


@pytest.mark.parametrize(("reached", "missed"), [(0.92, True), (0.95, False), (0.98, True), (float("nan"), True)])
def test_row_knows_when_its_target_is_missed(reached: float, missed: bool) -> None:
    assert Row("coverage", reached, 0.93, 0.97).missed is missed
