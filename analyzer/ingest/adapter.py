"""What an adapter is, and how the one for a file is found.

An adapter is one module with one `Adapter`, named in the entry-point group "climbledger.ingest" of any installed
package. Each judges the first bytes; the surest reads the file. A tie is reported, not settled by order.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache
from importlib.metadata import entry_points
from typing import TYPE_CHECKING, Final

from analyzer.errors import LogFileError

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping, Sequence
    from importlib.metadata import EntryPoint

    from analyzer.ingest.describe import ColumnDescription
    from analyzer.ingest.source import Source
    from analyzer.records import Log

ENTRY_POINT_GROUP: Final = "climbledger.ingest"


@dataclass(frozen=True)
class Adapter:
    """Reads one kind of log.

    Attributes
    ----------
    name : str
        What messages call the kind.
    confidence : callable
        ``confidence(head) -> float`` from 0 (not mine) to 1 (certainly mine), for the first 64 KiB of a file.
    read : callable
        ``read(source, columns) -> Log``; raises `LogFileError` or `ColumnMapError`, in which the log need not be named.
    describe : callable
        ``describe(source) -> tuple of ColumnDescription``: what each column would be read as.
    """

    name: str
    confidence: Callable[[bytes], float]
    read: Callable[[Source, Mapping[str, str]], Log]
    describe: Callable[[Source], tuple[ColumnDescription, ...]]


@cache
def installed_adapters() -> tuple[Adapter, ...]:
    """Load every adapter that an installed package offers.

    Raises
    ------
    LogFileError
        When one cannot be loaded; the message names it, so that it can be removed.
    """
    return tuple(_loaded(point) for point in entry_points(group=ENTRY_POINT_GROUP))


def _loaded(point: EntryPoint) -> Adapter:
    try:
        adapter = point.load()
        if isinstance(adapter, Adapter):
            return adapter
        reason = "it is no Adapter"
    except (ImportError, AttributeError) as error:
        reason = str(error)
    problem = f"the ingest adapter '{point.name}' cannot be loaded ({reason})"
    raise LogFileError(problem, remedy=f"reinstall or remove the package that brings '{point.value}'")


def choose_adapter(source: Source, adapters: Sequence[Adapter]) -> Adapter:
    """Find the adapter that is surest of a file.

    Raises
    ------
    LogFileError
        When none knows the file, or two are equally sure.
    """
    scores = [(adapter.confidence(source.head), adapter) for adapter in adapters]
    best = max((score for score, _ in scores), default=0.0)
    surest = [adapter for score, adapter in scores if score == best]
    if best <= 0.0:
        known = ", ".join(adapter.name for adapter in adapters) or "none is installed"
        raise LogFileError("is no log of a known kind", remedy=f"known kinds: {known}")
    if len(surest) > 1:
        names = " and ".join(adapter.name for adapter in surest)
        raise LogFileError(f"may be {names} alike", remedy="remove one of these adapters")
    return surest[0]
