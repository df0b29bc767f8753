"""The command line imports heavy libraries only when a command needs them (a guard without a clock)."""

from __future__ import annotations

import json
import subprocess
import sys

HEAVY = ("numpy", "scipy", "pydantic", "av", "typst", "rich.console")


def test_help_loads_no_heavy_library() -> None:
    code = (
        "import sys, json\n"
        "import twoturn.cli.main\n"
        f"print(json.dumps([name for name in {HEAVY[:5]!r} if name in sys.modules]))"
    )
    answer = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert json.loads(answer.stdout) == []
