"""The sample logs are what the simulator makes, with setups that the analyzer accepts."""

from __future__ import annotations

import json
from pathlib import Path

import pandas as pd
import pytest
from simulator import DIALECTS
from simulator.samples import Sample, samples, write_sample

from analyzer.setup_file import read_setup

FOLDER = Path(__file__).resolve().parents[2] / "sample_logs"
SAMPLES = {sample.name: sample for sample in samples()}


def table(path: Path, sample: Sample) -> pd.DataFrame:
    style = DIALECTS[sample.dialect]
    return pd.read_csv(path, sep=style.separator, decimal=style.decimal, encoding=style.encoding)


@pytest.mark.parametrize("name", ["first_flight", "morning_12x6"])
def test_sample_is_what_the_simulator_makes(name: str, tmp_path: Path) -> None:
    sample = SAMPLES[name]
    write_sample(sample, tmp_path)
    for suffix in (".setup.toml", ".truth.json"):
        assert (tmp_path / f"{name}{suffix}").is_file()
    made, kept = (table(folder / f"{name}.csv", sample) for folder in (tmp_path, FOLDER))
    assert list(made.columns) == list(kept.columns)
    assert len(made) == len(kept)
    # another processor may round the last digit of a few cells the other way
    numbers = kept.select_dtypes("number").columns
    same = (made[numbers] - kept[numbers]).abs() <= 1e-9
    assert (same | kept[numbers].isna()).to_numpy().mean() > 0.99
    made_truth, kept_truth = (json.loads((f / f"{name}.truth.json").read_text("utf-8")) for f in (tmp_path, FOLDER))
    assert [s["kind"] for s in made_truth["segments"]] == [s["kind"] for s in kept_truth["segments"]]


def test_folder_holds_every_sample_and_stays_small() -> None:
    for sample in SAMPLES.values():
        assert (FOLDER / f"{sample.name}.{'igc' if sample.dialect == 'igc' else 'csv'}").is_file()
        assert (FOLDER / f"{sample.name}.truth.json").is_file()
    files = [path for path in FOLDER.rglob("*") if path.is_file() and path.parent.name != "pictures"]
    known = {name.split(".")[0] for name in SAMPLES} | {"README", "14x8"}
    assert {path.name.split(".")[0] for path in files} == known
    assert sum(path.stat().st_size for path in files) < 3_000_000


@pytest.mark.parametrize("name", [name for name, sample in SAMPLES.items() if sample.dialect != "igc"])
def test_setup_is_accepted(name: str) -> None:
    setup = read_setup(FOLDER / f"{name}.setup.toml")
    assert (
        setup.require("airframe.mass_kg", "pack.cells", "motor.kv_rpm_per_v", "propeller.pitch_in", purpose="x") is None
    )
    if setup.propeller is not None and setup.propeller.coefficients_csv is not None:
        assert (setup.folder / setup.propeller.coefficients_csv).is_file()


def test_samples_cover_what_the_readme_promises() -> None:
    propellers = {(s.scenario.drive.diameter_in, s.scenario.drive.pitch_in) for s in SAMPLES.values()}
    assert len(propellers) >= 3
    assert len({s.dialect for s in SAMPLES.values()}) >= 5
    text = (FOLDER / "README.md").read_text(encoding="utf-8")
    assert "invented" in text
    for sample in SAMPLES.values():
        assert f"{sample.name}.{'igc' if sample.dialect == 'igc' else 'csv'}" in text


def test_messy_sample_stops_in_the_middle_of_a_row() -> None:
    last = (FOLDER / "messy_two_flights.csv").read_text(encoding="utf-8-sig").splitlines()[-1]
    whole = (FOLDER / "messy_two_flights.csv").read_text(encoding="utf-8-sig").splitlines()[-2]
    assert last.count(";") < whole.count(";")
