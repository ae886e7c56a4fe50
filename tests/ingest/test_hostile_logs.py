"""Broken and malicious files: the right log, or one clear line; fast, and never a traceback."""

from __future__ import annotations

import random
import time

import numpy as np
import pytest

from analyzer.errors import ClimbledgerError
from analyzer.ingest import describe_columns, read_log_bytes

HEADER = "time [s],altitude [m],voltage [V]\n"
ROWS = "".join(f"{i / 10:.1f},{i * 0.1:.2f},12.{i % 10}\n" for i in range(300))
GOOD = HEADER + ROWS
NOISE = random.Random(7)
LONGEST_S = 20.0


def table(header: str, row: str, count: int = 20) -> str:
    """A small table; {i} counts its rows."""
    return f"{header}\n" + "".join(row.format(i=i, j=count - i, r=NOISE.random() * 1000.0) + "\n" for i in range(count))


WIDE = ",".join(f"c{i}" for i in range(4998))
LOGS: dict[str, tuple[str | bytes, int]] = {
    "plain": (GOOD, 300),
    "two rows": (HEADER + "0,1,12\n1,1,12\n", 2),
    "one bad cell": (GOOD.replace("10.0,10.00", "10.0,oops"), 300),
    "unclosed quote": (GOOD.replace("10.0,10.00", '10.0,"10.00'), 300),
    "two stray quotes": (GOOD.replace("10.0,10.00", '10.0,"10.00').replace("20.0,20.00", '20.0,"20.00'), 300),
    "a line of quotes": (HEADER + '"' * 100_000 + "\n" + ROWS, 300),
    "5,000 columns": (f"time,altitude,{WIDE}\n" + "".join(f"{i},{i},{'1,' * 4997}1\n" for i in range(20)), 20),
    "a line of 10 MB": (GOOD + "x" * 10_000_000 + "\n" + ROWS, 600),
    "a row of 5 million cells": (GOOD + "1," * 5_000_000 + "\n" + ROWS, 600),
    "a cell of 100,000 digits": (GOOD.replace("10.0,10.00", "10.0," + "9" * 100_000), 300),
    "1e308 once": (GOOD.replace("10.0,10.00", "10.0,1e308"), 300),
    "1e308 as a time": (HEADER + "0,1,12\n1e308,1,12\n2,3,12\n3,4,12\n", 3),
    "1e999 as a time": (HEADER + "0,1,12\n1e999,1,12\n2,3,12\n3,4,12\n", 3),
    "NaN and Inf": (HEADER + "0,nan,12\n1,inf,12\n2,3,-inf\n3,4,NaN\nnan,4,5\ninf,4,5\n", 4),
    "constant": (HEADER + "".join(f"{i},1,1\n" for i in range(100)), 100),
    "a clock that runs backward": (table("time [s],altitude [m]", "{j},{i}"), 20),
    "a clock that jumps a billion": (
        HEADER + "".join(f"{i if i < 150 else i + 1e9},{i},12\n" for i in range(300)),
        300,
    ),
    "negative times": (HEADER + "".join(f"{i - 300},{i},12\n" for i in range(300)), 300),
    "times twice": (table("time,time,altitude", "{i},{i},{i}"), 20),
    "formulas in cells": (table("time,altitude,mode", "{i},{i},=cmd|'/c calc'!A1"), 20),
    "formulas in headers": (table("time,altitude,=1+1,@sum,+x,-y", "{i},{i},1,2,3,4"), 20),
    "markup in headers": (table("time,altitude,<script>alert(1)</script>", "{i},{i},1"), 20),
    "a bell in a header": (GOOD.replace("altitude", "alti\x07tude"), 300),
    "writing from right to left": (GOOD.replace("altitude", "\u202ealtitude"), 300),
    "a rocket in a header": (GOOD.replace("altitude", "altitude \U0001f680"), 300),
    "UTF-16": (GOOD.encode("utf-16"), 300),
    "UTF-16 without a mark": (GOOD.encode("utf-16-be"), 300),
    "UTF-16 cut in a character": (GOOD.encode("utf-16")[:-1], 300),
    "UTF-32": (GOOD.encode("utf-32"), 300),
    "UTF-8 with a broken line": (GOOD.encode() + b"\xff\xfe\xfa,1,2\n", 300),
    "two marks": (b"\xef\xbb\xbf\xef\xbb\xbf" + GOOD.encode(), 300),
    "zeros at the end": (GOOD.encode() + b"\0" * 70_000, 300),
    "zeros inside": (GOOD.encode().replace(b"10.0,10.00", b"10.0,\x0010.00"), 300),
    "cut off": (GOOD[:-6], 299),
    "carriage returns": (GOOD.replace("\n", "\r"), 300),
    "mixed ends of lines": (GOOD.replace("\n", "\r\n", 100), 300),
    "blank lines": (GOOD.replace("\n", "\n\n"), 300),
    "separators at the end": (GOOD.replace("\n", ",\n"), 300),
    "dates that do not exist": (table("date,time,altitude", "99/99/9999,12:00:{i:02d},1"), 20),
    "the year 9999": (table("time,altitude", "9999-12-31T23:59:{i:02d},1"), 20),
    "the year 1": (table("time,altitude", "0001-01-01T23:59:{i:02d},1"), 20),
    "minus zero": (table("time,altitude", "{i},-0"), 20),
    "5,000 voltages": (
        f"time,altitude,{','.join(f'voltage {i}' for i in range(3000))}\n"
        + f"0,1,{'1,' * 2999}1\n1,2,{'1,' * 2999}1\n",
        2,
    ),
    "damaged flight recorder": (
        "AXXX001\nHFDTE999999\nI99\nB1602405407121N00249342WA0028000421\nB16\nB1602415407121N00249342WA0028000421\n",
        2,
    ),
    "wild extensions": (
        "AXXX001\nI029999GSP0001TAS\nB1602405407121N00249342WA0028000421\nB1602415407121N00249342WA0028000421\n",
        2,
    ),
}

