"""Lines that name each value read like the table that they stand for."""

import json

import pytest

from analyzer.errors import LogFileError
from analyzer.ingest import describe_columns, read_log_bytes

FORMS = {
    "blanks": "t={t:.1f} alt={a:.1f} volt={v:.2f} mode={m}",
    "commas": "t={t:.1f},alt={a:.1f},volt={v:.2f},mode={m}",
    "semicolons and colons": "t: {t:.1f}; alt: {a:.1f}; volt: {v:.2f}; mode: {m}",
    "loose": "t = {t:.1f}  alt = {a:.1f}  volt = {v:.2f}  mode = {m}",
    "units": "t={t:.1f}s alt={a:.1f} m volt={v:.2f}V mode={m}",
    "a stamp and a word before": "LOG {t:.1f} alt={a:.1f} volt={v:.2f} mode={m}",
    "a clock before": "12:00:{t:04.1f} alt:{a:.1f} volt:{v:.2f} mode:{m}",
    "objects of JSON": '{{"t": {t:.1f}, "baro": {{"alt": {a:.1f}}}, "u": {{"volt": {v:.2f}}}, "mode": "{m}"}},',
    "lines of JSON": '{{"t": {t:.1f}, "alt": {a:.1f}, "volt": {v:.2f}, "mode": "{m}"}}',
}


def lines(form: str) -> list[str]:
    return [form.format(t=i / 2, a=i * 1.5, v=12.6 - i / 100, m="up" if i < 30 else "down") for i in range(100)]


@pytest.mark.parametrize("form", FORMS.values(), ids=FORMS)
def test_pairs_read_like_a_table(form: str) -> None:
    text = "\n".join(["a remark", *lines(form), ""])
    log = read_log_bytes(text.encode(), "x.log")
    frame = log.frame
    assert "rows-dropped" not in {notice.code for notice in log.notices}
    assert frame["time_s"].tolist() == [i / 2 for i in range(100)]
    assert frame["altitude_m"].tolist() == [i * 1.5 for i in range(100)]
    assert frame["voltage_v"].iloc[-1] == pytest.approx(11.61)
    assert frame["flight_mode"].tolist()[29:31] == ["up", "down"]
    assert [column.channel for column in describe_columns(text.encode())][1:] == [
        "altitude_m",
        "voltage_v",
        "flight_mode",
    ]


def test_keys_that_come_and_go_are_a_sparse_table() -> None:
    rows = (f"t={i / 2:.1f} alt={i}" if i % 3 else f"volt={12.6 - i / 100:.2f} t={i / 2:.1f}" for i in range(90))
    frame = read_log_bytes("\n".join([*rows, ""]).encode(), "x.log").frame
    assert frame["altitude_m"].notna().sum() == 60
    assert frame["voltage_v"].notna().sum() == 30


def test_a_message_names_the_line_of_the_file() -> None:
    texts = [line.replace("alt=15.0", "alt=x") for line in lines("t={t:.1f} alt={a:.1f} v={v:.2f}")]
    notices = read_log_bytes("\n".join([*texts, ""]).encode(), "x.log").notices
    assert any("line 11, 'x'" in notice.message for notice in notices)


def test_remarks_are_no_pairs() -> None:
    with pytest.raises(LogFileError, match="no table"):
        read_log_bytes(b"Model: Skylark\nPilot: nobody\nPlace: meadow\n", "x.log")


RECORDS = [{"t": i / 2, "alt": i * 1.5, "volt": 12.6 - i / 100} for i in range(100)]


@pytest.mark.parametrize(
    "document",
    [
        RECORDS,
        {"model": {"name": "Skylark"}, "events": [{"at": 3}], "flight": {"samples": RECORDS}},
        {key: [record[key] for record in RECORDS] for key in RECORDS[0]},
        {"units": ["s", "m", "V"], "data": {key: [record[key] for record in RECORDS] for key in RECORDS[0]}},
    ],
    ids=["array", "array within", "a list a channel", "lists within"],
)
@pytest.mark.parametrize("indent", [None, 2])
def test_documents_of_json_read_like_the_table_in_them(document: object, indent: int | None) -> None:
    frame = read_log_bytes(json.dumps(document, indent=indent).encode(), "x.json").frame
    assert frame["time_s"].tolist() == [i / 2 for i in range(100)]
    assert frame["altitude_m"].tolist() == [i * 1.5 for i in range(100)]
    assert frame["voltage_v"].iloc[-1] == pytest.approx(11.61)
