"""What a column may mean, from its header alone: full trade terms first, then words in it, then its unit.

The longest term in the header counts. A header in which a word refuses the term ("max altitude", "cell voltage") means
no channel; a unit of another dimension rules a channel out ("Battery [%]" is no voltage). What the header leaves open
is left open here: `analyzer.ingest.columns.choice` decides with the values, or reports the alternatives.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import cache, lru_cache
from itertools import pairwise, takewhile
from typing import TYPE_CHECKING, Final

from analyzer.channels import BY_NAME, CHANNELS, REFUSED_WORDS, Channel
from analyzer.ingest.columns import words
from analyzer.ingest.columns.headers import Reading, fold, readings, unknown_unit, words_of
from analyzer.ingest.columns.unit_guess import base_unit
from analyzer.units import Unit, find_units, parse_units

if TYPE_CHECKING:
    from collections.abc import Iterable

TERM, TERM_AND_NUMBER, PART, UNIT_ONLY = 3, 2, 1, 0
"""How sure a meaning is: the whole header; with a number or a neutral word; within unknown words; from the unit."""

UNIT_ALONE: Final = {
    "time": "time_s",
    "length": "altitude_m",
    "voltage": "voltage_v",
    "current": "current_a",
    "charge": "charge_ah",
    "power": "power_w",
    "rotation": "rpm",
    "temperature": "temperature_c",
    "pressure": "pressure_pa",
}
"""Dimensions that only one channel has, or one far before all others; an angle or a percentage says nothing."""

MIN_PART_LETTERS: Final = 2
"""A term of one letter ("t", "u") counts only as the whole header."""


@dataclass(frozen=True, slots=True)
class Meaning:
    """One channel that a column may be.

    Attributes
    ----------
    channel : Channel
        The channel.
    unit : Unit, optional
        The unit its header names; None where it names none.
    sureness : int
        `TERM`, `TERM_AND_NUMBER`, `PART` or `UNIT_ONLY`.
    rank : int
        Place of the term among the channel's words; the lower is preferred.
    satellite : bool
        The header says that the value comes from satellites.
    electrical : bool
        The header says that an rpm is the electrical one, pole pairs times the shaft's.
    unknown_unit : str
        What the header says in a unit's place, where the units table does not know it.
    unit_is_name : bool
        The header is nothing but a unit ("Volts"), which names a quantity as much.
    scaled : tuple of Unit
        The two units that a factor in the header leaves open: that many of the unit, and that part of it. Then there is
        no `unit`.
    """

    channel: Channel
    unit: Unit | None
    sureness: int
    rank: int = 0
    satellite: bool = False
    electrical: bool = False
    unknown_unit: str = ""
    unit_is_name: bool = False
    scaled: tuple[Unit, ...] = ()


@cache
def _terms() -> dict[str, tuple[tuple[Channel, int], ...]]:
    """Every term without its blanks, and the channels that it stands for; canonical names are terms too."""
    table: dict[str, tuple[tuple[Channel, int], ...]] = {}
    for channel in CHANNELS:
        for rank, word in enumerate((channel.name, *channel.words)):
            key = "".join(words_of(word))
            table[key] = (*table.get(key, ()), (channel, rank))
    return table


@cache
def _written() -> frozenset[tuple[str, ...]]:
    """Every term as its words."""
    return frozenset(words_of(word) for channel in CHANNELS for word in (channel.name, *channel.words))


@cache
def _marks(channel: Channel) -> tuple[str, ...]:
    return tuple(fold(word) for word in channel.marks)


@cache
def _refused(channel: Channel) -> frozenset[str]:
    """Words beside which a header does not mean the channel; its own words are none ("time" beside "ticks")."""
    return frozenset(fold(word) for word in (*REFUSED_WORDS, *channel.refuses)).difference(map(fold, channel.words))


@lru_cache(maxsize=4096)
def meanings(header: str, unit_row_text: str = "") -> tuple[Meaning, ...]:
    """Every channel that a header may mean, the surest first; one `Meaning` a channel.

    Parameters
    ----------
    header : str
        The header's cell.
    unit_row_text : str
        What the row of units says for the column, where there is one.

    Examples
    --------
    >>> [(m.channel.name, m.unit.symbol) for m in meanings("Hgt (ft)")]
    [('altitude_m', 'ft')]
    >>> [m.channel.name for m in meanings("Speed")]
    ['airspeed_m_s', 'ground_speed_m_s']
    >>> meanings("max altitude")
    ()
    """
    if (exact := BY_NAME.get(header.strip())) is not None:
        return (Meaning(exact, unit_for(exact, readings(header, unit_row_text)), TERM, rank=-1),)
    found: dict[str, Meaning] = {}
    for reading in readings(header, unit_row_text):
        for meaning in (*_by_term(reading), *_by_unit(reading)):
            known = found.get(meaning.channel.name)
            if known is None or _merit(meaning) > _merit(known):
                found[meaning.channel.name] = _scaled(meaning, reading.factor)
    best = max((meaning.sureness for meaning in found.values()), default=0)
    odd = unknown_unit(header, unit_row_text)
    odd = "" if set(words_of(odd)) <= _known_words() else odd
    is_name = bool(find_units(header)) and not parse_units(unit_row_text)
    return tuple(
        replace(meaning, unknown_unit=odd)
        if meaning.unit is None and not meaning.scaled
        else replace(meaning, unit_is_name=is_name)
        for meaning in found.values()
        if meaning.sureness == best
    )


@cache
def _known_words() -> frozenset[str]:
    """Words of the trade, which in brackets say more of the name, not the unit."""
    terms = {word for channel in CHANNELS for term in channel.words for word in words_of(term)}
    return words.NEUTRAL | words.PLACES | terms


def _scaled(meaning: Meaning, factor: float) -> Meaning:
    """Leave the unit of a meaning open between the two ways to read a factor."""
    if factor == 1.0 or not meaning.channel.dimension:
        return meaning
    unit = meaning.unit or base_unit(meaning.channel)
    ways = (("", factor), ("1/", 1.0 / factor))
    scaled = (
        Unit(f"{part}{factor:g} {unit.symbol}", unit.dimension, unit.factor * scale, unit.offset)
        for part, scale in ways
    )
    return replace(meaning, unit=None, scaled=tuple(scaled))


def _merit(meaning: Meaning) -> tuple[int, bool]:
    return meaning.sureness, meaning.unit is not None or bool(meaning.scaled)


def unit_for(channel: Channel, ways: tuple[Reading, ...]) -> Unit | None:
    """The unit of the channel's dimension that one of the ways to read a header finds first."""
    units = (unit for way in ways for unit in way.units if unit.dimension == channel.dimension)
    return next(units, None)


