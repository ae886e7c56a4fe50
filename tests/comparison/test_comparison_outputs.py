"""A comparison as text and as a figure."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from analyzer.comparison.compare import compare_runs
from analyzer.comparison.metrics import METRICS
from analyzer.comparison.records import ComparedRun, Comparison, SetAside
from analyzer.display import scale_of
from analyzer.export.comparison_html import comparison_page
from analyzer.export.comparison_tables import differences_table, groups_table, set_aside_table
from analyzer.export.comparison_text import comparison_text
from analyzer.figures.comparison import comparison_figure
from analyzer.records import Notice


def made(groups: tuple[str, ...] = ("14x8", "13x7"), flights: int = 3) -> Comparison:
    rng = np.random.default_rng(3)
    runs = [
        ComparedRun(
            f"{group}-{flight}.csv",
            f"{group}/{flight}",
            90.0 * n,
            group,
            value := rng.normal(1000 + 80 * place, 15),
            value,
        )
        for place, group in enumerate(groups)
        for flight in range(flights)
        for n in range(3)
    ]
    aside = [SetAside("bad\x1b.csv", 65.0, "part throttle (60%)")]
    return compare_runs(runs, set_aside=aside, notices=[Notice("not-corrected", "Values are not corrected.")])


def test_the_answer_comes_first_and_everything_is_there() -> None:
    comparison = made()
    text = comparison_text(comparison)
    assert " ".join(text.split()).startswith(comparison.verdict[0])
    for part in (
        "CLIMB PER AMP-HOUR BY PROPELLER",
        "DIFFERENCES",
        "SET ASIDE: 1",
        "1:05",
        "part throttle",
        "not corrected",
    ):
        assert part in text
    assert "\x1b" not in text
    assert text.endswith("\n")


def test_the_name_of_a_tag_cannot_write_control_characters_as_a_heading_either() -> None:
    assert "\x1b" not in comparison_text(replace(made(), by="wind\x1b[2J"))


def test_feet_are_for_those_who_ask() -> None:
    comparison = made()
    metric, feet = groups_table(comparison), groups_table(comparison, "feet")
    assert metric.columns[3].unit == "m/Ah"
    assert feet.columns[3].unit == "ft/Ah"
    assert float(feet.columns[3].cells[0]) == pytest.approx(float(metric.columns[3].cells[0]) / 0.3048, rel=2e-3)


def test_no_interval_is_a_dash() -> None:
    comparison = made(flights=1)
    assert set(groups_table(comparison).columns[4].cells) == {"—"}
    pairs = differences_table(comparison)
    assert {pairs.columns[3].cells[0], pairs.columns[5].cells[0], pairs.columns[7].cells[0]} == {"—"}
    comparison_figure(comparison)  # draws the dots all the same


def test_a_long_list_is_cut_and_says_so() -> None:
    many = made()
    comparison = Comparison(**{name: getattr(many, name) for name in many.__dataclass_fields__} | {
        "set_aside": tuple(SetAside("a.csv", 1.0, "too short (1.0 s)") for _ in range(45))
    })  # fmt: skip
    table = set_aside_table(comparison)
    assert len(table.rows) == 30
    assert table.note == "and 15 more, all of them in the JSON document"


def test_the_figure_has_a_dot_a_run_and_an_interval_a_group_and_pair() -> None:
    comparison = made(("14x8", "13x7", "12x6"))
    figure = comparison_figure(comparison)
    *dots, means, differences = figure.data
    assert sum(len(trace.y) for trace in dots) == len(comparison.runs)
    assert len(means.y) == 3
    low = [mean - under for mean, under in zip(means.y, means.error_y.arrayminus, strict=True)]
    assert low == pytest.approx([group.low for group in comparison.groups])
    assert len(differences.x) == 3
    high = [middle + above for middle, above in zip(differences.x, differences.error_x.array, strict=True)]
    assert high == pytest.approx([pair.high_percent for pair in comparison.differences])
    # Runs of one flight stand in one column.
    assert len(set(dots[0].x)) == 3


def test_names_from_logs_are_no_markup() -> None:
    figure = comparison_figure(made(("<b>14x8", "13x7")))
    assert "<b>" not in str(figure.layout.xaxis.ticktext) + str(figure.layout.yaxis2.ticktext)


def test_names_from_a_logbook_are_no_markup_in_the_page() -> None:
    page = comparison_page(made(("<script>x</script>", "13x7")))
    assert "<script>x" not in page
    assert "&lt;script&gt;x" in page


def test_every_metric_can_be_shown() -> None:
    for key in METRICS:
        assert scale_of(key).symbol
