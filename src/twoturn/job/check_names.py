"""Names in a job file held against its drive: fasteners, pins, pulleys, spans, belts, steps, entries pointed at."""

from __future__ import annotations

import difflib
import posixpath
from collections.abc import Iterable

from twoturn.drive.faults import FaultList, shown
from twoturn.drive.parts import Drive
from twoturn.job.entries.base import EntryBase
from twoturn.job.entries.found import Photo
from twoturn.job.entries.read import Gauged, Mark, Measured, PinIn, PinOut, Pointer, Twist
from twoturn.job.entries.record import LeftOut, Struck
from twoturn.job.entries.recordings import Capture, Pluck
from twoturn.job.entries.work import AdjusterMoved, BeltData, Loosened, StepDone, TorqueEntry
from twoturn.job.evidence import READING_KINDS
from twoturn.job.file import JobFile
from twoturn.job.order import Timeline
from twoturn.job.places import Places
from twoturn.job.steps import step_numbers
from twoturn.plan.order import CATALOGUE

Key = tuple[str | int, ...]


def check_names(file: JobFile, drive: Drive) -> None:
    """Refuse a job file whose entries name what its drive or its record does not have.

    Parameters
    ----------
    file
        The job file.
    drive
        Its drive.

    Raises
    ------
    FileFaults
        Every such name, in file order.
    """
    faults = FaultList(file.name, file.text)
    checker = _Checker(drive, file.entries, faults)
    for index, entry in enumerate(file.entries):
        checker.check(index, entry)
    faults.raise_if_any()


def may_name_file(name: str) -> bool:
    """Whether a file of a job may have that name; one that leads out of the job's folder may not."""
    plain = posixpath.normpath(name)
    return "\0" not in name and not plain.startswith(("/", "../")) and plain not in (".", "..")


