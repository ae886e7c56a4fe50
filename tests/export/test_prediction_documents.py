"""A prediction as JSON and as text: the agreed keys, intervals beside values, strict numbers."""

from __future__ import annotations

import json

import pytest

from analyzer.export.json_document import json_document
from analyzer.export.prediction_json import prediction_plain
from analyzer.export.prediction_tables import overview_table
from analyzer.export.prediction_text import prediction_text
from analyzer.export.serializer import to_plain
from analyzer.power_system.prediction import predict
from analyzer.power_system.prediction_records import Prediction
from analyzer.power_system.propeller import parse_propeller
from analyzer.setup_file import parse_setup

SETUP = """
name = "Invented\\u001b 3 m"
[airframe]
mass_kg = 2.1
wing_area_m2 = 0.60
wingspan_m = 3.0
[pack]
cells = 3
capacity_ah = 2.2
[speed_controller]
continuous_current_a = 60
[motor]
kv_rpm_per_v = 1100
resistance_ohm = 0.025
"""


@pytest.fixture(scope="module")
def prediction() -> Prediction:
    return predict(parse_setup(SETUP, source="test"), [parse_propeller("14x8"), parse_propeller("30x25")])


@pytest.fixture(scope="module")
def document(prediction: Prediction) -> dict:
    return json.loads(json_document(prediction_plain(prediction)))


def test_the_agreed_keys_are_there(document: dict) -> None:
    assert next(iter(document)) == "schema"
    assert document["setup"] == "Invented\x1b 3 m"
    one = document["propellers"][0]
    assert one["propeller"] == "14x8"
    assert {"static", "best_climb", "level", "limits", "points"} <= set(one)
    assert {
        "airspeed_m_s", "climb_rate_m_s", "climb_per_ah_m", "climb_per_wh_m", "current_a", "rpm", "thrust_n",
        "shaft_power_w",
    } <= set(one["best_climb"])  # fmt: skip
    assert {"top_speed_m_s", "current_a", "rpm"} <= set(one["level"])
    assert {
        "airspeed_m_s", "rpm", "current_a", "thrust_n", "shaft_power_w", "propeller_efficiency", "climb_rate_m_s",
    } <= set(one["points"][0])  # fmt: skip


def test_an_interval_stands_beside_its_value(document: dict) -> None:
    def check(value: object) -> int:
        if isinstance(value, list):
            return sum(map(check, value))
        if not isinstance(value, dict):
            return 0
        own = [key.removesuffix("_low") for key in value if key.endswith("_low")]
        for key in own:
            assert value[f"{key}_low"] <= value[key] <= value[f"{key}_high"]
        return len(own) + sum(map(check, value.values()))

    assert check(document) > 200


def test_the_serializer_says_a_prediction_as_the_document_does(prediction: Prediction, document: dict) -> None:
    assert to_plain(prediction) | {"units": document["units"]} == document


def test_room_has_the_decimals_of_every_other_current(prediction: Prediction) -> None:
    room = next(column for column in overview_table(prediction).columns if column.title == "room")
    assert room.cells[0] == f"{60.0 - prediction.propellers[0].limits[0].predicted.value:+.1f}"


def test_every_quantity_has_a_unit(document: dict) -> None:
    units = document["units"]
    assert units["climb_per_ah_m"] == "m/Ah"
    assert units["airspeed_m_s"] == "m/s"
    assert units["density_kg_m3"] == "kg/m³"
    assert units["rpm"] == "rpm"
    for key, value in document["propellers"][0]["static"].items():
        if isinstance(value, float) and not key.endswith(("_low", "_high", "_efficiency")):
            assert key in units, key


def test_what_cannot_be_is_null_with_a_reason(document: dict) -> None:
    assert document["propellers"][1]["reasons"]
    assert {notice["code"] for notice in document["notices"]} == {
        "pack-resistance-assumed", "zero-lift-drag-assumed", "no-load-current-assumed",
    }  # fmt: skip


def test_the_text_says_reasons_sources_and_assumptions_without_control_characters(prediction: Prediction) -> None:
    text = prediction_text(prediction)
    assert "\x1b" not in text
    assert text.endswith("\n")
    assert "wind-tunnel measurement" in text
    assert "tied to the measured family" in text
    assert "milliohm assumed" in text
    assert "NO ANSWER" in text


def test_tables_of_which_nothing_is_left_but_the_names_are_left_out() -> None:
    bare = SETUP[SETUP.index("[pack]") :]
    text = prediction_text(predict(parse_setup(f'name = "bare"\n{bare}', source="test"), [parse_propeller("14x8")]))
    assert "STANDING STILL" in text
    assert "THROUGH THE PACK" not in text
