"""The docstring contract: a public function that takes or gives numbers says their unit in square brackets."""

from __future__ import annotations

import ast
from pathlib import Path

import pytest

SOURCE = Path(__file__).resolve().parents[2] / "src" / "twoturn"
PHYSICS = ("quantity", "fastener", "mechanics", "timing", "pluck", "capture", "simulate")
FILES = sorted(path for name in PHYSICS for path in (SOURCE / name).rglob("*.py"))
NUMBERS = {"float", "Array", "FloatArray", "NDArray[np.float64]", "np.ndarray"}


@pytest.mark.parametrize("path", FILES, ids=lambda path: str(path.relative_to(SOURCE)))
def test_number_parameters_are_documented_with_their_unit(path: Path) -> None:
    unsaid = []
    for node in ast.parse(path.read_text(encoding="utf-8")).body:
        if not isinstance(node, ast.FunctionDef) or node.name.startswith("_"):
            continue
        doc = ast.get_docstring(node) or ""
        numbers = [arg for arg in node.args.args if arg.annotation and ast.unparse(arg.annotation) in NUMBERS]
        if numbers and (not ("[" in doc and "]" in doc) or any(arg.arg not in doc for arg in numbers)):
            unsaid.append(node.name)
    assert unsaid == []
