"""Imports killed at random moments; the full study is tests/benchmarks/logbook_faults.py."""

from __future__ import annotations

from pathlib import Path

import pytest

pytest.importorskip("os").fork  # noqa: B018 - the study needs a system that forks


@pytest.mark.filterwarnings("ignore:.*fork:DeprecationWarning")  # the child only imports, and is killed
def test_nothing_acknowledged_is_lost_and_nothing_is_half(
    where: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    from benchmarks import logbook_faults

    monkeypatch.setattr(logbook_faults, "LOGS", 12)
    monkeypatch.setattr(logbook_faults, "LONGEST_S", {"analysing": 0.4, "writing": 0.06})
    tally = logbook_faults.killed_imports(where, 8, 3, tmp_path)
    assert tally.problems == []
    assert tally.kills == 8