class _Checker:
    """Holds the names of one drive against the entries of one job file."""

    def __init__(self, drive: Drive, entries: tuple[EntryBase, ...], faults: FaultList) -> None:
        self.places = Places(drive)
        self.faults = faults
        self.steps = step_numbers(drive)
        self.entries = entries
        self.timeline = Timeline(entries, self.steps)
        required = {row.at for row in drive.file.requirement if row.quantity in ("torque", "angle") and row.at}
        self.fasteners = {*self.places.fasteners, *required}
        wheels = {*self.places.pulleys, *self.places.shaft_ids}
        self.wheels = wheels
        self.anywhere = {*wheels, *self.places.every_belt, *self.fasteners, *self.places.pins}

    def check(self, index: int, entry: EntryBase) -> None:
        """Note every unknown name of one entry."""
        at: Key = ("entry", index)
        self._step(at, entry)
        self._pointers(at, index, entry)
        if isinstance(entry, Pluck | Capture | Photo) and not may_name_file(entry.file):
            self.faults.add((*at, "file"), shown(entry.file), "the name of a file in the job folder")
        if isinstance(entry, TorqueEntry):
            self._known(
                (*at, "fastener"), set(entry.fastener or ()) - {"all"}, self.fasteners, "a fastener of this drive"
            )
            self._known((*at, "row"), entry.row or (), self.fasteners, "a fastener of this drive")
        elif isinstance(entry, Loosened):
            self._known((*at, "fastener"), entry.fastener, self.fasteners, "a fastener of this drive")
        elif isinstance(entry, PinIn | PinOut):
            pins = {*self.places.pins, *self.places.shaft_ids}
            self._known((*at, "pin"), set(entry.pin) - {"all"}, pins, "a pin or shaft of this drive")
        elif isinstance(entry, Mark):
            self._known((*at, "at"), set(entry.at) - {"all"}, self.wheels, "a pulley or shaft of this drive")
        elif isinstance(entry, Capture):
            edges = entry.reading.edges if entry.reading else ()
            self._known((*at, "cams"), entry.cams or (), self.wheels, "a shaft of this drive")
            self._known((*at, "reading"), {edge.shaft for edge in edges}, self.wheels, "a shaft of this drive")
        else:
            self._where(at, entry)

    def _where(self, at: Key, entry: EntryBase) -> None:
        if isinstance(entry, Pointer | AdjusterMoved):
            known = {*self.places.tensioners, *self.places.every_belt}
            self._known((*at, "at"), [entry.at] if entry.at else (), known, "the pulley of a tensioner")
            if entry.at is None and len(self.places.tensioners) > 1:
                names = ", ".join(f'"{name}"' for name in self.places.tensioners)
                self.faults.add((*at, "at"), "nothing", f"which tensioner, since there are several: {names}")
        elif isinstance(entry, Gauged | Measured | Twist):
            self._place((*at, "at"), entry.at)
        elif isinstance(entry, Pluck):
            self._place((*at, "span"), entry.span)
        elif isinstance(entry, BeltData):
            self._known(
                (*at, "belt"), [entry.belt] if entry.belt else (), self.places.every_belt, "a belt of this drive"
            )
            if entry.kind == "belt fitted" and entry.belt is None and len(self.places.every_belt) > 1:
                names = ", ".join(f'"{name}"' for name in sorted(self.places.every_belt))
                self.faults.add((*at, "belt"), "nothing", f"which belt, since there are several: {names}")

    def _place(self, key: Key, name: str | None) -> None:
        if name is None or self.places.is_place(name):
            return
        if ":" in name:
            spans = [
                f"{one.id}:{other.id}"
                for belt in self.places.drive.belts
                for one, other in zip(belt.pulleys, (*belt.pulleys[1:], belt.pulleys[0]), strict=True)
            ]
            self._known(key, [name], spans, "a span of this drive, from:to")
        elif name not in self.fasteners:
            self._known(key, [name], self.anywhere, "a place of this drive")

    def _known(self, key: Key, names: Iterable[str], known: Iterable[str], what: str) -> None:
        there = list(known)
        for name in names:
            if name in there:
                continue
            near = difflib.get_close_matches(name, there, n=1, cutoff=0.5)
            listed = ", ".join(f'"{one}"' for one in sorted(there)[:12])
            which = f'perhaps "{near[0]}"' if near else (listed or "there is none")
            self.faults.add(key, shown(name), f"{what}: {which}")

    def _step(self, at: Key, entry: EntryBase) -> None:
        named = [("done", entry.done)]
        if isinstance(entry, StepDone):
            named.append(("step", entry.step))
        for key, name in named:
            if name is None or name in self.steps:
                continue
            near = difflib.get_close_matches(name, [*self.steps, *CATALOGUE], n=1, cutoff=0.5)
            other = " (a step that this drive's plan does not have)" if name in CATALOGUE else ""
            right = "a step of this drive's plan" + (f', perhaps "{near[0]}"' if near and not other else other)
            self.faults.add((*at, key), shown(name), right)

    def _pointers(self, at: Key, index: int, entry: EntryBase) -> None:
        if entry.id is not None and self.timeline.number_of[entry.id] != index + 1:
            self.faults.add((*at, "id"), shown(entry.id), "an id of its own: a later entry has the same")
        if entry.replaces is not None:
            self._replaces((*at, "replaces"), index, entry)
        if isinstance(entry, LeftOut):
            for pointed in entry.entry:
                number = self.timeline.find(pointed)
                if number is None or self.entries[number - 1].kind not in READING_KINDS:
                    expected = "the id or number of an entry that holds a reading (what was done cannot be left out)"
                    self.faults.add((*at, "entry"), shown(pointed), expected)

    def _replaces(self, key: Key, index: int, entry: EntryBase) -> None:
        number = self.timeline.find(entry.replaces or 0)
        if number is None or number > index:
            self.faults.add(key, shown(entry.replaces), "the id or number of an entry further up")
            return
        if self.timeline.replaced.get(number) != index + 1:
            expected = f"entry {self.timeline.replaced.get(number)}, which corrected it already"
            self.faults.add(key, shown(entry.replaces), expected)
            return
        old = self.entries[number - 1]
        if old.kind != entry.kind and not isinstance(entry, Struck):
            self.faults.add(key, f'an entry of kind "{old.kind}"', 'a correction of that kind, or kind = "struck out"')
