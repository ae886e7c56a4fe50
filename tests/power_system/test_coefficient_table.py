"""The user's own table: read in every usual form, refused with file, line and remedy otherwise."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
from curve_spread import standard_deviations
from hypothesis import given
from hypothesis import strategies as st

from analyzer.errors import SetupFileError
from analyzer.power_system.coefficient_table import CoefficientTable, read_table, table_curves
from analyzer.power_system.coefficients import propeller_curves
from analyzer.power_system.propeller import Propeller

GOOD = "J,CT,CP\n0,0.12,0.05\n0.2,0.11,0.05\n0.4,0.08,0.045\n0.6,0.04,0.03\n0.75,0.0,0.01\n"


@pytest.fixture
def written(tmp_path: Path):
    def write(text: str | bytes) -> CoefficientTable:
        path = tmp_path / "mine.csv"
        path.write_bytes(text if isinstance(text, bytes) else text.encode())
        return CoefficientTable(path)

    return write


def test_values_between_the_rows_and_past_the_end(written) -> None:
    curves = table_curves(Propeller(13.0, 7.0), written(GOOD))
    assert curves.tier == "table"
    assert curves.advance_scale == pytest.approx(0.75)
    thrust, power = curves.coefficients(np.array([0.0, 0.3, 0.6, 0.75]), 0.0)
    np.testing.assert_allclose(thrust, [0.12, 0.095, 0.04, 0.0], atol=1e-3)
    np.testing.assert_allclose(power, [0.05, 0.0475, 0.03, 0.01], atol=1e-3)
    beyond, _ = curves.coefficients(0.9, 0.0)
    assert beyond < 0.0
    spread, _ = standard_deviations(curves, np.array([0.3]), np.array([0.0]))
    assert spread[0] == pytest.approx(0.02 * 0.12)


@pytest.mark.parametrize(
    "text",
    [
        GOOD.replace(",", ";"),
        GOOD.replace(",", "\t"),
        GOOD.replace("J,CT,CP", "j, c_t , C_P"),
        "# mine\n\n" + GOOD.replace("\n", "\r\n"),
        b"\xef\xbb\xbf" + GOOD.encode(),
        "CP,J,CT\n" + "\n".join(",".join((r.split(",")[2], *r.split(",")[:2])) for r in GOOD.splitlines()[1:]),
    ],
    ids=["semicolon", "tab", "spelling", "comments", "bom", "order"],
)
def test_usual_forms_are_one_table(written, text) -> None:
    np.testing.assert_allclose(read_table(written(text)), read_table(written(GOOD)))


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("", "is empty"),
        ("J,CT\n0,0.1\n", "no column CP"),
        ("J,CT,CP\n0,0.1,0.05\n", "1 row of numbers"),
        ("J,CT,CP\n0,0.1,0.05\n0.2,oops,0.05\n0.4,0.05,0.04\n", "line 3: a cell is no number"),
        ("J,CT,CP\n0,0.1,0.05\n0.4,0.1,0.05\n0.2,0.05,0.04\n", "line 4: J does not rise"),
        ("J,CT,CP\n0,0.1,0.05\n0.2,nan,0.05\n0.4,0.05,0.04\n", "line 3: a value is impossible"),
        ("J,CT,CP\n0,100,0.05\n0.2,90,0.05\n0.4,80,0.04\n", "line 2: a value is impossible"),
        ("J,CT,CP\n0,-0.1,0.05\n0.2,-0.1,0.05\n0.4,-0.1,0.04\n", "no row with thrust"),
        (b"\xff\xfe\x00J", "is not UTF-8"),
    ],
)
def test_what_cannot_be_used_says_where_and_why(written, text, said: str) -> None:
    with pytest.raises(SetupFileError) as caught:
        read_table(written(text))
    assert "mine.csv" in str(caught.value)
    assert said in str(caught.value)
    assert caught.value.remedy


@pytest.mark.parametrize(
    ("text", "scale"),
    [
        ("J,CT,CP\n0,0,0\n0.3,0.08,0.05\n0.6,0.04,0.04\n", 0.9),
        ("J,CT,CP\n0,0.1,0.05\n0.1,-0.001,0.05\n0.3,0.08,0.045\n0.6,0.02,0.02\n", 0.7),
        ("J,CT,CP\n0,0.1,0.05\n0.3,0.0,0.02\n0.6,-0.1,-0.04\n", 0.3),
    ],
    ids=["no static point", "a slip of the stand", "into windmilling"],
)
def test_the_scale_is_where_the_last_thrust_ends(written, text: str, scale: float) -> None:
    assert table_curves(Propeller(13.0, 7.0), written(text)).advance_scale == pytest.approx(scale)


@pytest.mark.parametrize("path", ["nowhere.csv", "/dev/zero"])
def test_what_is_no_file_is_named(tmp_path: Path, path: str) -> None:
    """A device among them: it has no end to read to."""
    with pytest.raises(SetupFileError, match=rf"{path}: no such file; check \[propeller\] coefficients_csv"):
        propeller_curves(Propeller(13.0, 7.0), CoefficientTable(tmp_path / path))


@given(st.binary(max_size=200))
def test_any_bytes_are_a_table_or_a_setup_error(tmp_path_factory: pytest.TempPathFactory, data: bytes) -> None:
    path = tmp_path_factory.mktemp("any") / "mine.csv"
    path.write_bytes(data)
    try:
        curves = table_curves(Propeller(13.0, 7.0), CoefficientTable(path))
    except SetupFileError as error:
        assert str(error).isprintable()
    else:
        assert np.isfinite(curves.thrust).all()
