"""README and the pages of ``docs/`` are whole: commands, options, answers, folders and pages are all named."""

from __future__ import annotations

import re
import struct
import tomllib
from pathlib import Path
from typing import Any

import pytest
from tools.command_page import STATUSES, commands
from tools.make_docs import PAGES, command_page, drive_picture

from twoturn.cli import output

ROOT = Path(__file__).resolve().parents[2]
DOCS = ROOT / "docs"
SOURCE = ROOT / "src" / "twoturn"
PAGE_FILES = [ROOT / "README.md", *sorted(DOCS.glob("*.md"))]
RUN = {"console", "toml", "python"}
LARGEST_PICTURE_BYTES = 200_000


def text_of(name: str) -> str:
    return (ROOT / name).read_text(encoding="utf-8")


@pytest.mark.parametrize("name", commands())
def test_every_command_and_option_stands_on_its_page(name: str) -> None:
    page = text_of("docs/command-line.md")
    section = page.split(f"## twoturn {name}\n", 1)[1].split("\n## ", 1)[0]
    for param in commands()[name].params:
        for option in param.opts if param.param_type_name == "option" else [param.name.upper()]:
            assert re.search(rf"\| `[^`]*{re.escape(option)}\b[^`]*` \|", section), option
        assert param.help
        assert param.help in section, param.name


def test_every_command_is_told_in_readme_or_on_a_page_of_its_own_and_in_the_changelog() -> None:
    pages = "\n".join(path.read_text(encoding="utf-8") for path in PAGE_FILES if path.name != "command-line.md")
    for name in commands():
        shown = "make demo" if name == "demo" else f"twoturn {name}"
        assert shown in pages, name
        assert f"twoturn {name}" in text_of("CHANGELOG.md"), name


def test_generated_page_and_picture_are_fresh() -> None:
    assert text_of("docs/command-line.md") == command_page()
    assert text_of("docs/pictures/alder-drive.svg") == drive_picture()
    assert {"command-line.md", "pictures/alder-drive.svg"} <= set(PAGES)


def test_every_exit_status_of_the_program_is_told() -> None:
    used = {value for name, value in vars(output).items() if name.startswith("EXIT_")}
    assert used == set(STATUSES)
    told = set(re.findall(r"^\| (\d) \|", text_of("docs/command-line.md"), re.MULTILINE))
    assert told == {str(status) for status in STATUSES}


@pytest.mark.parametrize("path", PAGE_FILES, ids=lambda path: path.name)
def test_every_link_leads_somewhere(path: Path) -> None:
    text = path.read_text(encoding="utf-8")
    for link in [*re.findall(r"\]\(([^)]+)\)", text), *re.findall(r'src="([^"]+)"', text)]:
        assert not re.match(r"[a-z]+:", link), link
        assert (path.parent / link.split("#")[0]).exists(), link


def test_readme_leads_to_every_page() -> None:
    for path in DOCS.glob("*.md"):
        assert f"(docs/{path.name})" in text_of("README.md")


@pytest.mark.parametrize("path", PAGE_FILES, ids=lambda path: path.name)
def test_every_example_of_a_page_is_of_a_kind_that_is_run(path: Path) -> None:
    fences = re.findall(r"^```(\S*)$", path.read_text(encoding="utf-8"), re.MULTILINE)
    assert set(fences[::2]) <= RUN
    assert set(fences[1::2]) <= {""}


def test_pictures_are_small_enough_for_a_slow_line() -> None:
    pictures = list((DOCS / "pictures").iterdir())
    assert pictures
    assert [path.name for path in pictures if path.stat().st_size > LARGEST_PICTURE_BYTES] == []
    png = (DOCS / "pictures" / "alder-proof-sheet.png").read_bytes()
    assert png[:8] == b"\x89PNG\r\n\x1a\n"
    width, height = struct.unpack(">II", png[16:24])
    assert 500 <= width <= 1200
    assert height / width == pytest.approx(297 / 210, rel=0.01)  # A4, ISO 216


