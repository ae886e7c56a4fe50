"""What climbledger brings along: locked for CI, free to pass on, and named to developers."""

from __future__ import annotations

import ast
import re
import sys
import tomllib
from importlib.metadata import PackageNotFoundError, distribution, packages_distributions
from pathlib import Path

import pytest
from packaging.requirements import Requirement
from packaging.utils import canonicalize_name

EXTRAS = ("cluster", "postgresql", "export")
PERMISSIVE = {
    "0BSD",
    "AFL-2.1",
    "Apache 2",
    "Apache 2.0",
    "Apache Software License",
    "Apache-2.0",
    "BSD",
    "BSD License",
    "BSD-2-Clause",
    "BSD-3-Clause",
    "CC0-1.0",
    "MIT",
    "MIT License",
    "PSF-2.0",
    "Zlib",
    "Zope Public License",
}
RECIPROCAL = {
    "certifi": "Mozilla Public License 2.0 (MPL 2.0)",  # of its own file of certificates, which stays as it is
    "psycopg": "LGPL-3.0-only",  # on request only, in the extra "postgresql"; never passed on with climbledger
    "psycopg-binary": "LGPL-3.0-only",
}
"""Those that are not permissive, why that does no harm, and the licence that was looked at."""


def project(root: Path) -> dict:
    return tomllib.loads((root / "pyproject.toml").read_text(encoding="utf-8"))["project"]


def direct(root: Path) -> list[Requirement]:
    """What the project asks for itself when it runs, the extras included."""
    facts = project(root)
    lists = (facts["dependencies"], *(facts["optional-dependencies"][extra] for extra in EXTRAS))
    return [Requirement(entry) for entries in lists for entry in entries]


def locked(root: Path) -> list[Requirement]:
    text = (root / ".ci" / "constraints.txt").read_text(encoding="utf-8")
    return [Requirement(line) for line in text.splitlines() if line and not line.startswith("#")]


def with_their_own(wanted: list[Requirement]) -> set[str]:
    """Names of these and of everything that they need in turn, as far as it is installed."""
    names: set[str] = set()
    waiting = [(entry.name, extra) for entry in wanted for extra in ("", *entry.extras)]
    done: set[tuple[str, str]] = set()
    while waiting:
        name, extra = waiting.pop()
        if (name, extra) in done:
            continue
        done.add((name, extra))
        try:
            needs = distribution(name).requires or []
        except PackageNotFoundError:
            continue
        names.add(canonicalize_name(name))
        for need in map(Requirement, needs):
            if need.marker is None or need.marker.evaluate({"extra": extra}):
                waiting += [(need.name, further) for further in ("", *need.extras)]
    return names


def licences_of(name: str) -> list[str]:
    """Licences that all hold, by the package's own metadata; of alternatives the permissive one."""
    facts = distribution(name).metadata
    classes = [entry.split(" :: ")[-1] for entry in facts.get_all("Classifier") or [] if entry.startswith("License ::")]
    stated = facts.get("License-Expression") or " AND ".join(classes) or facts.get("License", "none").splitlines()[0]
    return [
        next((choice for choice in choices if choice in PERMISSIVE), choices[0])
        for choices in (
            part.removeprefix("(").removesuffix(")").split(" OR ") if " OR " in part else [part]
            for part in stated.split(" AND ")
        )
    ]


def imported_by(root: Path) -> set[str]:
    """Distributions whose modules the two packages import, by name."""
    paths = (path for package in ("analyzer", "dashboard") for path in (root / package).rglob("*.py"))
    modules: set[str] = set()
    for node in (node for path in paths for node in ast.walk(ast.parse(path.read_text(encoding="utf-8")))):
        if isinstance(node, ast.Import):
            modules |= {alias.name.split(".")[0] for alias in node.names}
        elif isinstance(node, ast.ImportFrom) and node.module:
            modules.add(node.module.split(".")[0])
    foreign = modules - set(sys.stdlib_module_names) - {"analyzer", "dashboard"}
    homes = packages_distributions()
    return {canonicalize_name(homes[module][0]) for module in foreign}


def test_what_is_imported_is_declared_and_what_is_declared_is_imported(root: Path) -> None:
    declared = {canonicalize_name(entry.name) for entry in direct(root)}
    imported = imported_by(root)
    assert imported - declared == {"pydantic-core", "werkzeug"}, "parts of pydantic and of Flask"
    # the driver is named in the logbook's URL, and a cluster's executor is handed in by the caller
    assert declared - imported == {"psycopg", "distributed"}


def test_every_licence_lets_it_be_passed_on(root: Path) -> None:
    names = with_their_own(direct(root))
    assert {"pandas", "werkzeug", "certifi"} <= names
    others = {name: licences for name in names if (licences := licences_of(name)) and not set(licences) <= PERMISSIVE}
    assert {name: " AND ".join(licences) for name, licences in others.items()} == {
        name: licence for name, licence in RECIPROCAL.items() if name in names
    }


@pytest.mark.parametrize("extra", ["", *EXTRAS])
def test_each_dependency_and_its_licence_is_named_to_developers(root: Path, extra: str) -> None:
    facts = project(root)
    entries = facts["optional-dependencies"][extra] if extra else facts["dependencies"]
    text = (root / "DEVELOPERS.md").read_text(encoding="utf-8")
    section = text[text.index("## Dependencies") :]
    rows = [line for line in section.splitlines() if line.startswith("| ") and line.count("|") >= 4]
    for name in (Requirement(entry).name for entry in entries):
        row = next((line for line in rows if re.search(rf"(?<![\w-]){name}(?![\w-])", line.split("|")[1], re.I)), None)
        assert row, f"DEVELOPERS.md does not say why {name} is there"
        assert re.search(r"MIT|BSD|Apache|ZPL|LGPL", row.split("|")[2]), f"the licence of {name} is missing"


def test_what_comes_with_the_dependencies_is_named_too(root: Path) -> None:
    text = (root / "DEVELOPERS.md").read_text(encoding="utf-8").lower()
    in_lock = {canonicalize_name(entry.name) for entry in locked(root)}
    names = with_their_own(direct(root)) & in_lock
    assert {name for name in names if not re.search(rf"(?<![\w-]){name}(?![\w-])", text)} == set()


def test_the_lock_holds_every_dependency_within_its_range(root: Path) -> None:
    pins: dict[str, list[str]] = {}
    for entry in locked(root):
        (exact,) = entry.specifier
        assert exact.operator == "=="
        pins.setdefault(canonicalize_name(entry.name), []).append(exact.version)
    asked = direct(root) + [Requirement(entry) for entry in project(root)["optional-dependencies"]["test"]]
    for entry in asked:
        if entry.name != "climbledger":
            assert pins[canonicalize_name(entry.name)], entry
            assert all(entry.specifier.contains(version) for version in pins[canonicalize_name(entry.name)]), entry


def test_the_lock_names_no_place_to_fetch_from(root: Path) -> None:
    text = (root / ".ci" / "constraints.txt").read_text(encoding="utf-8")
    assert not re.search(r"://|--|@", text)
