"""Which column becomes which channel, where headers alone leave it open.

The rule, for each channel: what the user's map says; else of the columns that change at all the one whose header is
surest, not from satellites where another is not, and named first in the channel table. The others are named in a
notice. Columns that stand level are compared: if they agree it does not matter; if they do not, it is reported, never
guessed. Of voltages that differ, whatever their names, the pack's is the highest: what is aboard is supplied from it.
Currents of two motors are reported even where they agree: the pack gives both.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Final

import numpy as np

from analyzer.ingest.columns import words
from analyzer.ingest.columns.column_map import map_hint
from analyzer.ingest.columns.headers import words_of
from analyzer.ingest.columns.meaning import PART, UNIT_ONLY
from analyzer.ingest.columns.speeds import (
    MIN_CORRELATION_OVER_GROUND,
    MIN_CORRELATION_WITH_WAY,
    unit_over_ground,
)
from analyzer.ingest.columns.unit_guess import guess_unit
from analyzer.ingest.observations import unused
from analyzer.records import Notice
from analyzer.wording import listed

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

    from analyzer.arrays import Array
    from analyzer.channels import Channel
    from analyzer.ingest.columns.meaning import Meaning
    from analyzer.ingest.observations import Candidate
    from analyzer.units import Unit

AGREE_SHARE: Final = 0.02
"""Columns whose values differ by less than this share of their span, in the median, hold the same thing..."""

DISAGREE_SHARE: Final = 0.1
"""...if they also hardly ever differ by more than this: two currents are alike while the motor rests."""

HARDLY_EVER_PERCENTILE: Final = 98.0
"""A sensor that lags by a second differs at the edges of motor runs, for one or two per cent of a flight."""

SAGGED_SHARE: Final = 0.4
"""No pack falls further under load and still flies a model."""

RESTARTS_SHARE: Final = 0.01
"""A counter starts again a few times in a log of hundreds of samples; a course falls as often as it rises."""

BACKWARD_M_S: Final = -0.5
BACKWARD_SHARE: Final = 0.2
"""Nothing flies backward: a pitot tube's offset shows on the ground, a vertical speed is below zero half of the time.
"""

FITS_SHARE: Final = 0.95
"""Share of a column's values that must lie in a channel's range for the column to be that channel."""


@dataclass(frozen=True, eq=False)
class Choice:
    """What came of choosing.

    Attributes
    ----------
    chosen : tuple of Candidate
        Each with the one meaning it was given.
    ambiguous : dict of str to tuple of str
        Channels left open, and the headers that may be them.
    notices : tuple of Notice
        What was preferred to what, and why.
    """

    chosen: tuple[Candidate, ...]
    ambiguous: dict[str, tuple[str, ...]]
    notices: tuple[Notice, ...]


def choose(candidates: Sequence[Candidate], seconds: Array) -> Choice:
    """Give each channel its column.

    Parameters
    ----------
    candidates : sequence of Candidate
        In the order of the table.
    seconds : numpy.ndarray
        Times of their values.
    """
    filled = [candidate for candidate in candidates if np.isfinite(candidate.values).any()]
    notices = _empty_notices([candidate.header for candidate in candidates if candidate not in filled])
    settled = [_settled(candidate, seconds) for candidate in filled]
    settled, told = _told_by_way(settled, seconds)
    notices.extend(told)
    open_ones = [candidate for candidate in settled if len(candidate.meanings) > 1]
    notices.extend(_open_notice(candidate) for candidate in open_ones)
    ambiguous: dict[str, tuple[str, ...]] = {}
    for candidate in open_ones:
        ambiguous |= {meaning.channel.name: (candidate.header,) for meaning in candidate.meanings}
    chosen: list[Candidate] = []
    groups = _by_channel(candidate for candidate in settled if len(candidate.meanings) == 1)
    counted = {rival.position for _, rivals in groups for rival in rivals} | {one.position for one in open_ones}
    notices.extend(unused([candidate.header for candidate in settled if candidate.position not in counted]))
    for channel, rivals in groups:
        if len(rivals) == 1 or channel.several:
            chosen.extend(rivals)
            continue
        winner, notice = _winner(channel, rivals, [_in_base_unit(rival, seconds) for rival in rivals])
        notices.append(notice)
        if winner is None:
            ambiguous[channel.name] = tuple(rival.header for rival in rivals)
        else:
            chosen.append(winner)
    return Choice(tuple(sorted(chosen, key=lambda one: one.position)), ambiguous, tuple(notices))


def _by_channel(candidates: Iterable[Candidate]) -> list[tuple[Channel, list[Candidate]]]:
    """Group candidates by channel; one that has only its unit to show counts where there is no other."""
    groups: dict[str, list[Candidate]] = {}
    for candidate in candidates:
        groups.setdefault(candidate.meaning.channel.name, []).append(candidate)
    named = {name: [one for one in group if one.meaning.sureness > UNIT_ONLY] for name, group in groups.items()}
    return [(group[0].meaning.channel, named[name] or group) for name, group in groups.items()]


def _settled(candidate: Candidate, seconds: Array) -> Candidate:
    """Drop the meanings that a column's values rule out."""
    if len(candidate.meanings) == 1:
        return candidate
    fitting = tuple(meaning for meaning in candidate.meanings if _fits(meaning, candidate.values, seconds))
    return replace(candidate, meanings=fitting or candidate.meanings)