ERRORS: dict[str, tuple[str | bytes, str]] = {
    "empty": (b"", "is empty"),
    "blanks": (b"  \n\n  ", "is empty"),
    "zeros": (b"\0" * 1000, "is empty"),
    "a form feed": (b"\x0c", "no table of numbers"),
    "PNG": (b"\x89PNG\r\n\x1a\n" + NOISE.randbytes(5000), "is a picture (PNG)"),
    "JPEG": (b"\xff\xd8\xff\xe0" + NOISE.randbytes(5000), "is a picture (JPEG)"),
    "ZIP": (b"PK\x03\x04" + NOISE.randbytes(1000), "save the sheet as CSV"),
    "gzip": (b"\x1f\x8b\x08\0" + NOISE.randbytes(1000), "is compressed"),
    "PDF": (b"%PDF-1.4\n1 0 obj\n<<>>\n", "is a PDF document"),
    "a program": (b"\x7fELF" + NOISE.randbytes(1000), "is a program"),
    "noise": (NOISE.randbytes(100_000), "is no log of a known kind"),
    "a letter": ("hello\nworld\nfoo bar baz\n", "no table of numbers"),
    "a page": ("<html><body><table><tr><td>1</td></tr></table></body></html>", "is a web page (HTML), no log"),
    "JSON": ('{"time":[1,2,3],"altitude":{"m":[1,2]}}', "no time found: it has no header"),
    "a header alone": (HEADER, "no row of numbers under the header 'time [s]', 'altitude [m]', 'voltage [V]'"),
    "a clock that stands": (table("time [s],altitude [m]", "1,{i}"), "its 20 samples all have the same time"),
    "one stamp for all values": (table("t,channel,value", "1,altitude,{i}", 200), "all have the same time"),
    "no header": (
        table("0,1", "{i},{i}"),
        'no time found: it has no header; name the column with --map "column 1=time_s"',
    ),
    "one row": (HEADER + "0,1,12\n", "fewer than two samples"),
    "no altitude": (table("time,voltage", "{i},12"), "no altitude among the columns"),
    "no time": ("altitude,voltage\n" + "".join(f"{i * 7 % 10},12\n" for i in range(10)), "no time among the columns"),
    "text for heights": (table("time,altitude", "{i},abc"), "line 2, column 'altitude': 'abc' is no number"),
    "text for everything": (table("time,altitude", "a{i},abc"), "no row of numbers under the header 'time'"),
    "Booleans": (table("time,altitude", "True,False"), "no row of numbers under the header"),
    "hexadecimal": (table("time,altitude", "{i},0x{i:x}"), "is no number"),
    "numbers of 400 digits": (table("time,altitude", "{i},1" + "0" * 400), "holds no value"),
    "1e308 everywhere": (table("time,altitude [m]", "{i},1e308"), "outside -500 to 12000 m"),
    "30,000 columns": ("," * 30_000 + "\n" + "1," * 30_000 + "\n", "more than 20000 columns"),
    "one line of 10 MB": (b"a" * 10_000_000, "its first line is longer"),
    "one row of 10 MB": (b"1," * 5_000_000, "its first line is longer"),
    "a clock that only jumps": (table("time [s],altitude [m]", "{r},{i}", 400), "its clock jumps back"),
    "heights twice": ("time,altitude,altitude\n0,1,9\n1,2,5\n2,5,1\n", "may be any of 'altitude (column 2)'"),
    "decimal commas between commas": (table("time,altitude", "{i},0,{i},5"), "rows hold 4 cells under 2 headers"),
    "commas": (",,,,\n" * 100, "no table of numbers"),
    "one column": ("\n".join(map(str, range(100))), "no table of numbers"),
    "two columns without names": ("\n".join(f"{i},{i}" for i in range(100)), "no time found: it has no header"),
    "days without hours": (table("date,altitude", "2024-01-{i:02d},1"), "is no time"),
    "times that do not exist": (table("time,altitude", "2024-13-45T99:99:99,1"), "lines hold no data"),
    "a recorder without fixes": ("AXXX001\r\nHFDTE160701\r\nHFPLT:x\r\n", "fewer than two fixes"),
}


