"""Inputs that once stopped fuzz_ingest.py, cut down to what mattered."""

import pytest

from analyzer.errors import ClimbledgerError
from analyzer.ingest import read_log_bytes

FOUND = {
    "a column headed with nothing but a unit and filled with names": b"s,alt\nAltitude,1\nAltitude,2\nAltitude,3\n",
    "a time of 70 digits": b"time,alt\n0,1\n1,2\n" + b"5" * 70 + b",3\n3,4\n",
    "times of seven digits with a unit behind": b"time,alt\n1900000s,1\n1900001s,2\n",
    "a clock of two parts in a row without anything else": b"\xef\xbb\xbf\xd3\n,1:5",
    "a row of units longer than the header": b"t\talt\ns\tm\tV\tA\t1/min\n0\t1\n1\t2\n2\t3\n",
}


@pytest.mark.parametrize("name", FOUND)
def test_it_gives_a_log_or_one_line(name: str) -> None:
    try:
        read_log_bytes(FOUND[name], "x.csv")
    except ClimbledgerError as error:
        assert str(error).isprintable()
