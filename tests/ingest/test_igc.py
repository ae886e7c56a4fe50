"""IGC files against the specification's example records and a general-purpose reader.

The example is the one of FAI/IGC *Technical Specification for IGC-Approved GNSS Flight Recorders*, Appendix A,
"example of an IGC file" (records A, H, I, J, B, E, F, K; read November 2026 in copies of it in the tests of two public
readers; names of people and of a maker left out). Its figures are invented: its first fix is far from its second.
"""

import io
from datetime import UTC, date, datetime

import aerofiles.igc
import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from analyzer.errors import ColumnMapError, LogFileError
from analyzer.ingest import describe_columns, read_log_bytes
from analyzer.ingest.igc import confidence
from analyzer.ingest.igc_records import parse_records

SPECIFICATION_EXAMPLE = """\
AXXXABCFLIGHT:1
HFFXA035
HFDTE160701
HFDTM100GPSDATUM:WGS-1984
I033638FXA3940SIU4143ENL
J010812HDT
C150701213841160701000102 500K Tri
F160240040609123624221821
B1602405407121N00249342WA002800042120509950
D20331
E160245PEV
B1602455107126N00149300WA002880042919509020
B1602505107134N00149283WA002900043221009015
B1602555107140N00149221WA002900043020009012
F1603000609123624221821
B1603005107150N00149202WA002910043225608009
E160305PEV
B1603055107180N00149185WA002910043521008015
B1603105107212N00149174WA002930043519608024
K16024800090
LXXXFLIGHT TIME: 4:14:25, TASK SPEED:58.48KTS
GREJNGJERJKNJKRE31895478537H43982FJN9248F942389T433T
""".replace("\n", "\r\n").encode()


def test_the_example_of_the_specification() -> None:
    log = read_log_bytes(SPECIFICATION_EXAMPLE, "example.igc")
    fixes = log.frame.dropna(subset="altitude_m")
    # Decoded by hand after A4.1: 54 deg 07.121 min N, 2 deg 49.342 min W, pressure altitude 280 m at 16:02:40 UTC.
    assert fixes["altitude_m"].tolist() == [280.0, 288.0, 290.0, 290.0, 291.0, 291.0, 293.0]
    assert fixes["time_s"].tolist() == [0.0, 5.0, 10.0, 15.0, 20.0, 25.0, 30.0]
    assert fixes["latitude_deg"].iloc[0] == pytest.approx(54 + 7.121 / 60, abs=1e-9)
    assert fixes["longitude_deg"].iloc[0] == pytest.approx(-(2 + 49.342 / 60), abs=1e-9)
    assert log.started_at == datetime(2001, 7, 16, 16, 2, 40, tzinfo=UTC)
    heading = log.frame.dropna(subset="heading_deg")  # the K record of 16:02:48, heading 90 degrees
    assert heading[["time_s", "heading_deg"]].to_numpy().tolist() == [[8.0, 90.0]]


def test_it_agrees_with_a_general_purpose_reader() -> None:
    records = parse_records(SPECIFICATION_EXAMPLE)
    reference = aerofiles.igc.Reader().read(io.StringIO(SPECIFICATION_EXAMPLE.decode()))
    fixes = reference["fix_records"][1]
    sound = np.isfinite(records.columns["latitude"])
    for name, key in (
        ("latitude", "lat"),
        ("longitude", "lon"),
        ("pressure altitude", "pressure_alt"),
        ("GNSS altitude", "gps_alt"),
    ):
        np.testing.assert_allclose(records.columns[name][sound], [fix[key] for fix in fixes], atol=1e-9)
    clock = [fix["time"].hour * 3600 + fix["time"].minute * 60 + fix["time"].second for fix in fixes]
    assert records.clock_s[sound].tolist() == clock
    assert records.flown_on == reference["header"][1]["utc_date"]


fix = st.builds(
    lambda lat, ns, lon, ew, valid, pressure, satellite: (
        f"{lat // 60000:02d}{lat % 60000:05d}{ns}{lon // 60000:03d}{lon % 60000:05d}{ew}"
        f"{valid}{pressure:05d}{satellite:05d}"
    ),
    st.integers(0, 89 * 60000),
    st.sampled_from("NS"),
    st.integers(0, 179 * 60000),
    st.sampled_from("EW"),
    st.sampled_from("AAAV"),
    st.integers(-999, 9999),
    st.integers(0, 9999),
)


