"""The user's own column map."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from analyzer.channels import CHANNELS
from analyzer.errors import ColumnMapError
from analyzer.ingest import read_log_bytes
from analyzer.ingest.columns.column_map import channel_spellings, parse_target, resolve_map
from analyzer.units import UNITS

HEADERS = ("Zeit", "Höhe [m]", "A1", "Temp", "Temp (column 5)")


def test_header_to_channel_and_unit() -> None:
    targets = resolve_map({"Zeit": "time_s [ms]", "A1": "pack voltage [mV]", "Höhe [m]": "ignore"}, HEADERS)
    assert {i: (t.channel and t.channel.name, t.unit and t.unit.symbol) for i, t in targets.items()} == {
        0: ("time_s", "ms"),
        2: ("voltage_v", "mV"),
        1: (None, None),
    }


@pytest.mark.parametrize("header", ["zeit", " ZEIT ", "column 1"])
def test_case_blanks_and_numbers_find_a_column(header: str) -> None:
    assert list(resolve_map({header: "time"}, HEADERS)) == [0]


@pytest.mark.parametrize(
    ("columns", "problem", "remedy"),
    [
        ({"Zeti": "time_s"}, "no column 'Zeti'", "did you mean 'Zeit'? the headers are"),
        ({"Zeit": "tiem_s"}, "no channel 'tiem_s'", "did you mean time_s?"),
        ({"Zeit": "altitude_m [V]"}, "'V' is no unit of altitude", "its units are m, cm"),
        ({"Zeit": "altitude_m [furlong]"}, "'furlong' is no unit of altitude", "its units are m, cm"),
        ({"Zeit": "flight_mode [m]"}, "'m' is no unit of flight mode", "its units are none"),
        ({"Zeit": "altitude_m [m] x"}, "no channel 'altitude_m [m] x'", "the channels are"),
        ({"Zeit": "ignore [m]"}, "no channel 'ignore [m]'", "the channels are"),
        ({"Zeit": ""}, "no channel ''", "the channels are"),
        (
            {"Zeit": "altitude", "A1": "altitude"},
            "'Zeit' and 'A1' are both mapped to altitude_m",
            "map one of them to ignore",
        ),
        ({"Zeit": "time", "column 1": "time"}, "column 'column 1' is mapped twice", "name each column once"),
        ({"temp": "temperature"}, "2 columns are headed 'temp'", "name the one you mean: 'Temp', 'Temp (column 5)'"),
    ],
)
def test_what_does_not_fit_is_said_with_its_remedy(columns: dict[str, str], problem: str, remedy: str) -> None:
    with pytest.raises(ColumnMapError) as caught:
        resolve_map(columns, HEADERS)
    assert caught.value.problem == problem
    assert remedy in caught.value.remedy


def test_several_temperatures_may_be_mapped() -> None:
    assert len(resolve_map({"A1": "temperature", "Temp": "temperature"}, HEADERS)) == 2


def test_every_channel_has_spellings_of_its_own() -> None:
    spellings = channel_spellings()
    assert {channel.name for channel in spellings.values()} == {channel.name for channel in CHANNELS}
    for channel in CHANNELS:
        assert spellings[channel.name.casefold()] is channel


@given(st.sampled_from(CHANNELS), st.sampled_from(UNITS))
def test_a_unit_fits_a_channel_of_its_dimension_alone(channel: object, unit: object) -> None:
    text = f"{channel.name} [{unit.symbol}]"  # type: ignore[attr-defined]
    fits = any(one.dimension == channel.dimension for one in UNITS if one.symbol == unit.symbol)  # type: ignore[attr-defined]
    shared = {"us": "us pulse", "°": ""}  # a symbol may be another dimension's spelling
    if fits:
        assert parse_target(text, header="x").unit is not None
    elif unit.symbol not in shared:  # type: ignore[attr-defined]
        with pytest.raises(ColumnMapError):
            parse_target(text, header="x")


@given(st.text(max_size=40))
def test_any_text_is_a_target_or_an_error(text: str) -> None:
    try:
        parse_target(text, header="x")
    except ColumnMapError as error:
        assert "\n" not in str(error)


@pytest.mark.parametrize(
    "text", ["t,alt\n0,1\n1,2\n2,3\n", "time,sensor,value\n0,alt,1\n0,volt,12\n1,alt,2\n1,volt,12\n2,alt,3\n"]
)
def test_a_map_for_many_logs_takes_those_columns_that_are_there(text: str) -> None:
    usual = {"Alti": "voltage_v", "alt": "altitude_m [ft]", "Hgt": "altitude_m"}
    log = read_log_bytes(text.encode(), "x.csv", columns_if_there=usual)
    assert log.frame["altitude_m"].tolist() == pytest.approx([0.3048, 0.6096, 0.9144])
    absent = [notice.message for notice in log.notices if notice.code == "column-absent"]
    assert [message.partition(",")[0] for message in absent] == ["no column 'Alti'", "no column 'Hgt'"]
    assert "did you mean 'alt'?" in absent[0]


def test_what_is_said_of_one_log_wins_over_the_map_for_many() -> None:
    log = read_log_bytes(b"t,h\n0,1\n1,2\n", "x.csv", {"h": "altitude_m [ft]"}, {"h": "voltage_v", "u": "voltage_v"})
    assert log.frame["altitude_m"].tolist() == pytest.approx([0.3048, 0.6096])
    with pytest.raises(ColumnMapError, match="no column 'u'"):
        read_log_bytes(b"t,h\n0,1\n1,2\n", "x.csv", {"u": "voltage_v"}, {"u": "voltage_v"})
