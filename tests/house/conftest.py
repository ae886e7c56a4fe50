"""The project as files: what the house rules are checked against."""

from __future__ import annotations

from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[2]


@pytest.fixture(scope="session")
def root() -> Path:
    return ROOT


def pytest_generate_tests(metafunc: pytest.Metafunc) -> None:
    """A test that asks for a `module` is run on each module of the two packages."""
    if "module" in metafunc.fixturenames:
        modules = [path for package in ("analyzer", "dashboard") for path in sorted((ROOT / package).rglob("*.py"))]
        metafunc.parametrize("module", modules, ids=[str(path.relative_to(ROOT)) for path in modules])
