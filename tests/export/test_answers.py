"""The five answers at the top of text, report and page."""

from __future__ import annotations

from dataclasses import replace

import pytest
from made_flight import made_run, made_summary

from analyzer.export.answers import Answer, answers
from analyzer.records import Flight, Glide, MatchItem, Notice, PowerSystemMeasures
from analyzer.setup_file import Pack, Setup


def said(summary, place: int, **more) -> tuple[str, str]:
    answer = answers(summary, **more)[place]
    return answer.said, answer.state


def test_every_log_answers_five_questions_and_more_where_there_is_more() -> None:
    """The pack's question wants its capacity, the propeller's wants other flights."""
    plain = [answer.question for answer in answers(made_summary())]
    setup = Setup(name="x", pack=Pack(capacity_ah=2.0))
    asked = [answer.question for answer in answers(made_summary(), setup=setup, beside_others=Answer("Better?", "No."))]
    assert len(plain) == 5
    assert asked == [*plain[:2], "What is left in the pack?", "Better?", *plain[2:]]
    assert all(question.endswith("?") for question in asked)


def test_an_answer_is_its_headline_and_the_rest() -> None:
    """Nothing is lost between the two, and a decimal point or a time ends no sentence."""
    for answer in answers(made_summary()):
        assert answer.headline + answer.rest == answer.said
    climbs = answers(made_summary())[1]
    assert (climbs.headline, climbs.rest[:6]) == ("224 mAh each, 581 m/Ah:", " 260 m")


def test_a_limit_exceeded_is_bad_and_named() -> None:
    assert said(made_summary(), 0) == ("OVER THE LIMIT: controller current, continuous (34.2 against 30.0 A).", "bad")


def test_inside_every_limit_is_good_and_names_the_tightest() -> None:
    limits = tuple(limit for limit in made_summary().power_system.limits if limit.ok)
    words, state = said(made_summary(power_system=PowerSystemMeasures(None, None, None, None, limits)), 0)
    assert state == "good"
    assert "cell voltage under load, 0.37 V left" in words


def test_cells_that_the_pack_cannot_have_are_neither_good_nor_bad() -> None:
    """The limit is open, and the words say why; it is not for want of a channel."""
    plain = made_summary()
    open_cell = replace(plain.power_system.limits[1], measured=None, margin=None, ok=None)
    for limits, begins in (
        ((plain.power_system.limits[0], open_cell), "OVER THE LIMIT: controller current, continuous"),
        ((open_cell,), "The cell voltage was not checked: the pack cannot have"),
        ((replace(plain.power_system.limits[0], ok=True), open_cell), "Everything that was checked stayed inside"),
    ):
        found = replace(plain.power_system, limits=limits)
        noticed = made_summary(power_system=found).with_notices([Notice("cells-contradict", "3.1 V for each")])
        words, state = said(noticed, 0)
        assert words.startswith(begins)
        assert "the pack cannot have the setup's cells" in words
        assert "for want of" not in words
        assert state == ("bad" if begins.startswith("OVER") else "open")


def test_climbs_are_summed_without_blips_and_ground_runs() -> None:
    # two runs of 171.2 m for 223.6 mAh each: 342.4 m / 0.4472 Ah = 765.7 m/Ah
    runs = (made_run(), made_run(), made_run(blip=True), made_run(on_ground=True))
    words, _ = said(made_summary(motor_runs=runs), 1)
    assert words == "224 mAh each, 766 m/Ah: 342 m for 447 mAh in 2 climbs (0:56)."


def test_climbs_of_a_log_without_current_say_what_they_gave() -> None:
    # 2 * 171.2 m in 2 * 28 s: 6.1 m/s
    words, _ = said(made_summary(motor_runs=(made_run(charge_ah=None), made_run(charge_ah=None))), 1)
    assert words == "6.11 m/s: 342 m in 2 climbs (0:56). Without a current their cost is not known."


def test_climbs_left_in_the_pack_keep_a_fifth_for_the_landing() -> None:
    # 0.8 * 2.0 Ah - 0.41 Ah = 1.19 Ah; one climb takes 0.2236 Ah: five more
    words, _ = said(made_summary(), 2, setup=Setup(name="x", pack=Pack(capacity_ah=2.0)))
    assert words == (
        "5 more climbs like these: 410 of 2000 mAh are used, 20 % is kept for the landing. "
        "Counted from a pack that was full when the log began."
    )


@pytest.mark.parametrize(
    ("capacity_ah", "begins", "state"),
    [(0.75, "No further climb like these:", "open"), (0.5, "Less than the 20 % that is kept", "bad")],
)
def test_a_pack_that_is_nearly_empty_is_told_and_one_flown_into_its_reserve_marked(
    capacity_ah: float, begins: str, state: str
) -> None:
    # 0.8 * 0.75 Ah - 0.41 Ah = 0.19 Ah, less than one climb; 0.8 * 0.5 Ah = 0.40 Ah, less than was used
    words, judged = said(made_summary(), 2, setup=Setup(name="x", pack=Pack(capacity_ah=capacity_ah)))
    assert words.startswith(begins)
    assert judged == state


