"""A column's header, taken apart: its words, and the unit it names.

Headers say their unit in many ways: "Alt (m)", "Alt [m]", "Alt_m", "Alt/m", "Alt, m", "Alt in m", "AltM", or in a row
of units below. Where a header can be cut in more than one way ("Phase A": phase A, or phase in ampere), all ways are
returned, and the channel table decides.
"""

from __future__ import annotations

import re
import unicodedata
from dataclasses import dataclass, replace
from functools import lru_cache
from typing import Final

from analyzer.ingest.columns import words
from analyzer.units import Unit, find_units, parse_units

MAX_HEADER_CHARACTERS: Final = 200
"""Longer headers are cut before they are looked at: no trade term is that long, and the search is quadratic."""

_BRACKETED: Final = re.compile(r"[\[({<]([^\[\](){}<>]*)[\])}>]")
_OPEN_BRACKET: Final = re.compile(r"[\[({<][^\])}>]*$")
_SEPARATOR: Final = re.compile(r"\s*(?:,|/|:|;|\||=|\bin\b|\s-\s)\s*", re.IGNORECASE)
_SCALED_END: Final = re.compile(r"(?P<name>.*\S)[\s_]+(?P<unit>(?:\d*[.,]\d+|1/\d+)\s*[^\W\d].*)")
_COUNTED_BRACKET: Final = re.compile(r"[\[({<][^\])}>]*\d[^\])}>]*[\])}>]$")
_FACTOR: Final = re.compile(r"(?:(?<![^\W_])[x\u00d7]|(?<!\d)[*·/÷])\s?(?P<factor>10{1,6})(?!\d)", re.IGNORECASE)
"""A factor without a side: "volt_x100" holds a hundred times the volts, "rpm (x100)" a hundredth of the rpm."""

_RATE: Final = re.compile(r"(?:@|\bat\b|\bje\b)?\s*(?P<hertz>(?=[\d.,]*[1-9])\d+(?:[.,]\d+)?)\s*Hz\b", re.IGNORECASE)
"""How often a second a count goes up: "Sample (50 Hz)"."""

_COUNT_SINCE: Final = re.compile(r"(?P<unit>[^\W\d_]+)\s+(?:since|seit|depuis|desde|above|über)\s.*", re.IGNORECASE)
"""A unit that stands before what it is counted from: "Seconds since start", "Metres above launch"."""

_ABBREVIATION: Final = "|".join(rf"(?<=(?<![^\W\d_]){word})(?=[A-Z])" for word in words.ABBREVIATIONS)
_CAMEL: Final = re.compile(rf"(?<=[a-zà-ÿ])(?=[A-Z])|(?<=[A-Za-z])(?=\d)|(?<=\d)(?=[A-Za-z])|{_ABBREVIATION}")
_HEXADECIMAL: Final = re.compile(r"\b0x[0-9A-Fa-f]{1,8}(?![0-9A-Za-z])")
"""A sensor's number before a name."""

_COMPOUND: Final = re.compile(
    rf"(?!milli|micro|kilo|centi|deci|mega)([^\W\d_]{{2,}}?)({'|'.join(words.COMPOUND_ENDS)})"
)
_SIGNS: Final = frozenset("%°º℃")
_MAX_UNIT_WORDS: Final = 3
"""'m per s' and 'm s -1' are the longest units that headers write as words."""


@dataclass(frozen=True, slots=True)
class Reading:
    """One way to read a header.

    Attributes
    ----------
    words : tuple of str
        The header's words without the unit, folded (lower case, no accents).
    units : tuple of Unit
        What the unit may be; empty where none was found.
    unit_text : str
        The unit as written.
    explicit : bool
        The unit stands in brackets, after a sign, or in a row of its own, or is a sign ("%"); not of the name.
    factor : float
        What the values are multiplied or divided by.
    """

    words: tuple[str, ...]
    units: tuple[Unit, ...] = ()
    unit_text: str = ""
    explicit: bool = False
    factor: float = 1.0


def fold(text: str) -> str:
    """Fold a word for comparison: lower case, accents off."""
    decomposed = unicodedata.normalize("NFKD", text.casefold())
    return "".join(character for character in decomposed if not unicodedata.combining(character))


def words_of(text: str) -> tuple[str, ...]:
    """Split a name at blanks, signs and changes of case, fold each word, and part compounds of the trade.

    Examples
    --------
    >>> words_of("BattVolt_2")
    ('batt', 'volt', '2')
    >>> words_of("Antriebsspannung")
    ('antriebs', 'spannung')
    """
    parted = _CAMEL.sub(" ", _HEXADECIMAL.sub(" ", text[:MAX_HEADER_CHARACTERS]))
    folded = (fold(word) for word in re.findall(r"[^\W_]+", parted))
    return tuple(part for word in folded for part in _parted(word))


def _parted(word: str) -> tuple[str, ...]:
    """Part a compound before the term at its end."""
    compound = _COMPOUND.fullmatch(word)
    return (word,) if compound is None else (compound[1], compound[2])