def _told_by_way(candidates: Sequence[Candidate], seconds: Array) -> tuple[list[Candidate], list[Notice]]:
    """Take a speed that adds up to the way between positions for the one over ground, in the unit in which it does."""
    named = {one.meaning.channel.name: one for one in candidates if len(one.meanings) == 1}
    places = [named[name] for name in ("latitude_deg", "longitude_deg") if name in named]
    found, notices = list(candidates), []
    for i, one in enumerate(candidates if len(places) == 2 else ()):
        meaning = next((own for own in one.meanings if own.channel.name == "ground_speed_m_s"), None)
        if meaning is None or meaning.scaled or (len(one.meanings) == 1 and meaning.unit):
            continue
        latitudes, longitudes = (_in_base_unit(place, seconds) for place in places)
        least = MIN_CORRELATION_WITH_WAY if len(one.meanings) == 1 else MIN_CORRELATION_OVER_GROUND
        unit = unit_over_ground(one.values, meaning.unit, latitudes, longitudes, seconds, least)
        if unit is not None:
            found[i] = replace(one, meanings=(replace(meaning, unit=unit),))
            read_as = f"read '{one.header}' as ground speed in {unit.symbol}"
            notices.append(Notice("unit-inferred", f"{read_as} (so it adds up to the way between positions)"))
    return found, notices


def _fits(meaning: Meaning, values: Array, seconds: Array) -> bool:
    """Whether nearly all values lie in the channel's range, in a unit the header or the values allow."""
    unit = _unit(meaning, values, seconds)
    if unit is None:
        return False
    there = unit.to_base(values[np.isfinite(values)])
    inside = (there >= meaning.channel.low) & (there <= meaning.channel.high)
    if meaning.channel.kind in ("angle", "counter") and _only_rises(there) != (meaning.channel.kind == "counter"):
        return False  # "cap" is a course, which comes and goes, or a capacity used
    if meaning.channel.name in ("airspeed_m_s", "ground_speed_m_s") and np.mean(there < BACKWARD_M_S) > BACKWARD_SHARE:
        return False  # it counts up and down
    sound = meaning.channel.dimension != "voltage" or _is_steady(there)
    return sound and bool(np.mean(inside) >= FITS_SHARE)


def _only_rises(values: Array) -> bool:
    """Whether values never fall, but where a counter starts again."""
    return bool(np.mean(np.diff(values) < 0.0) <= RESTARTS_SHARE) if values.size > 1 else True


def _is_steady(values: Array) -> bool:
    """Whether values are no more apart than a supply's, whose voltage sags but does not collapse."""
    low, high = np.percentile(values, [100.0 - HARDLY_EVER_PERCENTILE, HARDLY_EVER_PERCENTILE])
    return bool(low >= SAGGED_SHARE * high)


def _unit(meaning: Meaning, values: Array, seconds: Array) -> Unit | None:
    """The unit that the header names, else the one that the values show."""
    guess = guess_unit(meaning.channel, values, seconds) if meaning.unit is None else None
    return meaning.unit if guess is None else guess.unit


