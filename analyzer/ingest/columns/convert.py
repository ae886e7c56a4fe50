"""From a chosen column to a channel: its cells, its unit, its range, its sign."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

import numpy as np

from analyzer.errors import LogFileError
from analyzer.ingest.columns.column_map import IGNORE, map_hint, map_option
from analyzer.ingest.columns.meaning import PART
from analyzer.ingest.columns.scale_factor import settled_unit
from analyzer.ingest.columns.unit_guess import HIGHEST_PERCENTILE, JUDGED_VALUES, Guess, base_unit, centred, guess_unit
from analyzer.records import Notice
from analyzer.units import Unit, parse_units

if TYPE_CHECKING:
    from analyzer.arrays import Array
    from analyzer.ingest.observations import Candidate

MAX_BAD_SHARE: Final = 0.05
"""Up to this share of a column's cells may be no numbers; more is no accident, and dropping them would hide it."""

MAX_MARKED_SHARE: Final = 0.5
"""A word or two again and again may fill up to half of a column: the sensor had no reading."""

MAX_OUTSIDE_SHARE: Final = 0.5
"""When more of a column's values are physically impossible, its unit or its channel is wrong, not its values..."""

MAX_OUTSIDE_SHARE_ASSUMED: Final = 0.05
"""...and sooner where its unit is only assumed."""

DISCHARGE_SHARE: Final = 3.0
"""A current whose negative peak is so many times its positive one is logged negative in discharge."""

MIN_DISCHARGE_A: Final = 2.0
"""A sensor's offset is smaller than this negative current."""

FASTEST_SHAFT_RPM: Final = 150_000.0
"""No motor of a model turns its shaft faster; the field of one with many poles does."""


@dataclass(frozen=True, eq=False)
class Converted:
    """A column as a channel.

    Attributes
    ----------
    values : numpy.ndarray, optional
        In the channel's unit, NaN where there is none; None when the column cannot be used.
    notices : tuple of Notice
        What was done to it.
    assumed : bool
        Its unit is only assumed.
    """

    values: Array | None
    notices: tuple[Notice, ...] = ()
    assumed: bool = False


def check_cells(candidate: Candidate, *, required: bool) -> tuple[Notice, ...]:
    """Judge the cells of a column that are no numbers.

    Raises
    ------
    LogFileError
        When they are too many to be dropped, and the column cannot be some text that is only named like the channel.
    """
    bad = candidate.bad
    if not bad.count:
        return ()
    header, text, share = candidate.header, bad.first_text, f"{bad.count} of {bad.filled} cells"
    if bad.count <= (MAX_MARKED_SHARE if bad.are_marks else MAX_BAD_SHARE) * bad.filled:
        message = f"dropped {share} of '{header}', no numbers (first: line {bad.first_line}, '{text}')"
        return (Notice("cells-dropped", message),)
    only_named_so = bad.count == bad.filled and candidate.meaning.unit is None and not candidate.explicit
    if only_named_so and not required:
        return (Notice("column-not-numbers", f"'{header}' holds text ('{text}'), no numbers; it is left out"),)
    another = f"name another column with {map_option('Header', candidate.meaning.channel.name)}"
    leave_out = f"leave the column out with {map_option(header, IGNORE)}"
    raise LogFileError(
        f"'{text}' is no number ({share} are not)",
        where=f"line {bad.first_line}, column '{header}'",
        remedy=f"correct the cells, or {another if required else leave_out}",
    )


def convert(candidate: Candidate, seconds: Array, shown: Guess | None = None) -> Converted:
    """Bring a column into its channel's unit and range.

    Parameters
    ----------
    candidate : Candidate
        The column, with one meaning.
    seconds : numpy.ndarray
        Times of its values.
    shown : Guess, optional
        The unit that another column shows, for one that gives none itself.
    """
    unit, notice, assumed = _unit_of_column(candidate, seconds, shown)
    if unit is None:
        return Converted(None, (notice,) if notice else ())
    values, outside = _in_range(candidate, unit, MAX_OUTSIDE_SHARE_ASSUMED if assumed else MAX_OUTSIDE_SHARE)
    notices = [notice] if notice else []
    notices.extend(outside)
    if candidate.meaning.channel.name == "rpm" and values is not None:
        notices.extend(_electrical_notices(candidate, values))
    if candidate.meaning.channel.kind == "counter" and values is not None and _counts_down(values):
        left = f"not used: '{candidate.header}' counts down: it tells what is left, not what was used"
        return Converted(None, (Notice("column-ignored", left),))
    if candidate.meaning.channel.name == "current_a" and values is not None and _discharge_is_negative(values):
        values = -values
        notices.append(Notice("current-sign", f"'{candidate.header}' is negative in discharge; its sign was turned"))
    return Converted(values, tuple(notices), assumed and values is not None)


