"""Logs whose lines name each value, "t=12.5 alt=101.3 volt=11.8", brought into tables.

Between key and value stands "=" or ":", between pairs what separates the cells of tables; a stamp or a word may stand
before the first pair. Lines of JSON are such pairs too; names of what stands inside an object follow the object's. So
is a document of JSON that holds a table: an array of objects, or an array a channel.
"""

from __future__ import annotations

import io
import json
import re
from typing import TYPE_CHECKING, Final

from analyzer.ingest.source import Source
from analyzer.ingest.text.cells import kind_of
from analyzer.ingest.text.encoding import find_encoding
from analyzer.units import find_units

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator, Sequence
    from typing import TextIO

SAMPLE_LINES: Final = 60
"""Lines at the end of the file's head that are judged."""

MIN_PAIR_LINES: Final = 0.8
"""Share of lines that have to be pairs; others are remarks."""

MIN_PAIRS: Final = 2
"""A line with one pair is a remark of a preamble ("Model: Skylark")."""

STAMP: Final = "time"
"""What a stamp without a key is called."""

_SEPARATORS: Final = (";", "\t", "|", ",", None)
_PAIR: Final = re.compile(r"(?P<key>[^\W\d_][^=:]*?)[=:](?P<value>.*)")
_BEGINS_JSON: Final = re.compile(rb"[\0\s]*(?:\[[\0\s]*)?\{")
_LOOSE: Final = re.compile(r"\s*([=:])\s+|\s+([=:])")


def as_table(source: Source) -> Source | None:
    """The same log as a table, its line or record n in line n + 1, below a header; None where it holds no pairs."""
    encoding, mark_bytes = find_encoding(source.head)
    lines = [line for line in source.head[mark_bytes:].decode(encoding, errors="replace").splitlines()[:-1] if line]
    sample = lines[-SAMPLE_LINES:] if any(sign in source.head for sign in (b"=", b":")) else []
    separator = next((sign for sign in _SEPARATORS if _are_pairs(sample, sign)), "")
    with source.open() as stream:
        stream.seek(mark_bytes)
        text = io.TextIOWrapper(stream, encoding, errors="replace")
        if separator != "":
            return _tabled((_pairs(line, separator) for line in text), source.label)
        records = _json_records(text) if _BEGINS_JSON.match(source.head, mark_bytes) else []
    return _tabled((_flat(record) for record in records), source.label) if records else None


def _tabled(rows: Iterable[dict[str, str]], label: str) -> Source:
    """Write rows, whose keys may come and go, as a table."""
    keys: dict[str, None] = {}
    table = io.BytesIO()
    for row in rows:
        keys.update(dict.fromkeys(row))
        table.write(("\t".join(row.get(key, "") for key in keys) + "\n").encode())
    return Source(label, data="\t".join(keys).encode() + b"\n" + table.getvalue())


def _json_records(text: TextIO) -> list[dict[str, object]]:
    """The records of the longest table in a document of JSON, however its lines are broken; none when there is none."""
    try:
        return max(_json_tables(json.load(text)), key=len, default=[])
    except (ValueError, RecursionError):
        return []


def _json_tables(value: object) -> Iterator[list[dict[str, object]]]:
    """Arrays of objects, and objects of arrays that are equally long, as records."""
    if isinstance(value, list) and all(isinstance(record, dict) for record in value):
        yield value
    elif isinstance(value, dict):
        columns = {name: inner for name, inner in value.items() if isinstance(inner, list)}
        if len(columns) > 1 and len({len(column) for column in columns.values()}) == 1:
            yield [dict(zip(columns, row, strict=True)) for row in zip(*columns.values(), strict=True)]
        for inner in value.values():
            yield from _json_tables(inner)


def _are_pairs(lines: Sequence[str], separator: str | None) -> bool:
    paired = sum(_values_in(_pairs(line, separator)) >= MIN_PAIRS for line in lines)
    return bool(lines) and paired >= MIN_PAIR_LINES * len(lines)


def _values_in(pairs: dict[str, str]) -> int:
    """Pairs that could be readings; words may stand beside them, and a table's cell may hold pairs of words."""
    return sum(kind_of(value.split(" ")[0]) != "text" for value in pairs.values())


def _pairs(line: str, separator: str | None) -> dict[str, str]:
    """Values of a line by their keys; none when something else stands in it."""
    if line.startswith("{"):
        return _json_pairs(line)
    plain = _LOOSE.sub(r"\1\2", line.strip().replace('"', ""))
    found: dict[str, str] = {}
    for token in filter(None, (part.strip() for part in plain.split(separator))):
        if (match := _PAIR.fullmatch(token)) is not None:
            found[match["key"].strip()] = match["value"].replace("\t", " ").strip()
        elif not found or set(found) == {STAMP}:
            if kind_of(token) != "text":
                found[STAMP] = f"{found.get(STAMP, '')} {token}".strip()
        elif find_units(token):  # "volt=11.8 V"
            found[next(reversed(found))] += f" {token}"
        else:
            return {}
    return found


def _json_pairs(line: str) -> dict[str, str]:
    """Values of a line of JSON; none when it is no JSON."""
    try:
        return _flat(json.loads(line.strip().rstrip(",")))
    except (ValueError, RecursionError):
        return {}


def _flat(record: object) -> dict[str, str]:
    return {key: " ".join(value.split()) for key, value in _leaves(record, ())}


def _leaves(value: object, names: tuple[str, ...]) -> Iterator[tuple[str, str]]:
    """Numbers and words within a value of JSON, under the names that lead to them."""
    if isinstance(value, dict):
        for name, inner in value.items():
            yield from _leaves(inner, (*names, name))
    elif isinstance(value, list):
        for place, inner in enumerate(value, 1):
            yield from _leaves(inner, (*names, str(place)))
    else:
        yield " ".join(names), "" if value is None else str(value)
