"""``climbledger predict``: text, JSON, and each kind of trouble from outside."""

from __future__ import annotations

import json
from pathlib import Path

import pytest
from made_setup import SETUP, setup_text


@pytest.fixture
def model(tmp_path: Path) -> Path:
    path = tmp_path / "invented.toml"
    path.write_text(SETUP)
    return path


def test_the_setups_own_propeller_as_text(call, model) -> None:
    done = call("predict", "--setup", model)
    assert done.status == 0
    assert done.err == ""
    assert "12x6" in done.out
    for part in ("THE PROPELLERS", "LIMITS", "STANDING STILL", "THE BEST CLIMB", "OVER AIRSPEED", "CAUTIONS"):
        assert part in done.out
    assert "no clearance to fly" in done.out
    assert max(map(len, done.out.splitlines())) <= 110


def test_several_propellers_one_row_each_in_their_order(call, model) -> None:
    done = call("predict", "--setup", model, "--propeller", "14x8", "--propeller", "11x6", "--propeller", "24x20")
    table = done.out.split("\n\n")[1].splitlines()
    assert [line.split()[0] for line in table[3:6]] == ["14x8", "11x6", "24x20"]
    assert "NO ANSWER" in done.out
    assert "OVER AIRSPEED" not in done.out


def test_a_dash_gives_standard_output_to_the_json_alone(call, model) -> None:
    done = call("predict", "--setup", model, "--propeller", "16x10", "--propeller", "14x8", "--json", "-")
    assert done.status == 0
    assert done.err == ""
    document = json.loads(done.out)
    assert next(iter(document)) == "schema"
    assert document["schema"] == "climbledger/prediction/1"
    assert [one["propeller"] for one in document["propellers"]] == ["16x10", "14x8"]


def test_json_to_a_file_goes_beside_the_text(call, model) -> None:
    target = model.with_name("out.json")
    done = call("predict", "--setup", model, "--json", target)
    assert "THE PROPELLERS" in done.out
    assert done.err == f"climbledger: wrote {target}\n"
    assert json.loads(target.read_text())["setup"] == "an invented sailplane"


def test_feet_for_those_who_fly_in_feet(call, model) -> None:
    done = call("predict", "--setup", model, "--units", "feet")
    assert "ft/min" in done.out
    assert "mph" in done.out


@pytest.mark.parametrize(
    ("arguments", "said"),
    [
        ((), "--setup"),
        (("--setup", "nowhere.toml"), "nowhere.toml: no such file"),
        (("--setup", "{model}", "--propeller", "fourteen"), "'fourteen' is no propeller size"),
        (("--setup", "{model}", "--throttle", "0"), "--throttle"),
        (("--setup", "{model}", "--throttle", "nan"), "throttle"),
        (("--setup", "{model}", "--json", "{model}"), "would overwrite the input"),
        (("--setup", "{model}", "--json", "/nowhere/at/all.json"), "cannot be written"),
    ],
)
def test_trouble_is_one_line_and_status_2(call, model, arguments, said) -> None:
    done = call("predict", *(argument.format(model=model) for argument in arguments))
    assert done.status == 2
    assert said in done.complaint


def test_a_missing_key_is_named(call, model) -> None:
    model.write_text(setup_text("kv_rpm_per_v = 1100.0\n", ""))
    done = call("predict", "--setup", model)
    assert done.status == 2
    assert "kv_rpm_per_v" in done.complaint
    assert done.out == ""
