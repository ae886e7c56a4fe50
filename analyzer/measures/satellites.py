"""Heights from satellites: late, and wandering by metres, unlike a barometer's."""

from __future__ import annotations

import re
from dataclasses import replace
from typing import TYPE_CHECKING, Final

from analyzer.records import Notice

if TYPE_CHECKING:
    from collections.abc import Iterator

    from analyzer.measures.tuning import MeasureTuning
    from analyzer.records import Log

_WORDS: Final = re.compile(r"gps|gnss|galt|satell", re.IGNORECASE)

LAG_S: Final = 0.9
LAG_SPREAD_S: Final = 0.5
"""Receivers filter their solution and send it late, together by about a second (common practice, no source)."""

WANDER_M_PER_ROOT_S: Final = 0.4
"""Some 2 m in half a minute, as heights from one frequency with a clear sky do (common practice, no source)."""

NO_WASH_M: Final = 0.05
"""No slipstream moves a satellite's height."""


def from_satellites(log: Log) -> bool:
    """Whether the header of the altitude says that it comes from satellites."""
    return _WORDS.search(log.headers.get("altitude_m", "")) is not None


def for_satellites(tuning: MeasureTuning) -> MeasureTuning:
    """What is expected of heights from satellites before the log speaks."""
    return replace(
        tuning,
        usual_lag_s=LAG_S,
        usual_lag_spread_s=LAG_SPREAD_S,
        usual_wash_m=NO_WASH_M,
        usual_drift_m_per_root_s=WANDER_M_PER_ROOT_S,
        most_stops=0,  # what wanders as fast as a model bends its path tells of no lag
    )


def satellite_notice(log: Log) -> Iterator[Notice]:
    """That heights are less sure for it."""
    if from_satellites(log):
        message = (
            f"The altitude ('{log.headers['altitude_m']}') comes from satellites: late by about a second, and "
            "wandering by metres; gains and sink rates are stated less surely than from a barometer."
        )
        yield Notice("altitude-from-satellites", message)
