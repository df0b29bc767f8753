"""Analyses of recordings that go on or are done: kept while the bench runs, never in the record.

What is accepted becomes an entry; after a restart the recordings are still there, to be looked at anew.
"""

from __future__ import annotations

import asyncio
import json
import logging
import secrets
import tempfile
from collections import OrderedDict
from contextlib import suppress
from dataclasses import dataclass, field
from pathlib import Path
from typing import TYPE_CHECKING, Any

from twoturn.errors import TwoTurnError
from twoturn.web.refused import Refused
from twoturn.web.workers import Workers

if TYPE_CHECKING:
    from twoturn.acts.shop.entries import Added
    from twoturn.acts.shop.people import Actor
    from twoturn.acts.shop.recordings import Analysed, Recording
    from twoturn.acts.shop.shop import Shop

LOG = logging.getLogger("twoturn.web")
MOST_WAITING = 30
MOST_KEPT = 300
SLIP = "the bench made a mistake with this recording; it is kept: try again, or send another one"


@dataclass
class Analysis:
    """One analysis.

    Attributes
    ----------
    id, job_id
        Its own id, and the job.
    recording
        What is analysed.
    title, asked
        Title and id of the question it answers.
    by
        Who asked for it.
    share_file
        Where the worker writes the share done.
    answer
        What it gave; None while it goes on, or where it broke off.
    broken
        Why it broke off; empty where it did not.
    entered, unentered
        Number of its entry once it is accepted, or of the remark that says why it is not; None before.
    """

    id: str
    job_id: int
    recording: Recording
    title: str
    asked: str
    by: str
    share_file: Path
    answer: Analysed | None = None
    broken: str = ""
    entered: int | None = None
    unentered: int | None = None
    task: asyncio.Task[None] | None = field(default=None, repr=False)

    @property
    def file(self) -> str:
        """Name of the recording."""
        return str(self.recording.row["file"])

    @property
    def going_on(self) -> bool:
        """Whether it is not done yet."""
        return self.answer is None and not self.broken

    @property
    def kind(self) -> str:
        """Kind of the entry: ``pluck`` or ``capture``."""
        return str(self.recording.row["kind"])

    @property
    def share(self) -> float:
        """The share done [-]; 0 while it waits."""
        if not self.going_on:
            return 1.0
        with suppress(OSError, ValueError):
            return min(1.0, max(0.0, float(self.share_file.read_text(encoding="ascii"))))
        return 0.0

    def as_json(self) -> dict[str, Any]:
        """Where it stands; once it is done, what it gave."""
        return {
            "id": self.id,
            "job": self.job_id,
            "file": self.file,
            "title": self.title,
            "url": f"/jobs/{self.job_id}/recordings/{self.id}",
            "state": "going on" if self.going_on else "broken" if self.broken else "done",
            "share": self.share,
            "broken": self.broken or None,
            "answer": None if self.answer is None else self.answer.as_json(),
            "entry": self.entered,
        }


class Analyses:
    """All analyses of a bench that runs."""

    def __init__(self, workers: Workers) -> None:
        self._workers = workers
        self._held: OrderedDict[str, Analysis] = OrderedDict()
        self._folder: tempfile.TemporaryDirectory[str] | None = None

    def begin(self, job_id: int, recording: Recording, title: str, asked: str, by: str) -> Analysis:
        """Begin an analysis; one of the same recording for the same question in the same state of the job is kept.

        Raises
        ------
        Refused
            503, too many wait already.
        """
        same = next((one for one in self._held.values() if _alike(one, job_id, recording)), None)
        if same is not None:
            return same
        if sum(one.going_on for one in self._held.values()) >= MOST_WAITING:
            raise Refused(
                503, f"{MOST_WAITING} recordings wait to be analysed already", next_step="try again in a minute"
            )
        if self._folder is None:
            self._folder = tempfile.TemporaryDirectory(prefix="twoturn-analyses-")
        number = secrets.token_hex(8)
        made = Analysis(number, job_id, recording, title, asked, by, Path(self._folder.name) / number)
        self._held[number] = made
        made.task = asyncio.get_running_loop().create_task(self._run(made))
        self._forget()
        return made

    def one(self, job_id: int, number: str) -> Analysis:
        """The analysis of that id.

        Raises
        ------
        Refused
            404, it was never there or is gone since the bench was started anew.
        """
        found = self._held.get(number)
        if found is None or found.job_id != job_id:
            raise Refused(
                404,
                "this analysis is not there any more; the recording is",
                next_step="open the job's recordings and look at it again",
            )
        return found

    def of_job(self, job_id: int) -> tuple[Analysis, ...]:
        """Analyses of a job, the newest first."""
        return tuple(one for one in reversed(self._held.values()) if one.job_id == job_id)

    def before(self, one: Analysis) -> int:
        """How many are analysed before it [-]."""
        waiting = [other for other in self._held.values() if other.going_on]
        return waiting.index(one) if one in waiting else 0

    def close(self) -> None:
        """Break off what goes on."""
        for one in self._held.values():
            if one.task is not None:
                one.task.cancel()
        if self._folder is not None:
            self._folder.cleanup()
            self._folder = None

    async def _run(self, one: Analysis) -> None:
        from twoturn.acts.shop.recordings import analyse

        try:
            one.answer = await self._workers.run(analyse, one.recording, str(one.share_file))
        except TwoTurnError as error:
            one.broken = f"{error.sentence[:1].upper()}{error.sentence[1:]}"
        except Exception as error:  # the last net: a person is never shown the inside of a slip
            LOG.error("slip in the analysis of %s", one.file, exc_info=error)
            one.broken = f"{SLIP[:1].upper()}{SLIP[1:]}."
        finally:
            one.share_file.unlink(missing_ok=True)

    def _forget(self) -> None:
        """Let the oldest go that are done."""
        done = [number for number, one in self._held.items() if not one.going_on]
        for number in done[: max(0, len(self._held) - MOST_KEPT)]:
            del self._held[number]


def accepted(shop: Shop, actor: Actor, one: Analysis) -> Added:
    """Put the reading of an analysis into its job as an entry; accepted twice it is entered once. Writes: in a thread.

    Raises
    ------
    Refused
        422, it gave no reading.
    """
    from twoturn.acts.shop.entries import add_entries

    if one.answer is None or one.answer.row is None:
        raise Refused(422, "this recording gave no reading that could be entered", next_step="record it again")
    added = add_entries(shop, actor, one.job_id, [one.answer.row], f"recording {one.id}")
    one.entered = added.first
    return added


def put_aside(shop: Shop, actor: Actor, one: Analysis, reason: str) -> None:
    """Make a recording again: of one that gave a reading the reason goes on record. Writes: in a thread.

    Raises
    ------
    TwoTurnError
        There is no reason.
    """
    from twoturn.acts.shop.recording_asked import leave_unentered

    if one.answer is not None and one.answer.row is not None and one.entered is None:
        added = leave_unentered(shop, actor, one.job_id, one.answer, reason, f"unentered {one.id}")
        one.unentered = added.first


def _alike(one: Analysis, job_id: int, recording: Recording) -> bool:
    """Whether an analysis is of the same recording, told the same, with the same entries before it."""
    if one.broken or one.entered or one.unentered or one.job_id != job_id:
        return False
    return len(one.recording.rows) == len(recording.rows) and _own(one.recording) == _own(recording)


def _own(recording: Recording) -> str:
    row = {key: value for key, value in recording.row.items() if key not in ("entered", "by")}
    return json.dumps(row, sort_keys=True, default=str)
