"""One invented flight in every dialect gives one log. A new dialect is a new file here, not a new test."""

from pathlib import Path

import numpy as np
import pandas as pd
import pytest

from analyzer.channels import BY_NAME, channel_of
from analyzer.ingest import describe_columns, read_log, read_log_bytes

FOLDER = Path(__file__).parent
FILES = sorted((*FOLDER.glob("*.csv"), *FOLDER.glob("*.txt")))
ROUNDING = {"throttle": 0.005, "charge_ah": 0.0005, "temperature_c": 0.01, "rpm": 0.01}
"""What the dialects round to; else 0.001 in the channel's unit."""


@pytest.fixture(scope="module")
def canonical() -> pd.DataFrame:
    """The flight as the plainest of the files holds it, read without our own reader."""
    return pd.read_csv(FOLDER / "canonical.csv")


@pytest.mark.parametrize("path", FILES, ids=lambda path: path.stem)
def test_the_log_is_the_same(path: Path, canonical: pd.DataFrame) -> None:
    log = read_log(path)
    expected = canonical.iloc[: len(log.frame)]
    assert len(canonical) - len(log.frame) == (1 if path.stem == "cut_off" else 0)
    assert {"time_s", "altitude_m"} < set(log.frame.columns)
    for column in log.frame.columns:
        name = channel_of(column).name
        if BY_NAME[name].kind == "label":
            assert log.frame[column].tolist() == expected[name].tolist(), column
        else:
            tolerance = ROUNDING.get(name, 0.001)
            np.testing.assert_allclose(log.frame[column], expected[name], atol=tolerance, rtol=0, err_msg=column)


def test_an_upload_reads_like_the_file() -> None:
    path = FOLDER / "canonical.csv"
    log, uploaded = read_log(path), read_log_bytes(path.read_bytes(), f"C:\\logs\\{path.name}")
    pd.testing.assert_frame_equal(log.frame, uploaded.frame)
    assert (uploaded.name, uploaded.sha256, uploaded.notices) == (path.name, log.sha256, log.notices)


@pytest.mark.parametrize("path", FILES, ids=lambda path: path.stem)
def test_the_description_proposes_what_is_read(path: Path) -> None:
    log = read_log(path)
    proposed = {column.header: column.channel for column in describe_columns(path) if column.channel}
    for column, header in log.headers.items():
        assert proposed[header] == channel_of(column).name


def test_dates_and_zones_are_kept() -> None:
    local_times = ("iso_local", "date_and_clock", "half_day_clock")
    stems = ("iso_zone", "epoch_milliseconds", "whole_second_clock", "canonical", *local_times)
    started = {stem: read_log(FOLDER / f"{stem}.csv").started_at for stem in stems}
    assert started["iso_zone"] is not None
    assert started["iso_zone"].isoformat() == "2026-06-20T23:59:50+00:00"
    assert started["epoch_milliseconds"] == started["iso_zone"]
    for local in local_times:
        assert started[local] == started["iso_zone"].replace(tzinfo=None)
    assert started["whole_second_clock"] is None
    assert started["canonical"] is None


@pytest.mark.parametrize(
    ("stem", "code"),
    [
        ("whole_second_clock", "stamps-spread"),
        ("whole_second_clock", "clock-midnight"),
        ("header_again", "header-repeated"),
        ("header_again", "rows-dropped"),
        ("cut_off", "log-cut-off"),
        ("counter_overflow", "clock-overflow"),
        ("newest_first", "clock-reversed"),
        ("negative_discharge", "current-sign"),
        ("no_units", "unit-inferred"),
        ("no_units", "unit-assumed"),
        ("other_units", "column-read"),
        ("sparse", "rows-merged"),
        ("long_by_channel", "column-ignored"),
    ],
)
def test_what_was_mended_is_said(stem: str, code: str) -> None:
    (path,) = (path for path in FILES if path.stem == stem)
    assert code in {notice.code for notice in read_log(path).notices}


def test_of_a_plain_log_only_the_scale_of_the_throttle_is_inferred() -> None:
    (notice,) = read_log(FOLDER / "canonical.csv").notices
    assert notice.code == "unit-inferred"
    assert "'throttle'" in notice.message
