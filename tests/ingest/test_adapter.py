"""How the adapter for a file is found."""

from importlib.metadata import EntryPoint

import pytest

from analyzer.errors import LogFileError
from analyzer.ingest import Adapter, read_log_bytes
from analyzer.ingest import adapter as adapter_module
from analyzer.ingest.adapter import choose_adapter, installed_adapters
from analyzer.ingest.source import open_bytes

SOURCE = open_bytes(b"some bytes", "x.log")


def made(name: str, sure: float) -> Adapter:
    return Adapter(name, lambda _: sure, lambda *_: None, lambda _: ())  # type: ignore[arg-type, return-value]


def test_both_of_ours_are_installed() -> None:
    assert {adapter.name for adapter in installed_adapters()} == {"IGC", "text table"}


def test_the_surest_reads_whatever_the_order() -> None:
    sure, unsure = made("sure", 0.9), made("unsure", 0.5)
    assert choose_adapter(SOURCE, [unsure, sure]) is choose_adapter(SOURCE, [sure, unsure]) is sure


def test_a_tie_is_reported_not_settled_by_order() -> None:
    with pytest.raises(LogFileError, match="may be one and other alike"):
        choose_adapter(SOURCE, [made("one", 0.5), made("other", 0.5), made("third", 0.4)])


@pytest.mark.parametrize("adapters", [[], [made("one", 0.0)]])
def test_a_file_that_none_knows(adapters: list[Adapter]) -> None:
    with pytest.raises(LogFileError, match="is no log of a known kind"):
        choose_adapter(SOURCE, adapters)


def test_a_new_adapter_needs_nothing_but_its_entry_point(monkeypatch: pytest.MonkeyPatch) -> None:
    points = [EntryPoint("mine", f"{__name__}:MINE", "climbledger.ingest")]
    monkeypatch.setattr(adapter_module, "entry_points", lambda group: points)
    monkeypatch.setattr(EntryPoint, "load", lambda _: made("mine", 1.0))
    installed_adapters.cache_clear()
    try:
        assert [adapter.name for adapter in installed_adapters()] == ["mine"]
    finally:
        installed_adapters.cache_clear()


@pytest.mark.parametrize(
    "value",
    ["no.such.module:ADAPTER", "analyzer.ingest.adapter:NO_SUCH_NAME", "analyzer.ingest.adapter:ENTRY_POINT_GROUP"],
)
def test_an_adapter_that_does_not_load_is_named(value: str, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(adapter_module, "entry_points", lambda group: [EntryPoint("broken", value, group)])
    installed_adapters.cache_clear()
    try:
        with pytest.raises(LogFileError, match="ingest adapter 'broken'"):
            read_log_bytes(b"t,alt\n0,1\n1,2\n", "x.csv")
    finally:
        installed_adapters.cache_clear()
