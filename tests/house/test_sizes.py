"""Modules and functions stay of a size that one mind holds."""

from __future__ import annotations

import ast
from pathlib import Path
from statistics import median, quantiles

MODULE_LINES = 400
FUNCTION_LINES = 45


def own_lines(function: ast.FunctionDef | ast.AsyncFunctionDef) -> int:
    """Lines of a function's body, without its docstring and the functions defined inside it."""
    body = function.body
    if (
        isinstance(body[0], ast.Expr)
        and isinstance(body[0].value, ast.Constant)
        and isinstance(body[0].value.value, str)
    ):
        body = body[1:]
    if not body:
        return 0
    inner = [node for node in ast.walk(function) if isinstance(node, ast.FunctionDef) and node is not function]
    inside = {line for node in inner for line in range(node.lineno, (node.end_lineno or node.lineno) + 1)}
    return len(set(range(body[0].lineno, (body[-1].end_lineno or 0) + 1)) - inside)


def functions_of(path: Path) -> list[ast.FunctionDef | ast.AsyncFunctionDef]:
    tree = ast.parse(path.read_text(encoding="utf-8"))
    return [node for node in ast.walk(tree) if isinstance(node, ast.FunctionDef | ast.AsyncFunctionDef)]


def test_no_module_is_two(module: Path) -> None:
    lines = module.read_text(encoding="utf-8").count("\n")
    assert lines <= MODULE_LINES


def test_no_function_is_three(module: Path) -> None:
    long = {function.name: size for function in functions_of(module) if (size := own_lines(function)) > FUNCTION_LINES}
    assert not long


def test_most_functions_are_short(root: Path) -> None:
    sizes = [own_lines(function) for path in (root / "analyzer").rglob("*.py") for function in functions_of(path)]
    assert median(sizes) <= 8
    assert quantiles(sizes, n=10)[-1] <= 30