def test_several_flights_are_counted_as_flown_on_one_pack_and_that_is_said() -> None:
    """No log tells whether the pack was changed, unless one pack cannot have given so much."""
    summary = made_summary(flights=(Flight(0.0, 100.0), Flight(200.0, 300.0)))
    words, _ = said(summary, 2, setup=Setup(name="x", pack=Pack(capacity_ah=2.0)))
    assert words.endswith("Counted from one pack for all flights, full when the log began.")


def test_a_pack_changed_between_flights_is_not_counted() -> None:
    summary = made_summary(flights=(Flight(0.0, 100.0), Flight(200.0, 300.0)))
    asked = [answer.question for answer in answers(summary, setup=Setup(name="x", pack=Pack(capacity_ah=0.3)))]
    assert "What is left in the pack?" not in asked


@pytest.mark.parametrize(("agrees", "state"), [(True, "good"), (False, "bad")])
def test_the_prediction_is_judged_on_the_whole_flight(agrees: bool, state: str) -> None:
    item = MatchItem("climb rate", 6.0, 5.4, "m/s", -10.0, agrees)
    words, judged = said(made_summary(match=(item,)), 2)
    assert judged == state
    assert ("climb rate -10 %" in words) is not agrees


def test_where_only_the_climb_differs_the_pilot_is_told_where_to_look() -> None:
    items = (
        MatchItem("current", 20.0, 20.1, "A", 0.5, True),
        MatchItem("climb rate", 6.0, 8.0, "m/s", 33.0, False),
    )
    words, _ = said(made_summary(match=items), 2)
    assert "climb rate +33 %" in words
    assert words.endswith(
        "The motor draws what is predicted: check flying mass, drag, propeller, and how it was flown."
    )


def test_a_flight_that_could_not_be_compared_says_why() -> None:
    summary = made_summary(match=())
    why = "Not held against the prediction: the setup lacks something."
    words, state = said(summary.with_notices([Notice("not-matched", why)]), 2)
    assert (words, state) == (why, "open")


def test_sink_is_averaged_over_time_within_each_flight_mode() -> None:
    # (0.4 * 100 + 0.6 * 300) / 400 = 0.55
    glides = (Glide(0.0, 100.0, 40.0, 0.4, None, None), Glide(200.0, 500.0, 180.0, 0.6, None, None))
    words, _ = said(made_summary(glides=glides), 3)
    assert words.startswith("Sink 0.55 m/s: mean over 6:40")


def test_parts_of_a_glide_stand_for_the_whole_where_the_mode_changed() -> None:
    whole = (Glide(0.0, 100.0, 50.0, 0.5, None, None), Glide(200.0, 300.0, 60.0, 0.6, None, "cruise"))
    parts = (Glide(5.0, 50.0, 18.0, 0.4, None, "cruise"), Glide(50.0, 100.0, 40.0, 0.8, None, "speed"))
    words, _ = said(made_summary(glides=whole, glide_parts=parts), 3)
    # cruise: (0.4 * 45 + 0.6 * 100) / 145 = 0.54
    assert words.startswith("Sink 0.54 m/s in cruise, 0.80 m/s in speed: mean over 3:15")


def test_without_a_channel_of_the_motor_no_climb_is_lift_for_certain() -> None:
    """Height alone: what looks like a thermal climb may be the motor's."""
    unknown = made_summary(motor_runs=()).with_notices([Notice("motor-unknown", "no motor runs are told")])
    cost, air = said(unknown, 1), said(unknown, 4)
    assert cost == ("Not known: the log has no channel that shows the motor.", "open")
    assert air == ("Not known: 1 climb, 176 m, of which the motor may be part.", "open")


def test_climbs_told_by_their_shape_are_no_thermals_for_certain() -> None:
    words, state = said(made_summary().with_notices([Notice("motor-from-climb", "taken for motor runs")]), 4)
    assert words.startswith("1 thermal climb, 176 m (told from the motor by their shape alone); lift paid")
    assert state == "open"


def test_what_was_not_there_is_said_in_words() -> None:
    summary = made_summary(motor_runs=(), glides=(), thermal_climbs=(), match=())
    nothing = replace(summary, power_system=PowerSystemMeasures(None, None, None, None))
    words = [answer.said for answer in answers(nothing)]
    assert words[1] == "The motor made no climb."
    assert words[3] == "No glide was long enough to measure."
    assert words[4] == "No thermal climb."
    assert {answer.state for answer in answers(nothing)} == {"open"}