def _unit_in_term(reading: Reading, channel: Channel, others: tuple[str, ...]) -> Unit | None:
    """The unit that a term names itself, as "mAh" and "amps" do."""
    term = "".join(word for word in reading.words if word not in others)
    usual = bool(others) and (words.PLACES | words.NEUTRAL).issuperset(others)
    return next((unit for unit in find_units(term) if usual and unit.dimension == channel.dimension), None)


def _by_term(reading: Reading) -> list[Meaning]:
    """Meanings by the longest term in the header's words; a mere place counts where there is no other."""
    own = reading.words
    spans = [(start, end) for start in range(len(own)) for end in range(start + 1, len(own) + 1)]
    spans.sort(key=lambda span: (_says_where(own, span), -len("".join(own[slice(*span)])), -span[0]))
    for start, end in spans:
        *first, last = own[start:end]
        if first and _is_place(first) and len(last) < MIN_PART_LETTERS and own[start:end] not in _written():
            continue  # "bat_t" is no "batt"
        key, others = "".join(own[start:end]), (*own[:start], *own[end:])
        if found := _letter_of(key, others) if others and len(key) < MIN_PART_LETTERS else _named(key, others):
            if found[0][0].dimension == "length":  # what a height is over is no word of its own
                others = (*own[:start], *takewhile(lambda word: word not in words.ABOVE, own[end:]))
            return [_meaning(reading, *one, others) for one in found if _fits(reading, one[0], others)]
    return []


def _named(key: str, others: tuple[str, ...]) -> list[tuple[Channel, int]]:
    """The channels of a term, and its rank among their words.

    A word beside it may say which of a dimension's channels is meant ("GPS" speed), unless the term says so ("vario").
    """
    found = _terms().get(key, ())
    own = len(found) == 1 and bool(found[0][0].marks)
    return list(found) if own else [_marked(channel.dimension, others) or (channel, rank) for channel, rank in found]


def _marked(dimension: str, others: tuple[str, ...]) -> tuple[Channel, int] | None:
    """The channel of a dimension that a word beside names, and that word's rank."""
    for one in CHANNELS:
        ranks = [rank for rank, mark in enumerate(_marks(one)) if mark in others]
        if ranks and one.dimension == dimension:
            return one, ranks[0]
    return None