@pytest.mark.parametrize("name", LOGS)
def test_what_can_be_read_is_read(name: str) -> None:
    text, samples = LOGS[name]
    started = time.perf_counter()
    log = read_log_bytes(text if isinstance(text, bytes) else text.encode(), f"../../{name}.csv")
    assert time.perf_counter() - started < LONGEST_S
    assert len(log.frame) == samples
    assert (np.diff(log.frame["time_s"]) > 0.0).all()
    assert log.name == f"{name}.csv"
    assert all(notice.message.isprintable() for notice in log.notices)


@pytest.mark.parametrize("name", ERRORS)
def test_what_cannot_be_read_is_told_in_one_line(name: str) -> None:
    text, words = ERRORS[name]
    started = time.perf_counter()
    with pytest.raises(ClimbledgerError) as caught:
        read_log_bytes(text if isinstance(text, bytes) else text.encode(), f"{name}.csv")
    assert time.perf_counter() - started < LONGEST_S
    assert words in str(caught.value)
    assert str(caught.value).isprintable()
    assert caught.value.source == f"{name}.csv"
    assert caught.value.remedy or words == "outside -500 to 12000 m"


@pytest.mark.parametrize("name", [*LOGS, *ERRORS])
def test_describing_is_as_robust_as_reading(name: str) -> None:
    text = (LOGS | ERRORS)[name][0]  # type: ignore[operator]
    try:
        columns = describe_columns(text if isinstance(text, bytes) else text.encode())
    except ClimbledgerError as error:
        assert name in ERRORS, error
    else:
        assert columns