def architecture_rows() -> list[tuple[int, str]]:
    rows = re.findall(r"^\| (\d+) \| `([a-z_.]+)` \|", text_of("docs/architecture.md"), re.MULTILINE)
    return [(int(layer), name.removesuffix(".py")) for layer, name in rows]


def test_the_table_of_folders_holds_every_folder_in_the_order_of_the_layers() -> None:
    contract = tomllib.loads(text_of("pyproject.toml"))["tool"]["importlinter"]["contracts"][0]
    layers = [{name.strip() for name in row.split("|")} for row in reversed(contract["layers"])]
    built = [{name for name in layer if not name.startswith("(")} for layer in layers]
    wanted = [layer for layer in built if layer]
    told: dict[int, set[str]] = {}
    for layer, name in architecture_rows():
        told.setdefault(layer, set()).add(name)
    assert [told[layer] for layer in sorted(told)] == wanted
    assert [layer for layer, _ in architecture_rows()] == sorted(layer for layer, _ in architecture_rows())


def test_every_package_folder_is_named_and_every_module_named_is_there() -> None:
    page = text_of("docs/architecture.md")
    packages = [path.parent.relative_to(SOURCE) for path in SOURCE.rglob("__init__.py") if path.parent != SOURCE]
    assert [str(path) for path in packages if f"`{path.as_posix()}`" not in page] == []
    names = {path.name for path in SOURCE.rglob("*.py")} | {path.name for path in SOURCE.rglob("*.toml")}
    for named in re.findall(r"`([\w/]+\.(?:py|toml))`", page):
        found = (SOURCE / named).is_file() or (ROOT / named).is_file() or named in names
        assert found, named


@pytest.fixture(scope="module")
def answers(tmp_path_factory: pytest.TempPathFactory) -> dict[str, dict[str, Any]]:
    """What every command answers with ``--json``, on an invented job."""
    import json

    from tests.docs.examples import twoturn

    from twoturn.acts.drive_files import shipped_drives
    from twoturn.demo.jobs_shipped import JOBS, write_job

    folder = tmp_path_factory.mktemp("answers")
    job = JOBS[0]
    write_job(job, folder / job.id)
    drive = folder / "alder-one-cam.toml"
    drive.write_text(shipped_drives()["alder-one-cam"], encoding="utf-8")
    data = ["--data", str(folder / "shop")]
    asked = {
        "import": [str(folder / job.id), "--by", "Ida Brook (invented)", *data],
        "backup": [str(folder / "backup.zip"), *data],
        "restore": [str(folder / "backup.zip"), "--data", str(folder / "second")],
        "verify": data,
        "export": ["1", str(folder / "out"), *data],
        "bolt": ["M8", "--grade", "8.8", "--torque-nm", "25"],
        "capture": [str(folder / job.id / "as-left.csv"), "--drive", str(drive)],
        "drive": [str(drive)],
        "open": [str(folder / "new"), "--drive", str(drive)],
        "plan": [str(drive)],
        "pluck": [str(folder / job.id / "after-turns.wav")],
        "prove": [str(folder / job.id)],
    }
    assert set(asked) == set(commands()) - {"demo", "serve"}
    found = {}
    for name, arguments in asked.items():
        status, said = twoturn([name, *arguments, "--json"])
        assert status == 0, said
        found[name] = json.loads(said)
    return found


WHERE = {
    "backup": "record.md",
    "bolt": "fasteners.md",
    "capture": "capture.md",
    "drive": "drive-file.md",
    "export": "record.md",
    "import": "record.md",
    "open": "command-line.md",
    "plan": "plan.md",
    "pluck": "pluck.md",
    "prove": "verdicts.md",
    "restore": "record.md",
    "verify": "record.md",
}


@pytest.mark.parametrize("name", WHERE)
def test_every_key_of_an_answer_stands_on_its_page(name: str, answers: dict[str, dict[str, Any]]) -> None:
    page = (DOCS / WHERE[name]).read_text(encoding="utf-8")
    missing = [key for key in answers[name] if not re.search(rf"`[^`\n]*\b{key}\b[^`\n]*`", page)]
    assert missing == []