@given(st.lists(fix, min_size=2, max_size=20), st.integers(0, 86_000))
def test_any_fixes_agree_with_the_general_purpose_reader(fixes: list[str], start_s: int) -> None:
    clocks = [f"{s // 3600:02d}{s // 60 % 60:02d}{s % 60:02d}" for s in range(start_s, start_s + len(fixes))]
    data = "".join(
        ["AXXX001\r\n", "HFDTEDATE:170526,01\r\n", *(f"B{c}{f}\r\n" for c, f in zip(clocks, fixes, strict=True))]
    ).encode()
    records = parse_records(data)
    reference = aerofiles.igc.Reader().read(io.StringIO(data.decode()))["fix_records"][1]
    assert records.columns["pressure altitude"].tolist() == [one["pressure_alt"] for one in reference]
    valid = np.array([one["validity"] == "A" for one in reference])
    assert records.without_position == int((~valid).sum())
    for name, key in (("latitude", "lat"), ("longitude", "lon"), ("GNSS altitude", "gps_alt")):
        expected = np.where(valid, [float(one[key]) for one in reference], np.nan)
        np.testing.assert_allclose(records.columns[name], expected, atol=1e-9)


def made(*lines: str, heading: str = "AXXX001\r\nHFDTE170526\r\n") -> bytes:
    return (heading + "".join(f"{line}\r\n" for line in lines)).encode()


def test_midnight_is_passed() -> None:
    log = read_log_bytes(made("B2359585407121N00249342WA0028000421", "B0000025407121N00249342WA0028000421"), "x.igc")
    assert log.frame["time_s"].tolist() == [0.0, 4.0]
    assert log.started_at == datetime(2026, 5, 17, 23, 59, 58, tzinfo=UTC)


@pytest.mark.parametrize(
    "line", ["HFDTE170526", "HFDTEDATE:170526", "HFDTEDATE:170526,01", "HPDTE170526", "HFDTE: 170526"]
)
def test_both_ways_to_write_the_date(line: str) -> None:
    assert parse_records(made(heading=f"AXXX001\r\n{line}\r\n")).flown_on == date(2026, 5, 17)


@pytest.mark.parametrize("line", ["HFDTE999999", "HFDTE", "HFDTEDATE:\r\n170526", ""])
def test_a_date_that_is_none_is_left_open(line: str) -> None:
    fixes = ("B1602405407121N00249342WA0028000421", "B1602415407121N00249342WA0028000421")
    assert read_log_bytes(made(*fixes, heading=f"AXXX001\r\n{line}\r\n"), "x.igc").started_at is None


def test_dates_of_the_last_century() -> None:
    assert parse_records(made(heading="HFDTE310795\r\n")).flown_on == date(1995, 7, 31)


def test_the_site_is_kept() -> None:
    log = read_log_bytes(
        made(
            "B1602405407121N00249342WA0028000421",
            "B1602415407121N00249342WA0028000421",
            heading="AXXX001\r\nHFSITSite: North slope\r\n",
        ),
        "x.igc",
    )
    assert log.place == "North slope"


def test_a_recorder_without_pressure_sensor_uses_satellites() -> None:
    log = read_log_bytes(made("B1602405407121N00249342WA0000000421", "B1602415407121N00249342WA0000000425"), "x.igc")
    assert log.frame["altitude_m"].tolist() == [421.0, 425.0]
    assert log.headers["altitude_m"] == "GNSS altitude"


def test_a_fix_without_position_keeps_its_pressure_altitude() -> None:
    log = read_log_bytes(made("B1602405407121N00249342WA0028000421", "B1602410000000N00000000WV0028100000"), "x.igc")
    assert log.frame["altitude_m"].tolist() == [280.0, 281.0]
    assert np.isnan(log.frame["latitude_deg"].iloc[1])
    assert "fix-not-valid" in {notice.code for notice in log.notices}


def test_extensions_become_channels() -> None:
    heading = "AXXX001\r\nHFDTE170526\r\nI083638GSP3941TAS4246VAR4749TRT5052OAT5354TDS5556LAD5758LOD\r\n"
    lines = (
        "B1602405407121N00249342WA0028000421036072-0015180-05255099",
        "B1602415407121N00249342WA0028000421036072-0015180-05255099",
    )
    log = read_log_bytes(made(*lines, heading=heading), "x.igc")
    row = log.frame.iloc[0]
    assert row["ground_speed_m_s"] == pytest.approx(10.0)
    assert row["airspeed_m_s"] == pytest.approx(20.0)
    assert (row["vertical_speed_m_s"], row["heading_deg"], row["temperature_c"]) == (-1.5, 180.0, -5.0)


