"""The setup file: what it takes, what it refuses, and that a refusal names key, value and range."""

from __future__ import annotations

from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from analyzer.errors import SetupFileError
from analyzer.setup_file import Setup, parse_setup, read_setup, setup_toml

# An invented model, not a product.
WHOLE = """
name = "Heron 2600, long climb"
[airframe]
mass_kg = 1.9
wing_area_m2 = 0.52
wingspan_m = 2.6
zero_lift_drag_coefficient = 0.017
span_efficiency = 0.88
max_lift_coefficient = 1.15
[pack]
cells = 3
capacity_ah = 2.4
internal_resistance_ohm = 0.028
chemistry = "lipo"
min_cell_v = 3.3
[speed_controller]
continuous_current_a = 50
burst_current_a = 65
resistance_ohm = 0.004
[motor]
kv_rpm_per_v = 4200
resistance_ohm = 0.012
no_load_current_a = 2.4
no_load_voltage_v = 8.0
max_current_a = 60
max_rpm = 60000
[gearbox]
ratio = 5.2
efficiency = 0.95
[propeller]
diameter_in = 15
pitch_in = 9
blades = 2
[receiver_supply]
nominal_v = 5.5
min_v = 4.8
[air]
elevation_m = 380
temperature_c = 21
[telemetry]
rpm_measured_at = "motor"
columns = { "Hgt (ft)" = "altitude_m [ft]" }
"""


def problem_with(text: str) -> str:
    with pytest.raises(SetupFileError) as caught:
        parse_setup(text, source="s.toml")
    return str(caught.value)


def test_every_key_of_the_contract_is_read() -> None:
    setup = parse_setup(WHOLE, source="s.toml")
    assert setup.value("airframe.mass_kg") == 1.9
    assert setup.value("receiver_supply.min_v") == 4.8
    assert setup.telemetry.columns == {"Hgt (ft)": "altitude_m [ft]"}


def test_sections_not_needed_may_be_absent() -> None:
    setup = parse_setup('name = "bare"', source="s.toml")
    assert setup.motor is None
    with pytest.raises(SetupFileError, match=r"\[motor\] kv_rpm_per_v"):
        setup.require("motor.kv_rpm_per_v", purpose="a prediction")


@pytest.mark.parametrize(
    ("line", "said"),
    [
        ("[airframe]\nmass_g = 1900", "did you mean mass_kg"),
        ("[airframe]\nmass_kg = 1900", "1900 cannot be; mass_kg takes a number from 0.05 to 50"),
        ("[airframe]\nmass_kg = '1.9 kg'", "'1.9 kg' cannot be"),
        ("[airframe]\nmass_kg = nan", "nan cannot be"),
        ("[pack]\ncells = 3.5", "cells takes a whole number from 1 to 24"),
        ("[pack]\ncells = true", "true cannot be"),
        ("[telemetry]\ncolumns = 'rpm'", "takes a table"),
        ("[telemetry]\ncolumns = { rpm = 3 }", 'takes text in "quotes"'),
        ("[pack]\nchemistry = 'soup'", "chemistry takes 'lipo'"),
        ("[engine]\nkv = 1", "unknown key engine"),
        ("pack = 3", "write a section [pack]"),
        ("[speed_controller]\ncontinuous_current_a = 50\nburst_current_a = 40", "is below"),
        ("[receiver_supply]\nnominal_v = 5\nmin_v = 6", "[receiver_supply] nominal_v = 5 is below min_v = 6; correct"),
        ("[propeller]\ndiameter_in = ", "not valid TOML"),
        ("folder = '/tmp'", "unknown key 'folder'"),
        ("coefficients = 'J,CT,CP'", "unknown key 'coefficients'"),
    ],
)
def test_a_refusal_names_the_file_the_key_the_value_and_what_is_accepted(line: str, said: str) -> None:
    message = problem_with(f'name = "x"\n{line}')
    assert message.startswith("s.toml: ")
    assert said in message


def test_a_missing_name_is_asked_for() -> None:
    assert 'add name = "..."' in problem_with("[pack]\ncells = 3")
    assert "[calibration] offsets is missing; calibrate again" in problem_with(
        'name = "x"\n[calibration]\npropellers_as_measured = true\nparameters = ["power"]\n'
    )


def test_keys_that_something_needs_are_named_by_their_sections() -> None:
    setup = parse_setup('name = "x"\n[motor]\nkv_rpm_per_v = 900', source="s.toml")
    with pytest.raises(SetupFileError, match=r"given: \[motor\] resistance_ohm, max_rpm; \[pack\] cells;"):
        setup.require(
            "motor.kv_rpm_per_v", "motor.resistance_ohm", "motor.max_rpm", "pack.cells", purpose="a prediction"
        )


@pytest.mark.parametrize("kind", ["missing", "folder", "binary", "huge"])
def test_a_file_that_is_no_setup_is_refused_in_one_line(tmp_path: Path, kind: str) -> None:
    path = tmp_path / "s.toml"
    match kind:
        case "folder":
            path.mkdir()
        case "binary":
            path.write_bytes(b"\x89PNG\xff\xfe")
        case "huge":
            path.write_bytes(b"#" * 1_000_001)
    with pytest.raises(SetupFileError, match=r"s\.toml"):
        read_setup(path)


def test_a_byte_order_mark_does_no_harm(tmp_path: Path) -> None:
    path = tmp_path / "s.toml"
    path.write_bytes(WHOLE.encode("utf-8-sig"))
    assert read_setup(path).name.startswith("Heron")


def test_written_and_read_again_it_is_the_same() -> None:
    setup = parse_setup(WHOLE, source="s.toml")
    assert parse_setup(setup_toml(setup), source="again") == setup


@given(st.text(max_size=300))
def test_free_text_is_a_setup_or_one_clear_line(text: str) -> None:
    try:
        parse_setup(text, source="s.toml")
    except SetupFileError as error:
        assert str(error).startswith("s.toml")
        assert len(str(error)) < 900


@settings(max_examples=50)
@given(
    name=st.text(st.characters(codec="utf-8", exclude_categories=["Cs", "Cc"]), min_size=1, max_size=50),
    mass_kg=st.floats(0.05, 50),
    cells=st.integers(1, 24),
    columns=st.dictionaries(
        st.text(st.characters(codec="utf-8", exclude_categories=["Cs", "Cc"]), min_size=1, max_size=20),
        st.just("altitude_m [ft]"),
        max_size=3,
    ),
)
def test_any_valid_setup_survives_the_round_trip(
    name: str, mass_kg: float, cells: int, columns: dict[str, str]
) -> None:
    setup = Setup.model_validate(
        {"name": name, "airframe": {"mass_kg": mass_kg}, "pack": {"cells": cells}, "telemetry": {"columns": columns}}
    )
    assert parse_setup(setup_toml(setup), source="again") == setup


def test_too_long_a_name_is_told_with_what_fits() -> None:
    with pytest.raises(SetupFileError, match="name takes at most 200 characters"):
        parse_setup(f"name = '{'x' * 201}'", source="x")
