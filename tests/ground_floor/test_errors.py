"""Errors say which file, where, what and what to do, on one printable line, and survive a process boundary."""

from __future__ import annotations

import pickle

import pytest
from hypothesis import given
from hypothesis import strategies as st

from analyzer import errors


def every_error() -> list[type[errors.ClimbledgerError]]:
    def below(kind: type[errors.ClimbledgerError]) -> list[type[errors.ClimbledgerError]]:
        return [kind, *(sub for child in kind.__subclasses__() for sub in below(child))]

    return [kind for kind in below(errors.ClimbledgerError) if kind.__module__ == errors.__name__]


def test_the_line_names_file_place_problem_and_remedy() -> None:
    error = errors.LogFileError("no altitude", source="a.csv", where="line 1", remedy="map a column")
    assert str(error) == "a.csv, line 1: no altitude; map a column"


@pytest.mark.parametrize("kind", every_error())
def test_the_tree_in_the_docstring_lists_every_error(kind: type[errors.ClimbledgerError]) -> None:
    assert kind.__name__ in (errors.__doc__ or "")


@pytest.mark.parametrize("kind", every_error())
def test_an_error_from_a_worker_process_arrives_whole(kind: type[errors.ClimbledgerError]) -> None:
    error = kind("problem", source="s", where="w", remedy="r")
    again = pickle.loads(pickle.dumps(error))
    assert type(again) is kind
    assert str(again) == str(error)


@given(st.text(), st.text(), st.text(), st.text())
def test_whatever_a_file_holds_the_message_stays_one_printable_line(a: str, b: str, c: str, d: str) -> None:
    line = str(errors.ClimbledgerError(a, source=b, where=c, remedy=d))
    assert len(line.splitlines()) <= 1
    assert line.isprintable()