def test_decimal_seconds_and_minutes() -> None:
    heading = "AXXX001\r\nHFDTE170526\r\nI033637TDS3839LAD4041LOD\r\n"
    records = parse_records(made("B1602405407121N00249342WA0028000421255099", heading=heading))
    assert records.clock_s.tolist() == [57_760.25]
    assert records.columns["latitude"][0] == pytest.approx(54 + 7.12150 / 60, abs=1e-12)
    assert records.columns["longitude"][0] == pytest.approx(-(2 + 49.34299 / 60), abs=1e-12)


@pytest.mark.parametrize(("digits", "km_h"), [("098", 98.0), ("00098", 98.0), ("09876", 98.76), ("1234", 123.4)])
def test_longer_fields_have_decimals_only_where_whole_numbers_are_absurd(digits: str, km_h: float) -> None:
    heading = f"AXXX001\r\nI0136{35 + len(digits):02d}TAS\r\n"
    records = parse_records(made(f"B1602405407121N00249342WA0028000421{digits}", heading=heading))
    assert records.columns["TAS"].tolist() == pytest.approx([km_h])


def test_the_users_map_chooses_the_height() -> None:
    log = read_log_bytes(SPECIFICATION_EXAMPLE, "x.igc", columns={"GNSS altitude": "altitude_m", "HDT": "ignore"})
    assert log.frame["altitude_m"].iloc[0] == 421.0
    assert "heading_deg" not in log.frame
    with pytest.raises(ColumnMapError, match="no column 'ENL'"):
        read_log_bytes(SPECIFICATION_EXAMPLE, "x.igc", columns={"ENL": "throttle"})


def test_columns_are_described() -> None:
    described = {column.header: column for column in describe_columns(SPECIFICATION_EXAMPLE)}
    assert (described["pressure altitude"].channel, described["pressure altitude"].unit) == ("altitude_m", "m")
    assert described["GNSS altitude"].alternatives == ("altitude_m",)


def test_damaged_records_are_dropped_and_counted() -> None:
    lines = (
        "B1602405407121N00249342WA0028000421",
        "B16024154",
        "B9999995407121N00249342WA0028000421",
        "Bxx02405407121N00249342WA0028000421",
        "B1602425407121N00249342WA0028000421",
    )
    log = read_log_bytes(made(*lines), "x.igc")
    assert log.frame["time_s"].tolist() == [0.0, 2.0]
    assert log.notices[0].message == "dropped 3 damaged B records"


@pytest.mark.parametrize("lines", [(), ("B1602405407121N00249342WA0028000421",), ("B1602405407121",)])
def test_fewer_than_two_fixes_are_no_log(lines: tuple[str, ...]) -> None:
    with pytest.raises(LogFileError, match="fewer than two fixes"):
        read_log_bytes(made(*lines, heading="AXXX001\r\nHFDTE170526\r\nHFPLT:\r\nHFGTY:\r\n"), "x.igc")


@pytest.mark.parametrize(
    ("head", "sure"),
    [
        (SPECIFICATION_EXAMPLE, 1.0),
        (b"AXXX001\r\nHFDTE170526\r\nHFPLT:x\r\n", 0.7),
        (b"A,B\n1,2\n", 0.0),
        (b"Time,Alt\n1,2\n", 0.0),
        (b"", 0.0),
    ],
)
def test_how_sure_the_adapter_is(head: bytes, sure: float) -> None:
    assert confidence(head) == sure


@given(st.binary(max_size=300), st.integers(0, 900), st.integers(0, 900))
def test_damage_anywhere_is_survived(noise: bytes, start: int, stop: int) -> None:
    damaged = SPECIFICATION_EXAMPLE[:start] + noise + SPECIFICATION_EXAMPLE[stop:]
    parse_records(damaged)


def test_a_file_in_lower_case_reads_alike() -> None:
    upper, lower = (read_log_bytes(data, "x.igc") for data in (SPECIFICATION_EXAMPLE, SPECIFICATION_EXAMPLE.lower()))
    assert lower.frame.equals(upper.frame)
    assert lower.started_at == upper.started_at
