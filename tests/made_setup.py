"""One invented model and its power system, whose lines a test may replace."""

from __future__ import annotations

from analyzer.setup_file import Setup, parse_setup

SETUP = """
name = "an invented sailplane"
[airframe]
mass_kg = 2.1
wing_area_m2 = 0.60
wingspan_m = 3.0
zero_lift_drag_coefficient = 0.018
[pack]
cells = 3
capacity_ah = 2.2
internal_resistance_ohm = 0.025
[speed_controller]
continuous_current_a = 60.0
burst_current_a = 80.0
resistance_ohm = 0.003
[motor]
kv_rpm_per_v = 1100.0
resistance_ohm = 0.025
no_load_current_a = 1.6
no_load_voltage_v = 10.0
max_current_a = 70.0
max_rpm = 15000.0
[propeller]
diameter_in = 12.0
pitch_in = 6.0
"""


def setup_text(*replacements: str, text: str = SETUP) -> str:
    """The text with parts of it replaced: setup_text("cells = 3", "cells = 4")."""
    for old, new in zip(replacements[::2], replacements[1::2], strict=True):
        assert old in text
        text = text.replace(old, new)
    return text


def made_setup(*replacements: str, text: str = SETUP) -> Setup:
    """The setup that the text with parts of it replaced makes."""
    return parse_setup(setup_text(*replacements, text=text), source="test")
