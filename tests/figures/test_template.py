"""The palette is the published one, can be told apart without colour vision, and nothing can be sent away."""

from __future__ import annotations

import itertools

import numpy as np
import pytest

from analyzer.figures import template
from analyzer.records import SEGMENT_KINDS

OKABE_ITO = {
    # B. Wong, Nature Methods 8 (2011) 441, figure 2 (RGB 0-255), from memory, as widely reproduced
    "ORANGE": (230, 159, 0),
    "SKY_BLUE": (86, 180, 233),
    "GREEN": (0, 158, 115),
    "BLUE": (0, 114, 178),
    "VERMILLION": (213, 94, 0),
    "PURPLE": (204, 121, 167),
}

DEFICIENCIES = {
    # G. M. Machado, M. M. Oliveira, L. A. F. Fernandes, IEEE Trans. Vis. Comput. Graph. 15 (2009) 1291, table 1,
    # severity 1.0, linear RGB (from memory, as widely reproduced)
    "protanopia": [[0.152286, 1.052583, -0.204868], [0.114503, 0.786281, 0.099216], [-0.003882, -0.048116, 1.051998]],
    "deuteranopia": [[0.367322, 0.860646, -0.227968], [0.280085, 0.672501, 0.047413], [-0.011820, 0.042940, 0.968881]],
}


def rgb(color: str) -> np.ndarray:
    return np.array([int(color[place : place + 2], 16) for place in (1, 3, 5)])


def linear(color: str) -> np.ndarray:
    """IEC 61966-2-1 (sRGB) to linear light."""
    share = rgb(color) / 255.0
    return np.where(share <= 0.04045, share / 12.92, ((share + 0.055) / 1.055) ** 2.4)


def contrast(one: str, other: str) -> float:
    """WCAG 2.2 contrast ratio."""
    luminances = sorted(float(linear(color) @ [0.2126, 0.7152, 0.0722]) for color in (one, other))
    return (luminances[1] + 0.05) / (luminances[0] + 0.05)


@pytest.mark.parametrize("name", OKABE_ITO)
def test_the_palette_is_the_published_one(name: str) -> None:
    assert tuple(rgb(getattr(template, name))) == OKABE_ITO[name]


@pytest.mark.parametrize("look", [template.DAY, template.NIGHT, template.SUN])
def test_text_reads_in_sunlight(look: template.Look) -> None:
    assert contrast(look.ink, look.paper) >= 7.0  # WCAG 2.2, 1.4.6
    assert contrast(look.muted, look.paper) >= 4.5


@pytest.mark.parametrize("kind", SEGMENT_KINDS)
def test_lines_stand_out_from_white(kind: str) -> None:
    assert contrast(template.KIND_STYLES[kind].color, "#ffffff") >= 3.0  # WCAG 2.2, 1.4.11


@pytest.mark.parametrize("deficiency", DEFICIENCIES)
def test_the_kinds_in_the_air_differ_for_colour_blind_eyes(deficiency: str) -> None:
    seen = {
        kind: np.array(DEFICIENCIES[deficiency]) @ linear(template.KIND_STYLES[kind].color)
        for kind in ("motor_run", "glide", "thermal_climb")
    }
    for one, other in itertools.combinations(seen.values(), 2):
        assert np.linalg.norm(one - other) > 0.15


def test_no_kind_is_told_by_colour_alone() -> None:
    lines = [(style.width, style.dash) for style in template.KIND_STYLES.values()]
    assert len(set(lines)) == len(lines)
    assert len(set(template.MARKER_SEQUENCE)) == len(template.SEQUENCE)


def test_plots_send_nothing_away() -> None:
    assert template.PLOT_CONFIG["showSendToCloud"] is False
    assert template.PLOT_CONFIG["plotlyServerURL"] == ""


def test_each_figure_is_a_new_one() -> None:
    first, second = template.new_figure(), template.new_figure()
    first.update_layout(height=999)
    assert second.layout.height != 999


@pytest.mark.parametrize("look", [template.DAY, template.NIGHT, template.SUN])
def test_the_first_series_stands_out_from_the_paper(look: template.Look) -> None:
    """WCAG 2.2, 1.4.11 asks 3:1 of graphics; a thin curve needs more."""
    assert contrast(look.series[0], look.paper) >= 4.5
    assert look.of_kind("glide").color == look.series[0]
    assert sorted(look.series) == sorted(template.SEQUENCE)


def test_a_clock_shows_hours_where_there_are_any() -> None:
    assert template.clock_axis(3599.0)["tickformat"] == "%-M:%S"
    assert template.clock_axis(3600.0)["tickformat"] == "%-H:%M:%S"
