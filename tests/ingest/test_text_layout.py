"""Encoding, dialect, header and first row of text tables."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from analyzer.errors import LogFileError
from analyzer.ingest import read_log_bytes
from analyzer.ingest.source import open_bytes
from analyzer.ingest.text.cells import WHITESPACE, kind_of, split_line
from analyzer.ingest.text.dialect import Dialect, find_decimal, find_dialect
from analyzer.ingest.text.encoding import find_encoding, is_text
from analyzer.ingest.text.header_row import find_heading
from analyzer.ingest.text.layout import Layout, find_layout

TEXT = "Zeit [s];Höhe [m];T [°C]\r\n0,1;2,5;20\r\n0,2;2,6;21\r\n"


def layout(text: str, encoding: str = "utf-8") -> Layout:
    return find_layout(open_bytes(text.encode(encoding), "x.csv"))


@pytest.mark.parametrize(
    ("encoding", "found"),
    [
        ("utf-8", "utf-8"),
        ("utf-8-sig", "utf-8"),
        ("utf-16", "utf-16-le"),
        ("utf-16-le", "utf-16-le"),
        ("utf-16-be", "utf-16-be"),
        ("utf-32", "utf-32-le"),
        ("latin-1", "cp1252"),
        ("cp1252", "cp1252"),
    ],
)
def test_encodings(encoding: str, found: str) -> None:
    data = TEXT.encode(encoding)
    assert find_encoding(data)[0] == found
    seen = layout(TEXT, encoding)
    assert seen.headers == ("Zeit [s]", "Höhe [m]", "T [°C]")
    assert data[seen.data_offset :].decode(seen.encoding).startswith("0,1;2,5")


def test_a_character_cut_by_the_end_of_the_head_is_no_other_encoding() -> None:
    data = ("ö" * 40_000).encode()
    assert find_encoding(data[:65_535]) == ("utf-8", 0)


@pytest.mark.parametrize("data", [bytes(range(256)) * 20, b"\x00\x01\x02\x03" * 500, b"\x7f\x01ELF" * 99])
def test_programs_are_no_text(data: bytes) -> None:
    assert not is_text(data)


def test_zeros_that_a_full_card_leaves_behind_are_passed_over() -> None:
    assert is_text(TEXT.encode() + b"\0" * 60_000)


@pytest.mark.parametrize(
    ("lines", "separator", "decimal"),
    [
        (["a,b", "1,2", "3,4"], ",", "."),
        (["a;b", "0,1;0,2", "0,3;0,4"], ";", ","),
        (["a\tb", "0,1\t0,2", "0,3\t0,4"], "\t", ","),
        (["a|b", "0.1|0.2"], "|", "."),
        (["a b", "0.1   0.2", "0.3 0.4"], WHITESPACE, "."),
        (['"a","b"', '"0,1","0,2"'], ",", ","),
        (["time,alt", "2024-05-06 12:00:00,1.5", "2024-05-06 12:00:01,1.6"], ",", "."),
        (["t;rpm", "0.1;1,234", "0.2;1,235"], ";", "."),
        (["t;v", "12:00:00.5;1,25", "12:00:01.5;1,26"], ";", ","),
        (["t,mode", "1,a|b", "2,a|b"], ",", "."),
    ],
)
def test_separators_and_decimal_marks(lines: list[str], separator: str, decimal: str) -> None:
    found = find_dialect(lines)
    assert found is not None
    assert (found.separator, found.decimal) == (separator, decimal)


@pytest.mark.parametrize("lines", [[], ["hello", "world"], ["1", "2"], ["a,b", "c,d"], ["", " "]])
def test_lines_that_are_no_table(lines: list[str]) -> None:
    assert find_dialect(lines) is None


def test_a_tie_of_marks_is_a_point() -> None:
    assert find_decimal([["1,5", "1.5"]]) == "."


@pytest.mark.parametrize(
    ("text", "headers", "units", "line"),
    [
        ("t,alt\n1,2\n3,4\n", ("t", "alt"), ("", ""), 2),
        ("t;alt\ns;m\n1;2\n3;4\n", ("t", "alt"), ("s", "m"), 3),
        ("s;m\n1;2\n3;4\n", ("s", "m"), ("", ""), 2),
        ("# made by hand\n# t  alt\n1 2\n3 4\n", ("t", "alt"), ("", ""), 3),
        ("% t,alt\n1,2\n3,4\n", ("t", "alt"), ("", ""), 2),
        ("Rate;10\nSerial;7\nTime;Altitude\n1;2\n3;4\n", ("Time", "Altitude"), ("", ""), 4),
        ("Time [s]  Alt [m]\n1 2\n3 4\n", ("Time [s]", "Alt [m]"), ("", ""), 2),
        ("foo,bar\n1,2\n3,4\n", ("foo", "bar"), ("", ""), 2),
        ("1,2\n3,4\n", ("column 1", "column 2"), ("", ""), 1),
        ("t,alt\n----,----\n1,2\n3,4\n", ("t", "alt"), ("", ""), 3),
        ("a log\n\n\nt,alt\n1,2\n3,4\n", ("t", "alt"), ("", ""), 5),
        ("t,alt,\n1,2,\n3,4,\n", ("t", "alt", "column 3"), ("", "", ""), 2),
        ("t,alt\n1,2,\n3,4,\n", ("t", "alt", "column 3"), ("", "", ""), 2),
        (
            ";ESC;;BEC;\nt;volt;temp;volt;temp\n1;2;3;4;5\n2;2;3;4;5\n",
            ("t", "ESC volt", "ESC temp", "BEC volt", "BEC temp"),
            ("",) * 5,
            3,
        ),
        ("t,alt,alt\n1,2,3\n2,3,4\n", ("t", "alt (column 2)", "alt (column 3)"), ("", "", ""), 2),
    ],
)
def test_headings(text: str, headers: tuple[str, ...], units: tuple[str, ...], line: int) -> None:
    found = layout(text)
    assert (found.headers, found.units, found.data_line) == (headers, units, line)


def test_a_header_that_the_users_map_names_is_the_header() -> None:
    lines = ["alpha,beta", "gamma,delta", "1,2", "3,4"]
    assert find_heading(lines, Dialect(",", ".", 2), ["alpha"]).headers == ("alpha", "beta")
    assert find_heading(lines, Dialect(",", ".", 2)).headers == ("gamma", "delta")


def test_a_long_preamble_is_read_past() -> None:
    preamble = "".join(f"note {i}: nothing\n" for i in range(700))
    assert layout(f"{preamble}t,alt\n" + "1,2\n" * 40).data_line == 702


@pytest.mark.parametrize(
    ("text", "problem"),
    [
        ("t,alt\n", "no row of numbers under the header 't', 'alt'"),
        ("hello\nworld\n", "no table of numbers found (it begins 'hello')"),
        ("t,alt\n0,5,1,5\n1,5,1,5\n", "rows hold 4 cells under 2 headers (a decimal comma and a comma between cells?)"),
    ],
)
def test_what_is_no_table_says_so(text: str, problem: str) -> None:
    with pytest.raises(LogFileError) as caught:
        layout(text)
    assert caught.value.problem == problem


@pytest.mark.parametrize(
    ("cell", "kind"),
    [
        ("", "empty"),
        ("--", "empty"),
        ("NaN", "empty"),
        ("12", "number"),
        ("1,5", "number"),
        ("12V", "number"),
        ("12:00", "time"),
        ("06.05.2024", "time"),
        ("2024-05-06T12:00:00Z", "time"),
        ("abc", "text"),
        ("0,0,=cmd", "text"),
        ("9" * 100, "text"),
        ("12 apples", "text"),
    ],
)
def test_kinds_of_cells(cell: str, kind: str) -> None:
    assert kind_of(cell) == kind


def test_cells_in_quotes_may_hold_the_separator() -> None:
    assert split_line('1, "2,5" ,x', ",") == ["1", "2,5", "x"]
    assert split_line('1,"2,5', ",") == ["1", "2,5"]


@given(st.text(max_size=400))
def test_any_text_has_a_layout_or_an_error(text: str) -> None:
    try:
        found = find_layout(open_bytes(text.encode("utf-8", errors="surrogatepass"), "x.csv"))
    except LogFileError as error:
        assert "\n" not in str(error)
    else:
        assert len(set(found.headers)) == len(found.headers) == len(found.units) == found.dialect.width


def test_a_remark_full_of_units_loses_to_the_header_under_it() -> None:
    rows = "".join(f"{t} {t * 0.5} 12.5 {0.1 * t} 0\n" for t in range(30))
    text = "# recorder: stick A\n# units: s m V A 1/min\n time alt volt curr rpm\n" + rows
    log = read_log_bytes(text.encode(), "remarks.txt")
    assert {"altitude_m", "voltage_v", "current_a", "rpm"} <= set(log.frame.columns)


def test_a_header_that_is_a_remark_is_still_read() -> None:
    rows = "".join(f"{t},{t * 0.5},12.5\n" for t in range(30))
    log = read_log_bytes(("# time (s),altitude (m),voltage (V)\n" + rows).encode(), "remark.csv")
    assert {"altitude_m", "voltage_v"} <= set(log.frame.columns)


@pytest.mark.parametrize("header", ["Régime (tr/min)", "Giri (giri/min)"])
def test_turns_a_minute_in_french_and_italian(header: str) -> None:
    rows = "".join(f"{t},{t * 0.5},{3000 + t}\n" for t in range(30))
    log = read_log_bytes(f"time (s),altitude (m),{header}\n{rows}".encode(), "rpm.csv")
    assert log.has("rpm")


@pytest.mark.parametrize("end", ["\n", "\r\n", "\r"])
def test_headers_with_line_breaks_in_quotes(end: str) -> None:
    text = f'remark{end}"Time{end}[s]","Alt{end} [m]"{end}0,1{end}1,2{end}'
    found = layout(text)
    assert found.headers == ("Time [s]", "Alt [m]")
    assert (found.data_line, found.data_offset) == (5, text.index("0,1"))


def test_a_stray_quote_joins_no_rows() -> None:
    rows = [f'{i},"x' if i == 3 else f"{i},x" for i in range(100)]
    found = layout("\n".join(["time,mode", *rows]) + "\n")
    assert (found.data_line, len(found.sample)) == (2, 100)


def test_headers_cut_within_brackets_are_put_together() -> None:
    found = layout("Time (s, of the log),Alt (m, baro),Mode\n0,1,a\n1,2,b\n")
    assert found.headers == ("Time (s, of the log)", "Alt (m, baro)", "Mode")


def test_a_header_with_commas_over_columns_of_blanks() -> None:
    rows = "".join(f"{i / 2:.1f} {i * 1.5:.1f} 12.{i % 10} 0.4\n" for i in range(60))
    seen = layout(f"# invented\n# Columns: Zeit [s], Höhe über Grund [m], Spannung [V], Strom [A]\n{rows}")
    assert [name.split()[-1] for name in seen.headers] == ["[s]", "[m]", "[V]", "[A]"]


@pytest.mark.parametrize(
    ("rows", "mark"),
    [
        ([["500", "12,400"], ["1,000", "12,390"]], "."),
        ([["500", "12.400"], ["1.000", "12.390"]], ","),
        ([["0", "9.412"], ["1", "9.388"]], "."),
        ([["0,500", "12,400"], ["1,000", "12,390"]], ","),
        ([["1.234,5", "12.400"]], ","),
    ],
)
def test_a_mark_between_thousands_alone_is_no_decimal_mark(rows: list[list[str]], mark: str) -> None:
    assert find_decimal(rows) == mark


@pytest.mark.parametrize("above", ["Units: s m V A", "s ft V A"])
def test_units_above_a_header_whose_words_are_units_too(above: str) -> None:
    rows = "".join(f"{i} {i * 1.5:.1f} 12.{i % 10} 0.4\n" for i in range(60))
    assert layout(f"{above}\nTime Alt Volt Amp\n{rows}").names == ("Time", "Alt", "Volt", "Amp")


@pytest.mark.parametrize(
    ("encoding", "header"),
    [
        ("cp1250", "Čas;Výška [m];Napětí [V]"),
        ("cp1251", "Время, с;Высота, м;Напряжение, В"),
        ("cp1252", "Temps;Régime;Température [°C]"),
        ("cp932", "時間;高度;電圧"),
        ("gb18030", "时间;高度;电压"),
    ],
)
def test_words_tell_one_code_page_from_the_other(encoding: str, header: str) -> None:
    assert layout(f"{header}\n0,1;2,5;20\n0,2;2,6;21\n", encoding).headers == tuple(header.split(";"))


def test_what_stands_under_a_header_in_place_of_numbers_is_shown() -> None:
    with pytest.raises(LogFileError, match=r"below it stands '=.0\.0.,=.1\.5.'"):
        layout('time s,alt m\n="0.0",="1.5"\n="0.5",="1.6"\n')
