"""One invented model and power system, and the measured points that the propeller tests share."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import pandas as pd
import pytest

from analyzer.setup_file import Setup, parse_setup

if TYPE_CHECKING:
    from collections.abc import Callable

INVENTED = """
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


@pytest.fixture
def setup() -> Setup:
    return parse_setup(INVENTED, source="test")


@pytest.fixture
def changed() -> Callable[..., Setup]:
    """Build the setup with lines replaced: changed("cells = 3", "cells = 4")."""

    def build(*replacements: str) -> Setup:
        text = INVENTED
        for old, new in zip(replacements[::2], replacements[1::2], strict=True):
            assert old in text
            text = text.replace(old, new)
        return parse_setup(text, source="test")

    return build


@pytest.fixture(scope="session")
def measured_points() -> pd.DataFrame:
    return pd.read_csv(Path(__file__).with_name("measured_points.csv"), comment="#")
