"""Imports only point downstream, so that each stage can be read, tested and replaced without the later ones."""

from __future__ import annotations

import ast
from graphlib import TopologicalSorter
from pathlib import Path

FLOORS = (
    (
        "arrays",
        "constants",
        "errors",
        "cautions",
        "units",
        "wording",
        "channels",
        "limits",
        "records",
        "setup_file",
        "robust_fit",
        "display",
    ),
    ("power_system",),
    ("ingest",),
    ("conditioning",),
    ("circling",),
    ("segmentation",),
    ("measures",),
    ("soaring",),
    ("match",),
    ("analysis",),
    ("comparison",),
    ("figures",),
    ("export",),
    ("logbook",),
    ("cli",),
)
"""From the ground up. A module imports from floors below its own and from its own package; where modules share a floor,
from those before it. `__init__` only names the public interface."""


def floor_of(name: str) -> tuple[int, int] | None:
    """Floor and place on it of a module such as "analyzer.display"; None for the package's own `__init__`."""
    parts = name.split(".")[1:]
    if not parts or parts == ["__init__"]:
        return None
    for floor, names in enumerate(FLOORS):
        if parts[0] in names:
            return floor, names.index(parts[0])
    raise AssertionError(f"{name} has no place on any floor: add it to FLOORS and to DEVELOPERS.md")


def imports_of(path: Path) -> set[str]:
    """Every module of ours that a module imports, anywhere in it."""
    found: set[str] = set()
    for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
        if isinstance(node, ast.ImportFrom) and node.module and node.level == 0:
            found |= {node.module, *(f"{node.module}.{alias.name}" for alias in node.names)}
        elif isinstance(node, ast.Import):
            found |= {alias.name for alias in node.names}
        assert not (isinstance(node, ast.ImportFrom) and node.level), f"{path}: relative import"
    return {name for name in found if name.split(".")[0] in ("analyzer", "dashboard", "tests", "simulator")}


def test_imports_point_downstream(module: Path, root: Path) -> None:
    name = ".".join(module.relative_to(root).with_suffix("").parts)
    imported = imports_of(module)
    assert not any(target.startswith(("tests", "simulator")) for target in imported)
    if name.startswith("dashboard"):
        return
    assert not any(target.startswith("dashboard") for target in imported), "analyzer knows no dashboard"
    own = floor_of(name)
    if own is None:
        return
    for target in imported:
        below = floor_of(target) if (root / Path(*target.split("."))).exists() or module_exists(root, target) else None
        assert below is None or below <= own, f"{name} imports {target}, which stands above it"


def module_exists(root: Path, name: str) -> bool:
    return (root / Path(*name.split("."))).with_suffix(".py").exists()


def test_every_package_is_explained_to_developers(root: Path) -> None:
    text = (root / "DEVELOPERS.md").read_text(encoding="utf-8")
    for floor in FLOORS:
        for name in floor:
            assert name in text, f"DEVELOPERS.md does not mention {name}"


def test_no_two_modules_need_each_other(root: Path) -> None:
    """Not in a function nor for typing alone: what hangs together so is one module, or has a third below it."""
    paths = [path for package in ("analyzer", "dashboard") for path in (root / package).rglob("*.py")]
    graph = {".".join(path.relative_to(root).with_suffix("").parts): imports_of(path) for path in paths}
    TopologicalSorter({name: found & graph.keys() for name, found in graph.items()}).prepare()