def _in_base_unit(candidate: Candidate, seconds: Array) -> Array:
    """A column's values in its channel's unit, so that columns in volts and in millivolts compare; NaN if unknown."""
    unit = _unit(candidate.meaning, candidate.values, seconds)
    return np.full(candidate.values.size, np.nan) if unit is None else unit.to_base(candidate.values)


def _winner(channel: Channel, rivals: Sequence[Candidate], values: Sequence[Array]) -> tuple[Candidate | None, Notice]:
    """Choose among columns that are all said to be one channel; `values` are theirs, in its unit."""
    merits = [_merit(rival, own) for rival, own in zip(rivals, values, strict=True)]
    alike = [i for i, merit in enumerate(merits) if merit[:-1] == max(merits)[:-1]]
    level = [i for i in alike if merits[i] == max(merits)]
    first = rivals[level[0]]
    if channel.name == "voltage_v" and merits[alike[0]][1] and not _agree([values[i] for i in alike], channel):
        pack = rivals[max(alike, key=lambda i: float(np.nanmedian(values[i])))]
        return pack, _chosen_notice(channel, pack, rivals, "the pack's is the highest voltage aboard")
    if len(level) == 1:
        return first, _chosen_notice(channel, first, rivals, _reason(first, rivals))
    of_motors = channel.dimension in ("current", "power") and all(_is_of_a_device(rivals[i]) for i in level)
    if not of_motors and _agree([values[i] for i in level], channel):
        return first, _chosen_notice(channel, first, rivals, "they hold the same")
    headers = listed([rivals[i].header for i in level])
    message = f"{channel.title} may be any of {headers}; {map_hint(first.header, channel)}"
    return None, Notice("column-ambiguous", message)


def _merit(one: Candidate, values: Array) -> tuple[bool, bool, bool, bool, bool, int]:
    """What speaks for a column, the weightiest first, its term's rank last; a known unit shows in its values."""
    known, named = bool(np.isfinite(values).any()), one.meaning.sureness > PART
    return one.explicit, known, one.varies, named, not one.meaning.satellite, -one.meaning.rank


def _is_of_a_device(candidate: Candidate) -> bool:
    """Whether a column is of one motor or controller; where there are two of them, neither tells the pack's."""
    return not words.DEVICES.isdisjoint(words_of(candidate.header))


def _reason(winner: Candidate, rivals: Sequence[Candidate]) -> str:
    """Say by which part of the rule a column won."""
    others = [rival for rival in rivals if rival is not winner]
    if winner.explicit:
        return "as mapped"
    if winner.varies and not any(rival.varies for rival in others):
        return "the other never changes"
    if not winner.meaning.satellite and all(rival.meaning.satellite for rival in others):
        return "heights from pressure are finer than from satellites"
    return "its name fits best"


def _agree(rivals: Sequence[Array], channel: Channel) -> bool:
    """Whether columns hold the same thing, a constant offset apart for heights."""
    first = rivals[0]
    span = float(np.fmax.reduce(first) - np.fmin.reduce(first))
    for rival in rivals[1:]:
        difference = first - rival
        there = difference[np.isfinite(difference)]
        if not there.size:
            return False
        offset = float(np.median(there)) if channel.name == "altitude_m" else 0.0
        usual, largest = np.percentile(np.abs(there - offset), [50.0, HARDLY_EVER_PERCENTILE])
        if usual > AGREE_SHARE * span or largest > DISAGREE_SHARE * span:
            return False
    return True


def _chosen_notice(channel: Channel, winner: Candidate, rivals: Sequence[Candidate], reason: str) -> Notice:
    others = listed([rival.header for rival in rivals if rival is not winner])
    return Notice("column-chosen", f"{channel.title} is read from '{winner.header}' ({reason}); not used: {others}")


def _open_notice(candidate: Candidate) -> Notice:
    titles = " or ".join(meaning.channel.title for meaning in candidate.meanings)
    hint = map_hint(candidate.header, candidate.meaning.channel)
    return Notice("column-ambiguous", f"'{candidate.header}' may be {titles}; it is left out: {hint}")


def _empty_notices(headers: Sequence[str]) -> list[Notice]:
    return [Notice("column-empty", f"no value in {listed(headers)}")] if headers else []
