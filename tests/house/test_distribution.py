"""What is published: the wheel holds all that running needs and nothing else, and runs where there is no checkout."""

from __future__ import annotations

import os
import subprocess
import sys
import tarfile
import zipfile
from configparser import ConfigParser
from email.parser import Parser
from pathlib import Path

import pytest


def built(target: str, source: Path, folder: Path) -> Path:
    """Build a distribution without network: the builder is the one that is installed here."""
    build = [sys.executable, "-m", "hatchling", "build", "-t", target, "-d", str(folder)]
    subprocess.run(build, cwd=source, check=True, capture_output=True, timeout=120)
    (made,) = folder.iterdir()
    return made


@pytest.fixture(scope="module")
def sdist(root: Path, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The source distribution, unpacked."""
    folder = tmp_path_factory.mktemp("sdist")
    with tarfile.open(built("sdist", root, tmp_path_factory.mktemp("archive"))) as archive:
        archive.extractall(folder, filter="data")
    (unpacked,) = folder.iterdir()
    return unpacked


@pytest.fixture(scope="module")
def wheel(sdist: Path, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The wheel, built from the source distribution as an installer would, and unpacked."""
    folder = tmp_path_factory.mktemp("wheel")
    with zipfile.ZipFile(built("wheel", sdist, tmp_path_factory.mktemp("archive"))) as archive:
        archive.extractall(folder)
    return folder


def files_under(folder: Path) -> set[str]:
    return {
        str(path.relative_to(folder))
        for path in folder.rglob("*")
        if path.is_file() and "__pycache__" not in path.parts and "pictures" not in path.parts
    }


def test_every_module_and_data_file_ships(root: Path, wheel: Path) -> None:
    for package in ("analyzer", "dashboard"):
        shipped = {name for name in files_under(wheel / package) if not name.startswith("sample_logs")}
        assert shipped == files_under(root / package)
    assert files_under(wheel / "dashboard" / "sample_logs") == files_under(root / "sample_logs")


def test_nothing_else_ships(wheel: Path) -> None:
    (metadata,) = wheel.glob("*.dist-info")
    assert {path.name for path in wheel.iterdir()} == {"analyzer", "dashboard", metadata.name}
    assert not list(wheel.rglob("*.png"))


def test_type_information_and_licence_ship(wheel: Path) -> None:
    assert (wheel / "analyzer" / "py.typed").exists()
    assert (wheel / "dashboard" / "py.typed").exists()
    (licence,) = wheel.glob("*.dist-info/licenses/LICENSE")
    assert licence.read_text().startswith("MIT License")


def test_the_metadata_names_what_is_there(wheel: Path) -> None:
    (metadata,) = wheel.glob("*.dist-info")
    facts = Parser().parsestr((metadata / "METADATA").read_text(encoding="utf-8"))
    assert facts["License-Expression"] == "MIT"
    assert facts["Requires-Python"] == ">=3.11"
    entries = ConfigParser()
    entries.read(metadata / "entry_points.txt")
    named = [target for group in entries.sections() for target in entries[group].values()]
    assert "analyzer.cli.start:main" in named
    for target in named:
        module = wheel / target.split(":")[0].replace(".", "/")
        assert module.with_suffix(".py").exists(), target


def test_the_source_holds_what_its_tests_need(root: Path, sdist: Path) -> None:
    tracked = subprocess.run(["git", "ls-files"], cwd=root, capture_output=True, text=True, check=False).stdout.split()
    wanted = {name for name in tracked if "pictures" not in name and (root / name).exists()}
    assert wanted <= files_under(sdist)


def test_the_wheel_runs_outside_the_checkout(wheel: Path, tmp_path: Path) -> None:
    # first on the path, so that these packages are found and not those of the checkout
    environment = {**os.environ, "PYTHONPATH": str(wheel), "XDG_DATA_HOME": str(tmp_path / "data")}
    script = (
        "from pathlib import Path\n"
        "from analyzer.cli.main import run\n"
        "from dashboard.app import create_app\n"
        "from dashboard.workbench import Workbench\n"
        "import analyzer, dashboard\n"
        "from dashboard import workbench\n"
        "folder = next(folder for folder in workbench.SAMPLE_FOLDERS if folder.is_dir())\n"
        "status = run(['analyze', str(folder / 'first_flight.csv'), '--setup', str(folder / 'first_flight.setup.toml'),"
        " '--json', 'flight.json', '--report', 'flight.html'])\n"
        "app = create_app(workbench=Workbench(logbook='flights.sqlite'))\n"
        "page = app.server.test_client().get('/')\n"
        "print(analyzer.__file__, dashboard.__file__, folder, status, page.status_code, sep='\\n')\n"
    )
    done = subprocess.run(
        [sys.executable, "-c", script], cwd=tmp_path, env=environment, capture_output=True, text=True, timeout=120
    )
    assert done.returncode == 0, done.stderr
    *_, library, pages, samples, status, page = done.stdout.splitlines()
    assert Path(library).is_relative_to(wheel)
    assert Path(pages).is_relative_to(wheel)
    assert Path(samples).is_relative_to(wheel)
    assert (status, page) == ("0", "200")
    assert (tmp_path / "flight.json").stat().st_size > 1000
    assert (tmp_path / "flight.html").stat().st_size > 1000
