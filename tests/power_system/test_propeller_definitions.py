"""Sizes, and what the coefficients mean."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from analyzer.errors import OptionError
from analyzer.power_system import propeller as props


@given(scale=st.floats(0.5, 2.0), speed=st.floats(10.0, 200.0), diameter=st.floats(0.1, 0.6))
def test_power_scales_with_density_speed_cubed_and_diameter_to_the_fifth(
    scale: float, speed: float, diameter: float
) -> None:
    once = props.shaft_power_w(0.05, 1.2, speed, diameter)
    assert props.shaft_power_w(0.05, 1.2 * scale, speed, diameter) == pytest.approx(once * scale)
    assert props.shaft_power_w(0.05, 1.2, speed * scale, diameter) == pytest.approx(once * scale**3)
    assert props.shaft_power_w(0.05, 1.2, speed, diameter * scale) == pytest.approx(once * scale**5)


@pytest.mark.parametrize(
    ("text", "size"), [("14x8", (14.0, 8.0, 2)), (" 12.5 X 7.5 ", (12.5, 7.5, 2)), ("13×6.5x3", (13.0, 6.5, 3))]
)
def test_sizes_as_the_trade_writes_them(text: str, size: tuple[float, float, int]) -> None:
    found = props.parse_propeller(text)
    assert (found.diameter_in, found.pitch_in, found.blades) == size
    assert props.parse_propeller(found.name) == found


@pytest.mark.parametrize("text", ["", "14", "x8", "14x", "14-8", "14x8x9", "1x1", "400x8", "nanx8", "14x8 inch"])
def test_what_is_no_size_says_how_to_write_one(text: str) -> None:
    with pytest.raises(OptionError, match=r"give|write"):
        props.parse_propeller(text)


@given(st.text(max_size=12))
def test_any_text_is_a_size_or_an_option_error(text: str) -> None:
    try:
        props.parse_propeller(text)
    except OptionError as error:
        assert str(error)
