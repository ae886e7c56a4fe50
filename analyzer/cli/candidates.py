"""Candidates of ``predict``: which sizes are meant, and in which order they stand."""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Sequence

    from analyzer.match import Ranking
    from analyzer.power_system.prediction_records import Prediction
    from analyzer.power_system.propeller import Propeller
    from analyzer.setup_file import Setup


def candidate_sizes(
    setup: Setup, sizes: Sequence[str], size_range: str | None, *, is_ranked: bool
) -> tuple[Propeller, ...]:
    """The propellers asked for, each once; for a ranking also those flown: the setup's own, and the calibration's.

    Raises
    ------
    OptionError
        When a size or the range is none.
    """
    from analyzer.power_system.coefficients import setup_propeller
    from analyzer.power_system.propeller import parse_propeller, propeller_range

    asked = [*(parse_propeller(size) for size in sizes), *(propeller_range(size_range) if size_range else ())]
    if is_ranked:
        if setup.value("propeller.diameter_in") is not None and setup.value("propeller.pitch_in") is not None:
            asked.append(setup_propeller(setup))
        if setup.calibration is not None:
            asked += [parse_propeller(one.propeller) for one in setup.calibration.flown]
    return tuple(dict.fromkeys(asked))


def ranked(prediction: Prediction, setup: Setup, aim_text: str | None, max_diameter_in: float | None) -> Ranking:
    """Put candidates in the order of an aim, climb per amp-hour by default.

    Raises
    ------
    OptionError
        When the aim is none.
    NoAnswerError
        When no candidate keeps the limits.
    """
    from analyzer.match import parse_aim, rank

    return rank(prediction, parse_aim(aim_text or "climb_per_ah"), setup, max_diameter_in)
