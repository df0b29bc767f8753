"""A job file with a fault is answered by one clear sentence: file, line, key, what was found and what is right."""

from __future__ import annotations

from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from typer.testing import CliRunner

from twoturn.acts.job_folder import load_job
from twoturn.errors import FileFaults, TwoTurnError
from twoturn.job.entries.union import KINDS
from twoturn.job.file import read_job

HEAD = 'format = 1\ndrive = "birch-two-cams"\n'
FIRST = '[[entry]]\nkind = "vehicle"\nby = "A"\nentered = 2026-03-02T08:10:00\n'
GOOD = HEAD + FIRST


def entry(kind: str, body: str = "") -> str:
    return GOOD + f'[[entry]]\nkind = "{kind}"\n{body}\n'


EDGE = '{ shaft = "camshaft", edge = "up", angle_deg = 1, u_deg = 1 }'

# name: (text, line at fault, part of the key, part of what would be right)
FAULTS: dict[str, tuple[str, int | None, str, str]] = {
    "empty": ("", None, "file", "job file"),
    "no toml": ("format = 1\ndrive birch\n", 2, "text", "key = value"),
    "no format": ('drive = "birch-two-cams"\n', None, "format", "format = 1"),
    "format of the future": ('format = 2\ndrive = "birch-two-cams"\n', 1, "format", "format = 1"),
    "no drive": ("format = 1\n", None, "drive", "path of the drive file"),
    "drive misspelt": ('format = 1\ndrive = "birch-two-cam"\n', 2, "drive", "birch-two-cams"),
    "unknown head key": (GOOD.replace("drive =", 'verhicle = "x"\ndrive ='), 2, "verhicle", "[[entry]]"),
    "single brackets": (HEAD + '[entry]\nkind = "remark"\n', 3, "entry", "double brackets"),
    "no kind": (GOOD + '[[entry]]\ntext = "x"\n', 7, "entry[2].kind", "one of"),
    "kind misspelt": (entry("torqe"), 8, "entry[2].kind", "torque"),
    "first entry unsigned": (HEAD + '[[entry]]\nkind = "remark"\ntext = "x"\nentered = 2026-03-02\n', 3, "by", "name"),
    "first entry undated": (HEAD + '[[entry]]\nkind = "remark"\ntext = "x"\nby = "A"\n', 3, "entered", "date"),
    "bad date": (GOOD.replace("2026-03-02T08:10:00", '"yesterday"'), 6, "entered", "date and time"),
    "unknown key": (entry("remark", 'text = "x"\ntexr = "y"'), 10, "texr", "text, if that is meant"),
    "missing key": (entry("remark"), 7, "entry[2].text", "a text"),
    "wrong type": (entry("remark", "text = 3"), 9, "entry[2].text", "a text"),
    "decimal comma without marks": (entry("turned", "turns = 2,5"), 9, "turns", "decimal point"),
    "number that is none": (entry("turned", 'turns = "two"'), 9, "turns", "number"),
    "negative turns": (entry("turned", "turns = -2"), 9, "turns", "turns of the crankshaft"),
    "wrong unit": (entry("deflection", 'deflection_mm = "3 N"'), 9, "deflection_mm", "length"),
    "two meanings": (entry("deflection", 'deflection_mm = "1,234"'), 9, "deflection_mm", "number in mm"),
    "infinite": (entry("turned", "turns = inf"), None, "entry[2]", ""),
    "fastener unknown": (entry("loosened", 'fastener = "tensioner nutt"'), 9, "fastener", "tensioner nut"),
    "fastener in a row": (entry("torque", 'row = { nutt = 25 }\ntool = "A"'), 9, "row", "fastener of this drive"),
    "torque without value": (entry("torque", 'fastener = "tensioner nut"'), 7, "set", "to_plan"),
    "torque twice told": (entry("torque", 'fastener = "all"\nset = 25\nto_plan = true'), 10, "set", "to_plan"),
    "stage that is none": (entry("torque", 'fastener = "tensioner nut"\nset = "firm"'), 10, "set", "25 N·m"),
    "pin unknown": (entry("pin in", 'pin = "cranckshaft pin"\nuse = "check"'), 9, "pin", "crankshaft pin"),
    "use of a pin": (entry("pin in", 'pin = "all"\nuse = "look"'), 10, "use", "hold"),
    "mark nowhere": (entry("mark", 'at = "rocker"\nreads = "on"'), 9, "at", "pulley or shaft"),
    "mark said twice": (entry("mark", 'at = "all"\nreads = "on"\noff_mm = 2'), None, "entry[2]", "exactly one"),
    "pointer without how far": (entry("pointer", 'reads = "past"'), 9, "reads", "off_deg"),
    "pointer in a word of its own": (entry("pointer", 'reads = "nearly"'), 9, "reads", "in the notch"),
    "span unknown": (entry("twist", 'at = "crankshaft:moon"\nas_prescribed = true'), 9, "at", "crankshaft:tensioner"),
    "belt unknown": (entry("belt fitted", 'belt = "balance"\nteeth = 71'), 9, "belt", "timing belt"),
    "finding unknown": (entry("finding", 'finding = "oil-leak"'), 9, "finding", "leak-oil"),
    "step unknown": (entry("remark", 'text = "x"\ndone = "set-tensoiner"'), 10, "done", "set-tensioner"),
    "step of another engine": (entry("remark", 'text = "x"\ndone = "static-pump-timing"'), 10, "done", "does not have"),
    "round zero": (entry("remark", 'text = "x"\npass = 0'), 10, "pass", "round"),
    "corrects nothing": (entry("remark", 'text = "x"\nreplaces = "q"'), 10, "replaces", "further up"),
    "corrects a later one": (entry("remark", 'text = "x"\nreplaces = 2'), 10, "replaces", "further up"),
    "corrects another kind": (entry("remark", 'text = "x"\nreplaces = 1'), 10, "replaces", "struck out"),
    "leaves out what was done": (entry("left out", 'entry = 1\nreason = "x"'), 9, "entry", "reading"),
    "leaves out without reason": (entry("left out", "entry = 1"), 7, "reason", "the reason"),
    "same id twice": (GOOD + 2 * '[[entry]]\nkind = "remark"\ntext = "x"\nid = "r"\n', 10, "id", "its own"),
    "tool's range upside down": (entry("tool", 'tool = "A"\nlow_nm = 50\nhigh_nm = 10'), 10, "low_nm", "below"),
    "temperature in a word": (entry("temperature", 'temperature_c = "warmish"'), 9, "temperature_c", "overnight"),
    "temperature of the sun": (entry("temperature", "temperature_c = 5500"), 9, "temperature_c", "temperature such as"),
    "unit missing": (entry("measured", 'quantity = "width"\nvalue = "3 kg"'), 10, "value", "number with its unit"),
    "recording outside": (entry("pluck", 'file = "../a.wav"'), 9, "file", "job folder"),
    "edge in a capture": (
        entry(
            "capture", 'file = "a.csv"\nreading = { edges = [{ shaft = "x", edge = "up", angle_deg = 1, u_deg = 1 }] }'
        ),
        10,
        "edge",
        "rising",
    ),
    "left over from a new job file": (entry("odometer", "km = …"), 9, "entry[2].km", "a distance"),
    "dots as three full stops": (entry("odometer", "km = ..."), 9, "entry[2].km", "instead of the dots"),
    "signed by dots": (GOOD.replace('by = "A"', 'by = "…"'), 5, "entry[1].by", "name of the person, not dots"),
    "signed by a question mark": (GOOD.replace('by = "A"', 'by = "?"'), 5, "entry[1].by", "name of the person"),
    "signed by a blank": (GOOD.replace('by = "A"', 'by = "  "'), 5, "entry[1].by", "name of the person"),
    "a fastener of dots": (entry("loosened", 'fastener = ["..."]'), 9, "fastener", "id of a fastener"),
    "a row of dots": (entry("torque", 'row = { "…" = 25 }\ntool = "A"'), 9, "row", "a row such as"),
    "drive of dots": ('format = 1\ndrive = "…"\n', 2, "drive", "path of the drive file"),
    "drive of bare dots": ("format = 1\ndrive = …\n", 2, "drive", "path of the drive file"),
    "no for false": (entry("moved at end", "moved = no"), 9, "entry[2].moved", "true or false"),
    "day first": (entry("tool", 'tool = "A"\ncalibrated = 01.06.2026'), 10, "calibrated", "2026-06-01, year first"),
    "day first, late": (entry("tool", 'tool = "A"\ncalibrated = 14.10.2025'), 10, "calibrated", "2025-10-14, year"),
    "a month that is none": (entry("tool", 'tool = "A"\ncalibrated = 2026-13-02'), 10, "calibrated", "2026-06-01"),
    "day or month first": (entry("tool", 'tool = "A"\ncalibrated = 06/01/2026'), 10, "calibrated", "a date that"),
    "a space in a number": (entry("odometer", "km = 121 500"), 9, "entry[2].km", "without the space (121500)"),
    "a unit without marks": (entry("protrusion", "protrusion_mm = 8.9 mm"), 9, "protrusion_mm", '"8.9 mm"'),
    "a text without marks": (entry("remark", "text = Anton was here"), 9, "text", "quotation marks around it"),
}