def _unit_of_column(
    candidate: Candidate, seconds: Array, shown: Guess | None
) -> tuple[Unit | None, Notice | None, bool]:
    """Find a column's unit: from its header, its cells, its values. Also tells whether it is only assumed."""
    meaning, channel, header = candidate.meaning, candidate.meaning.channel, candidate.header
    if meaning.scaled and shown is None:
        return *settled_unit(candidate, seconds), False
    in_cells = (unit for unit in parse_units(candidate.cell_unit) if unit.dimension == channel.dimension)
    unit = centred(meaning.unit or next(in_cells, None), candidate.values)
    if unit == base_unit(channel) and meaning.unit_is_name:
        some = slice(None, None, 1 + seconds.size // JUDGED_VALUES)
        guess = guess_unit(channel, candidate.values[some], seconds[some])
        unit = None if guess is not None and guess.reason else unit
    if unit is not None and unit != base_unit(channel):
        return unit, Notice("column-read", f"read '{header}' as {channel.title}, converted from {unit.symbol}"), False
    if unit is not None:
        vague = meaning.sureness <= PART and not candidate.explicit
        return unit, Notice("column-read", f"read '{header}' as {channel.title}") if vague else None, False
    guess = shown or guess_unit(channel, candidate.values, seconds)
    if guess is None:
        span = f"{np.nanmin(candidate.values):g} to {np.nanmax(candidate.values):g}"
        hint = f"give it with {map_option(header, f'{channel.name} [unit]')}"
        problem = f"'{header}' has no unit, and its values ({span}) fit several units of {channel.title}"
        return None, Notice("unit-unknown", f"{problem}; it is left out: {hint}"), False
    if guess.reason:
        message = f"'{header}' has no unit: read as {channel.title} in {guess.unit.symbol} ({guess.reason})"
        return guess.unit, Notice("unit-inferred", message), False
    return guess.unit, None, True


def _in_range(candidate: Candidate, unit: Unit, most: float) -> tuple[Array | None, tuple[Notice, ...]]:
    """Convert, and drop what is physically impossible, up to a share."""
    channel = candidate.meaning.channel
    with np.errstate(over="ignore"):
        values = candidate.values if unit == base_unit(channel) else unit.to_base(candidate.values)
        lowest, highest = (unit.to_base(end) for end in candidate.ends)
    if channel.low <= lowest and highest <= channel.high:
        return values, ()
    outside = (values < channel.low) | (values > channel.high)
    count, total = int(outside.sum()), int(np.isfinite(candidate.values).sum())
    limits = f"{channel.low:g} to {channel.high:g} {channel.unit}".rstrip()
    share = f"{count} of {total} values of '{candidate.header}' outside {limits}"
    if count > most * total:
        hint = map_hint(candidate.header, channel, "unit")
        return None, (Notice("column-out-of-range", f"{share}: left out; if its unit is another, {hint}"),)
    return np.where(outside, np.nan, values), (Notice("values-out-of-range", f"dropped {share}"),)


def _counts_down(values: Array) -> bool:
    """Whether a counter falls at more samples than it rises at; one that starts again falls once."""
    steps = np.diff(values[np.isfinite(values)])
    return int(np.sum(steps < 0.0)) > int(np.sum(steps > 0.0))


def _discharge_is_negative(values: Array) -> bool:
    """Whether a pack's current is logged negative while it gives current."""
    if not float(np.fmin.reduce(values)) <= -MIN_DISCHARGE_A:
        return False
    there = values[np.isfinite(values)]
    low, high = np.percentile(there[:: 1 + there.size // JUDGED_VALUES], [0.5, 99.5])
    return bool(-low > max(MIN_DISCHARGE_A, DISCHARGE_SHARE * high))


def _electrical_notices(candidate: Candidate, values: Array) -> list[Notice]:
    """Say that an rpm counts the motor's field, by its header or because no shaft turns so fast."""
    usual = values[np.isfinite(values)]
    highest = float(np.percentile(usual, HIGHEST_PERCENTILE)) if usual.size else 0.0
    header = candidate.header
    if candidate.meaning.electrical:
        found = f"'{header}' is an electrical rpm"
    elif highest > FASTEST_SHAFT_RPM:
        found = f"'{header}' reaches {highest:.0f}, faster than any shaft: it is an electrical rpm"
    else:
        return []
    remedy = f"for 7 pole pairs read it with {map_option(header, 'rpm [1/7 rpm]')}"
    return [Notice("rpm-electrical", f"{found}, the shaft's times the motor's pole pairs; {remedy}")]
