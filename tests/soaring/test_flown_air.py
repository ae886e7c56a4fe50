"""The air of a stretch: from the setup's field, else from the log's pressure, against the published atmosphere.

ISO 2533:1975 at 1000 m of geopotential height: 89,874.56 Pa, 281.650 K, 1.111643 kg/m3 (as in test_power_air).
"""

import numpy as np
import pytest

from analyzer.measures.traces import Traces
from analyzer.power_system.air import air_state
from analyzer.setup_file import Air, Setup
from analyzer.soaring.flown_air import flown_density_kg_m3

TIME = np.arange(0.0, 20.0)


def _density(air=None, height_m=200.0, pressure_pa=89_874.56, last_s=19.0):
    channels = {"height_m": np.full(TIME.size, height_m), "pressure_pa": np.where(TIME < 10.0, pressure_pa, np.nan)}
    traces = Traces(TIME, channels, {})
    return flown_density_kg_m3(traces, None if air is None else Setup(name="invented", air=air), 0.0, last_s)


def test_pressure_alone_means_the_standard_atmosphere_there():
    assert _density() == pytest.approx(1.111643, rel=1e-5)
    assert _density(Air()) == pytest.approx(1.111643, rel=1e-5)


def test_a_stated_temperature_is_that_of_the_field_and_falls_with_height():
    assert _density(Air(temperature_c=30.0)) == pytest.approx(89_874.56 / (287.05287 * (303.15 - 1.3)), rel=1e-6)


def test_a_stated_elevation_counts_before_the_logs_pressure():
    field = Air(elevation_m=500.0, temperature_c=20.0)
    assert _density(field) == air_state(field, height_above_field_m=200.0).density_kg_m3


def test_without_pressure_or_height_it_is_the_field():
    assert _density(pressure_pa=np.nan) == air_state(height_above_field_m=200.0).density_kg_m3
    assert _density(pressure_pa=np.nan, height_m=np.nan) == pytest.approx(1.225, rel=1e-6)