def test_every_placeholder_is_told_at_once() -> None:
    text = entry("odometer", "km = …").replace('by = "A"', "by = … # who")
    note = "[[entry]]\nkind = \"remark\"\nnote = '''\nkm = …\n'''\n"
    with pytest.raises(FileFaults) as caught:
        read_job(text + note + 'text = "x', "job.toml")
    told = [(fault.line, fault.key) for fault in caught.value.faults]
    assert told == [(5, "entry[1].by"), (9, "entry[2].km")], "none inside the note"


def load(text: str, folder: Path) -> None:
    from twoturn.acts.fill_readings import fill_readings

    (folder / "job.toml").write_text(text, encoding="utf-8")
    fill_readings(load_job(folder))


def test_the_good_file_is_good(tmp_path: Path) -> None:
    load(GOOD, tmp_path)


@pytest.mark.parametrize("name", FAULTS)
def test_one_fault_one_sentence(name: str, tmp_path: Path) -> None:
    text, line, key, right = FAULTS[name]
    with pytest.raises(FileFaults) as caught:
        load(text, tmp_path)
    (fault,) = caught.value.faults
    assert fault.file.endswith("job.toml")
    assert line is None or fault.line == line, fault.sentence
    assert key in fault.key, fault.sentence
    assert right in fault.expected, fault.sentence
    assert len(fault.sentence) < 900
    assert "\n" not in fault.sentence


