"""A header inside the data: the same again is passed over, another one is refused, for what follows is misread."""

import gc

import pytest

from analyzer.errors import LogFileError
from analyzer.ingest import read_log_bytes

ROWS = "".join(f"{i / 2:.1f},{i},12.{i % 10},3\n" for i in range(60))
LATER = "".join(f"{i / 2 + 60:.1f},{i},12.{i % 10},3\n" for i in range(60))


@pytest.mark.parametrize(
    "again",
    [
        "Time,Alt,Volt,Curr\n",
        "Time,Alt,Volt,Curr\ns,m,V,A\n",
        "time , alt, volt, curr\n",
        "# Time,Alt,Volt,Curr\n",
        "Session 2\n",
    ],
)
def test_the_same_header_again_is_passed_over(again: str) -> None:
    log = read_log_bytes(f"Time,Alt,Volt,Curr\n{ROWS}{again}{LATER}".encode(), "x.csv")
    assert len(log.frame) == 120
    assert log.frame["altitude_m"].max() == 59.0


@pytest.mark.parametrize("other", ["Time,Volt,Alt,Curr", "Time,Alt,Curr,Volt", "Zeit,Spannung,Strom,Höhe"])
def test_another_header_is_refused_with_its_line(other: str) -> None:
    with pytest.raises(LogFileError, match=r"line 62.*another header .*cut the file before this line"):
        read_log_bytes(f"Time,Alt,Volt,Curr\n{ROWS}{other}\n{LATER}".encode(), "x.csv")


@pytest.mark.parametrize(("first", "other"), [("Alt (m)", "Alt (ft)"), ("Alt", "Alt (ft)")])
def test_a_header_in_another_unit_is_refused(first: str, other: str) -> None:
    units = "" if "(" in first else "s,m,V,A\n"
    text = f"Time,{first},Volt,Curr\n{units}{ROWS}Time,{other},Volt,Curr\n{LATER}"
    with pytest.raises(LogFileError, match=r"'Alt \(ft\)' where the first has 'Alt.*cut the file before this line"):
        read_log_bytes(text.encode(), "x.csv")


def test_the_same_channels_in_other_words_are_the_same() -> None:
    text = f"Time,Alt,Volt,Curr\n{ROWS}Time,Altitude,Voltage,Current\n{LATER}"
    assert len(read_log_bytes(text.encode(), "x.csv").frame) == 120


def test_a_refused_log_of_another_encoding_leaves_no_reader_open(monkeypatch: pytest.MonkeyPatch) -> None:
    """Python reports what fails in closing to standard error, below the one line that the pilot is to see."""
    reports: list[object] = []
    monkeypatch.setattr("sys.unraisablehook", reports.append)
    rows = "".join(f"{i};{i % 50};12\n" for i in range(200))
    text = f"Zeit;Höhe;Spannung\n{rows}Zeit;Spannung;Höhe\n{rows}"
    with pytest.raises(LogFileError, match="another header"):
        read_log_bytes(text.encode("latin-1"), "x.csv")
    gc.collect()
    assert reports == []
