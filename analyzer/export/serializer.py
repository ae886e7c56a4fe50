"""The one serializer: records to plain JSON values, and back.

JSON document, JSON line, CSV table, logbook and dashboard all go through these two functions, so a value has one
name and one form everywhere.
"""

from __future__ import annotations

import math
import re
import types
from collections.abc import Iterator, Mapping
from dataclasses import fields, is_dataclass
from datetime import date, datetime
from functools import lru_cache
from pathlib import PurePath
from typing import Any, Final, Literal, TypeVar, Union, get_args, get_origin, get_type_hints

from analyzer.power_system.prediction_records import Estimate

Record = TypeVar("Record")

_SURROGATES: Final = re.compile("[\ud800-\udfff]")


def to_plain(value: object) -> Any:  # noqa: ANN401 - any JSON value
    """Turn a record into what JSON can say.

    Parameters
    ----------
    value : object
        A dataclass instance, or a mapping, sequence, number, text, time, path or NumPy value.

    Returns
    -------
    dict, list, str, int, float, bool or None
        A dataclass becomes a dict of its fields in order, ``schema`` first where it has one; a field that holds an
        `Estimate` three keys, the value under its own and the interval's ends under those with ``_low`` and ``_high``.
        NaN and infinities become None (JSON has no number for them); text that is no valid Unicode is repaired with
        U+FFFD.

    Raises
    ------
    TypeError
        For a value that has no agreed form, a data frame for example.

    Examples
    --------
    >>> from analyzer.records import Flight
    >>> to_plain(Flight(start_s=1.0, end_s=float("nan")))
    {'start_s': 1.0, 'end_s': None}
    """
    match value:
        case None | bool() | int():
            return value
        case float():
            return float(value) if math.isfinite(value) else None
        case str():
            return _SURROGATES.sub("\N{REPLACEMENT CHARACTER}", value)
        case PurePath():
            return to_plain(str(value))
        case datetime() | date():
            return value.isoformat()
        case Mapping():
            return {str(to_plain(key)): to_plain(item) for key, item in value.items()}
        case list() | tuple():
            return [to_plain(item) for item in value]
        case set() | frozenset():
            return sorted(to_plain(item) for item in value)
    if is_dataclass(value) and not isinstance(value, type):
        return dict(_items(value))
    if hasattr(value, "dtype") and hasattr(value, "tolist"):  # NumPy scalar or array, without importing NumPy
        return to_plain(value.tolist())
    raise TypeError(f"{type(value).__name__} has no JSON form")


def _items(record: Any) -> Iterator[tuple[str, Any]]:  # noqa: ANN401 - any dataclass instance
    names = [entry.name for entry in fields(record)]
    for name in sorted(names, key=lambda name: name != "schema"):  # a stable sort: schema first, the rest as declared
        item = getattr(record, name)
        is_estimate = isinstance(item, Estimate)
        parts = {"": item.value, "_low": item.low, "_high": item.high} if is_estimate else {"": item}
        yield from ((name + suffix, to_plain(part)) for suffix, part in parts.items())


def from_plain(kind: type[Record], plain: Any) -> Record:  # noqa: ANN401 - any JSON value
    """Rebuild a record from its plain form; the inverse of `to_plain` for records of finite numbers.

    Parameters
    ----------
    kind : type
        A dataclass whose fields are numbers, text, literals, records, or tuples, lists and mappings of those.
    plain : dict
        What `to_plain` made of it. Unknown keys are ignored and missing ones take the field's default, so that a
        document written by a neighbouring version can be read.

    Raises
    ------
    TypeError, ValueError, KeyError
        When the document does not describe such a record.
    """
    if not isinstance(plain, Mapping):
        raise TypeError(f"{kind.__name__} is an object, not {type(plain).__name__}")
    hints = _field_types(kind)  # type: ignore[arg-type]
    return kind(**{name: _restored(hints[name], item) for name, item in plain.items() if name in hints})


@lru_cache(maxsize=256)
def _field_types(kind: type) -> dict[str, Any]:
    """Type of each field; looked up once, for a logbook restores thousands of records of a kind."""
    hints = get_type_hints(kind)
    return {entry.name: hints[entry.name] for entry in fields(kind)}


def _restored(hint: Any, plain: Any) -> Any:  # noqa: ANN401 - any type, any JSON value
    origin, arguments = get_origin(hint), get_args(hint)
    if origin in (Union, types.UnionType):
        if plain is None and type(None) in arguments:
            return None
        return _restored(next(item for item in arguments if item is not type(None)), plain)
    if origin is Literal:
        if plain not in arguments:
            raise ValueError(f"{plain!r} is none of {arguments}")
        return plain
    if origin in (tuple, list):
        return origin(_restored(arguments[0], item) for item in plain)
    if origin is dict:
        return {key: _restored(arguments[1], item) for key, item in plain.items()}
    if is_dataclass(hint):
        return from_plain(hint, plain)  # type: ignore[arg-type]
    if hint is float and plain is not None:
        return float(plain)
    return plain