def test_the_command_says_it_on_one_line_and_ends_with_two(tmp_path: Path) -> None:
    import json
    import subprocess
    import sys

    (tmp_path / "job.toml").write_text(FAULTS["kind misspelt"][0], encoding="utf-8")
    plain = [sys.executable, "-c", "from twoturn.cli.main import run; run()", "prove", str(tmp_path)]
    done = subprocess.run(plain, capture_output=True, text=True, check=False)
    assert (done.returncode, done.stdout) == (2, "")
    assert len(done.stderr.strip().splitlines()) == 1
    as_json = subprocess.run([*plain, "--json"], capture_output=True, text=True, check=False)
    assert as_json.returncode == 2
    (row,) = json.loads(as_json.stdout)["errors"]
    assert set(row) == {"file", "line", "key", "found", "expected"}
    assert row["line"] == 8


def test_every_fault_is_told_in_file_order(tmp_path: Path) -> None:
    text = GOOD + "".join(
        FAULTS[name][0][len(GOOD) :] for name in ("unknown key", "number that is none", "kind misspelt")
    )
    with pytest.raises(FileFaults) as caught:
        load(text, tmp_path)
    lines = [fault.line or 0 for fault in caught.value.faults]
    assert len(lines) == 3
    assert lines == sorted(lines)


