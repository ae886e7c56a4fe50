"""Factors in headers that do not say on which side they stand: whether "x100" made the values larger or smaller."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, Final

from analyzer.ingest.columns.column_map import map_option
from analyzer.ingest.columns.unit_guess import base_unit, guess_unit
from analyzer.records import Notice

if TYPE_CHECKING:
    from collections.abc import Sequence

    from analyzer.arrays import Array
    from analyzer.channels import Channel
    from analyzer.ingest.observations import Candidate
    from analyzer.units import Unit

USUAL_STEP_S: Final = 0.2
"""Telemetry comes in steps of 0.02 to 2 s; this is their middle."""


def settled_unit(candidate: Candidate, seconds: Array) -> tuple[Unit | None, Notice]:
    """Tell by a column's values on which side the factor in its header stands; None where both sides, or none, fit."""
    meaning, header = candidate.meaning, candidate.header
    fitting = [unit for unit in meaning.scaled if _is_usual(candidate, unit, seconds)]
    if len(fitting) == 1:
        read_as = f"read '{header}' as {meaning.channel.title} in {fitting[0].symbol}"
        return fitting[0], Notice("unit-inferred", f"{read_as} (the other way, its values would be absurd)")
    hints = " or ".join(map_option(header, f"{meaning.channel.name} [{unit.symbol}]") for unit in meaning.scaled)
    ends = " to ".join(f"{end:g}" for end in candidate.ends)
    problem = f"'{header}' does not say which way its factor goes, nor do its values ({ends}); it is left out"
    return None, Notice("unit-unknown", f"{problem}: give it with {hints}")


def _is_usual(candidate: Candidate, unit: Unit, seconds: Array) -> bool:
    """Whether the values, in this unit, are such as the channel has in its own."""
    channel: Channel = candidate.meaning.channel
    inside = all(channel.low <= unit.to_base(end) <= channel.high for end in candidate.ends)
    guess = guess_unit(channel, unit.to_base(candidate.values), seconds) if inside else None
    return guess is not None and guess.unit == base_unit(channel)


def unit_of_steps(scaled: Sequence[Unit], step: float) -> Unit:
    """Of the two ways to read the factor of a time, the one whose usual step is a telemetry's."""
    return min(scaled, key=lambda unit: abs(math.log(max(step, 1e-12) * unit.factor / USUAL_STEP_S)))