@lru_cache(maxsize=4096)
def readings(header: str, unit_row_text: str = "") -> tuple[Reading, ...]:
    """Every way to cut a header into words and unit; one that names its unit outright leaves no doubt.

    Parameters
    ----------
    header : str
        The header's cell.
    unit_row_text : str
        What the row of units says for the column, where there is one.
    """
    header = header[:MAX_HEADER_CHARACTERS].strip()
    found = _readings(header, unit_row_text)
    factors = [float(match["factor"]) for text in (header, unit_row_text) for match in _FACTOR.finditer(text)]
    if len(factors) == 1 and not any(_FACTOR.search(reading.unit_text) for reading in found):
        plain = _readings(_FACTOR.sub(" ", header).strip(), _FACTOR.sub("", unit_row_text))
        found = [replace(reading, factor=factors[0]) for reading in plain]
    return tuple(dict.fromkeys(found))


def _readings(header: str, unit_row_text: str) -> list[Reading]:
    if (rate := _RATE.search(header)) and not words.COUNTED.isdisjoint(own := words_of(_RATE.sub(" ", header))):
        unit = Unit(f"1/{rate['hertz']} s", "time", 1.0 / float(rate["hertz"].replace(",", ".")))
        return [Reading(own, (unit,), rate[0], explicit=True)]
    found: list[Reading] = []
    if units := parse_units(unit_row_text):
        found.append(Reading(words_of(header), units, unit_row_text.strip(), explicit=True))
    elif units := parse_units(header):
        found.append(Reading((), units, header, explicit=True))
    elif (since := _COUNT_SINCE.fullmatch(header)) and (units := find_units(since["unit"])):
        return [Reading((), units, since["unit"], explicit=True)]
    found.extend(_bracketed(header))
    trailing = _trailing(header)
    if not any("/" in reading.unit_text for reading in trailing):
        found.extend(_separated(header))
    if not any(reading.explicit for reading in found):
        found.extend(trailing)
    if not any(reading.explicit for reading in found):
        found.append(Reading(words_of(header)))
    return found


def _bracketed(header: str) -> list[Reading]:
    """Read units in brackets anywhere in the header; further words in the bracket ("m AGL") join the name."""
    found = []
    for match in _BRACKETED.finditer(header):
        inside = match[1].strip()
        around = f"{header[: match.start()]} {header[match.end() :]}"
        if units := parse_units(inside):
            found.append(Reading(words_of(around), units, inside, explicit=True))
            continue
        first, _, rest = inside.partition(" ")
        if units := find_units(first):
            found.append(Reading(words_of(f"{around} {rest}"), units, first, explicit=True))
    return found


def unknown_unit(header: str, unit_row_text: str = "") -> str:
    """What stands where units stand, one word in brackets or in the row of units, and is none; "" where nothing does.

    Examples
    --------
    >>> unknown_unit("Altitude [fathom]"), unknown_unit("Altitude [m]"), unknown_unit("Temp (ESC side)")
    ('fathom', '', '')
    """
    places = (unit_row_text.strip(" []{}()"), *(match[1].strip() for match in _BRACKETED.finditer(header)))
    single = [text for text in places if text and " " not in text and not text.isdigit()]
    return next(iter(single), "") if not any(map(parse_units, single)) else ""


def _separated(header: str) -> list[Reading]:
    """Read a unit after a sign or the word "in" ("Altitude/m"); the first sign that fits, so that "m/s" stays whole."""
    for sign in _SEPARATOR.finditer(header):
        name, text = header[: sign.start()].strip(), header[sign.end() :].strip()
        if name and text and _OPEN_BRACKET.search(name) is None and (units := parse_units(text)):
            return [Reading(words_of(name), units, text, explicit=True)]
    return []


def _trailing(header: str) -> list[Reading]:
    """Read a unit in the last words, the longest unit first ("vertical_speed_m_s"); not the rest of a bracket."""
    if _COUNTED_BRACKET.search(header):
        return []
    if (scaled := _SCALED_END.fullmatch(header)) and (units := parse_units(scaled["unit"])):
        return [Reading(words_of(scaled["name"]), units, scaled["unit"], explicit=True)]
    plain = [part for part in re.split(r"[\s_]+", header) if part]
    dotted = [part for part in re.split(r"[\s_.]+", header) if part]
    parts = [part for part in re.split(r"[\s_.]+", _CAMEL.sub(" ", header)) if part]
    if len(parts) > 1 and find_units(whole := parts[-2][-1] + parts[-1]) and header.endswith(whole):
        parts[-2:] = [parts[-2][:-1], whole]  # "CurrentmA" ends in milliampere, not in ampere
    found = []
    for pieces in (plain, dotted, parts if header[-1:] not in "])}>" else []):
        for count in range(min(_MAX_UNIT_WORDS, len(pieces) - 1), 0, -1):
            text = " ".join(pieces[-count:])
            if any(sign.isalpha() or sign in "°%" for sign in text) and (units := find_units(text)):
                words, is_sign = words_of(" ".join(pieces[:-count])), not _SIGNS.isdisjoint(text)
                found.append(Reading(words, units, text, explicit=is_sign))
    return found