def test_nothing_entered_is_changed_by_a_refusal(tmp_path: Path) -> None:
    text = FAULTS["unknown key"][0]
    with pytest.raises(FileFaults):
        load(text, tmp_path)
    assert (tmp_path / "job.toml").read_text(encoding="utf-8") == text
    assert [path.name for path in tmp_path.iterdir()] == ["job.toml"]


def test_no_folder_and_no_job_in_it(tmp_path: Path) -> None:
    from twoturn.cli.main import app

    for folder in (tmp_path, tmp_path / "nowhere"):
        result = CliRunner().invoke(app, ["prove", str(folder)])
        assert isinstance(result.exception, FileFaults)


VALUES = st.recursive(
    st.booleans()
    | st.integers(-(10**20), 10**20)
    | st.floats()
    | st.text(max_size=12)
    | st.sampled_from(["all", "nut", "on", "25 N·m", "90°", "2 turns", "overnight", "check", "2026-03-02"]),
    lambda inner: st.lists(inner, max_size=3) | st.dictionaries(st.text(max_size=5), inner, max_size=3),
    max_leaves=5,
)
KEYS = st.sampled_from(
    sorted({key for model in KINDS.values() for key in model.model_fields} | {"pass", "class", "except", "x"})
)


def as_toml(value: object) -> str:
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, int | float):
        return repr(value)
    if isinstance(value, str):
        return (
            '"'
            + "".join(f"\\u{ord(c):04X}" if not (c.isalnum() and c.isascii()) and ord(c) < 65536 else c for c in value)
            + '"'
        )
    if isinstance(value, list):
        return "[" + ", ".join(as_toml(item) for item in value) + "]"
    assert isinstance(value, dict)
    return "{" + ", ".join(f"{as_toml(key)} = {as_toml(item)}" for key, item in value.items()) + "}"


def read_or_refused(text: str) -> None:
    """Every text is a job file, or is refused in whole sentences; nothing else may happen."""
    try:
        read_job(text, "job.toml")
    except TwoTurnError as error:
        sentence = error.sentence
    else:
        sentence = "."
    assert sentence.endswith(".")


@settings(max_examples=150, deadline=None)
@given(st.lists(st.tuples(st.sampled_from(sorted(KINDS)), st.dictionaries(KEYS, VALUES, max_size=4)), max_size=3))
def test_any_entries_are_read_or_refused_in_words(rows: list[tuple[str, dict[str, object]]]) -> None:
    text = GOOD
    for kind, keys in rows:
        lines = [f"{key} = {as_toml(value)}" for key, value in keys.items() if key != "kind"]
        text += "\n".join(["[[entry]]", f'kind = "{kind}"', *lines, ""])
    read_or_refused(text)


@settings(max_examples=150, deadline=None)
@given(st.text(max_size=60), st.integers(0, len(GOOD)), st.integers(0, 12))
def test_any_damage_to_a_file_is_read_or_refused_in_words(noise: str, at: int, cut: int) -> None:
    read_or_refused(GOOD[:at] + noise + GOOD[at + cut :])


@settings(max_examples=100, deadline=None)
@given(st.lists(st.tuples(st.sampled_from(sorted(KINDS)), st.dictionaries(KEYS, VALUES, max_size=5)), max_size=6))
def test_whatever_can_be_read_can_be_judged(rows: list[tuple[str, dict[str, object]]]) -> None:
    from tests.job.paper_jobs import WHEN, engine

    from twoturn.job.assess import assess

    entries = []
    for kind, keys in rows:
        try:
            entries.append(KINDS[kind].model_validate({**keys, "kind": kind, "by": "A", "entered": WHEN}))
        except ValueError:
            continue
    assert assess(engine("elder-balance-shafts"), entries).verdict.value != "proven"
