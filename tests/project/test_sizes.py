"""Sizes are tests: files, function bodies and parameter lists stay small, without a list of exceptions."""

from __future__ import annotations

import ast
from pathlib import Path

import pytest

SOURCE = Path(__file__).resolve().parents[2] / "src" / "twoturn"
FILES = sorted(SOURCE.rglob("*.py"))
SHELLS = ("cli", "web")


def functions(path: Path) -> list[ast.FunctionDef | ast.AsyncFunctionDef]:
    tree = ast.parse(path.read_text(encoding="utf-8"))
    return [node for node in ast.walk(tree) if isinstance(node, ast.FunctionDef | ast.AsyncFunctionDef)]


def body_lines(node: ast.FunctionDef | ast.AsyncFunctionDef) -> int:
    body = node.body[1:] if ast.get_docstring(node) else node.body
    return (body[-1].end_lineno or 0) - body[0].lineno + 1 if body else 0


@pytest.mark.parametrize("path", FILES, ids=lambda path: str(path.relative_to(SOURCE)))
def test_a_file_is_no_longer_than_400_lines(path: Path) -> None:
    assert len(path.read_text(encoding="utf-8").splitlines()) <= 400


@pytest.mark.parametrize("path", FILES, ids=lambda path: str(path.relative_to(SOURCE)))
def test_function_bodies_and_parameter_lists_are_short(path: Path) -> None:
    limit = 25 if path.relative_to(SOURCE).parts[0] in SHELLS else 40
    too_long = [(node.name, body_lines(node)) for node in functions(path) if body_lines(node) > limit]
    too_many = [node.name for node in functions(path) if len(node.args.args) + len(node.args.posonlyargs) > 6]
    if path.relative_to(SOURCE).parts[0] == "cli":
        too_many = []  # options of a command are parameters of its function
    assert too_long == []
    assert too_many == []


@pytest.mark.parametrize("path", FILES, ids=lambda path: str(path.relative_to(SOURCE)))
def test_every_public_function_and_class_says_what_it_is(path: Path) -> None:
    tree = ast.parse(path.read_text(encoding="utf-8"))
    missing = [
        node.name
        for node in tree.body
        if isinstance(node, ast.FunctionDef | ast.ClassDef)
        and not node.name.startswith("_")
        and not ast.get_docstring(node)
    ]
    assert missing == []
    assert ast.get_docstring(tree) or path.name == "__init__.py"
