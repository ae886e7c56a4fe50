"""The invented model, and the measured points that the propeller tests share."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import pandas as pd
import pytest
from made_setup import made_setup

if TYPE_CHECKING:
    from collections.abc import Callable

    from analyzer.setup_file import Setup


@pytest.fixture
def setup() -> Setup:
    return made_setup()


@pytest.fixture
def changed() -> Callable[..., Setup]:
    """Build the setup with lines replaced: changed("cells = 3", "cells = 4")."""
    return made_setup


@pytest.fixture(scope="session")
def measured_points() -> pd.DataFrame:
    return pd.read_csv(Path(__file__).with_name("measured_points.csv"), comment="#")