def _letter_of(key: str, others: tuple[str, ...]) -> list[tuple[Channel, int]]:
    """What a letter means beside words that say no more than where or which ("U batt", "I2", "T motor")."""
    plain = words.NEUTRAL | words.PLACES | words.DEVICES | words.AVERAGES
    if not all(word.isdigit() or word in plain for word in others):
        return []
    if key in ("u", "i"):
        return _named(key, others)
    device = key in words.LETTERS_OF_DEVICES and not (words.DEVICES | words.PACKS).isdisjoint(others)
    return [(BY_NAME[words.LETTERS_OF_DEVICES[key]], 0)] if device else []


def _fits(reading: Reading, channel: Channel, others: tuple[str, ...]) -> bool:
    """Whether neither the unit nor a word beside the term rules the channel out."""
    dimensions = {unit.dimension for unit in reading.units}
    term = [word for word in reading.words if word not in others]
    if _is_place(term):  # "BEC A" is in ampere, "Pack A" may be the first of two, "Pack cycles" is something else
        if any(not _is_known(word) and word not in words.FIRST_AND_SECOND for word in others):
            return False
        least = MIN_PART_LETTERS if words.PACKS.issuperset(term) else 1
        dimensions |= {unit.dimension for word in others if len(word) >= least for unit in find_units(word)}
    return (not dimensions or channel.dimension in dimensions) and _refused(channel).isdisjoint(others)


def _is_known(word: str) -> bool:
    """Whether a word beside a place takes nothing from it: a number, a unit, another place or source."""
    return word.isdigit() or word in words.NEUTRAL | words.PLACES or bool(find_units(word))


def _says_where(own: tuple[str, ...], span: tuple[int, int]) -> bool:
    """Whether words name the place or the sensor of a quantity, not the quantity ("current sensor voltage")."""
    return _is_place(own[slice(*span)]) or not words.SENSORS.isdisjoint(own[span[1] : span[1] + 1])


def _is_place(some: Iterable[str]) -> bool:
    return words.PLACES.issuperset(some)


def _meaning(reading: Reading, channel: Channel, rank: int, others: tuple[str, ...]) -> Meaning:
    own = (words.NEUTRAL | words.PLACES).union(_marks(channel))
    unknown = [word for word in others if not word.isdigit() and word not in own]
    sureness = PART if unknown else TERM_AND_NUMBER if others else TERM
    return Meaning(
        channel,
        unit_for(channel, (reading,)) or _unit_in_term(reading, channel, others),
        sureness,
        rank,
        satellite=not words.SATELLITE.isdisjoint(reading.words),
        electrical=not words.ELECTRICAL.isdisjoint(reading.words) or ("e", "rpm") in pairwise(reading.words),
    )


def _usual_channel(dimension: str, beside: tuple[str, ...]) -> str | None:
    """The channel of a unit that stands beside unknown words: the one that one of them marks, else the usual one."""
    marked = _marked(dimension, beside)
    return UNIT_ALONE.get(dimension) if marked is None else marked[0].name


def _by_unit(reading: Reading) -> list[Meaning]:
    """Meanings by the unit, behind a letter or a place at most; a mere unit ("Volts") counts as a term of the trade."""
    some = frozenset(word for word in reading.words if not word.isdigit())
    symbols = {words.SYMBOLS.get(word, ()) for word in reading.words}
    symbol = symbols.pop() if len(symbols) == 1 else ()
    names = [name for name in symbol if BY_NAME[name].dimension in {unit.dimension for unit in reading.units}]
    places = words.PLACES | words.DEVICES
    there = not places.isdisjoint(some) and some <= places | words.FIRST_AND_SECOND
    if not names and (reading.explicit or there):
        dimensions = [
            unit.dimension for unit in reading.units if reading.explicit or unit.dimension in words.MEASURED_THERE
        ]
        if reading.words and not there and {"temperature", "angle"}.issubset(dimensions):
            dimensions = []  # "Roll [°]"
        names = [name for dimension in dimensions if (name := _usual_channel(dimension, reading.words))]
    sureness = TERM_AND_NUMBER if not reading.words else UNIT_ONLY if reading.explicit and not symbol else PART
    return [
        Meaning(channel, unit_for(channel, (reading,)), sureness, rank=len(channel.words))
        for channel in map(BY_NAME.__getitem__, dict.fromkeys(names))
        if _refused(channel).isdisjoint(reading.words)
    ]
