"""Entries added to a job of the record: understood, signed, and written once for each key."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import timedelta
from typing import TYPE_CHECKING, Any

from twoturn.acts.shop.jobs import HeldJob, held_job, job_words
from twoturn.acts.shop.known import note_air
from twoturn.acts.shop.people import Actor, allow
from twoturn.acts.shop.shop import Shop
from twoturn.drive.faults import shown
from twoturn.errors import Fault, FileFaults, TwoTurnError
from twoturn.job.check_names import check_names
from twoturn.job.file import JobFile
from twoturn.job.rows import job_of_rows
from twoturn.store.faults import KeyReused
from twoturn.store.records import entries as sent
from twoturn.store.records import jobs as kept
from twoturn.words.numbers import list_words

if TYPE_CHECKING:
    from sqlalchemy import Connection

    from twoturn.store.records.entries import Appended

MOST_ROWS = 400
"""Entries in one sending [-]."""
LONGEST_KEY = 200
LEADS_ALONE = frozenset({"override"})
"""Kinds of entry that only a lead makes."""
LATE = timedelta(minutes=30)
"""From when on an entry that came later than it was typed is marked as late."""
AHEAD = timedelta(minutes=5)
"""By how much a device's clock may run ahead before its entries are marked."""


class KeyMissing(TwoTurnError):  # noqa: N818 - it says what is the matter
    """A sending came without its key."""


class OthersFirst(TwoTurnError):  # noqa: N818 - it says what is the matter
    """Entries that hold only for the record as it was known, and others came first; nothing was written."""

    def __init__(self, others: Sequence[sent.Entry]) -> None:
        kinds = list_words(list(dict.fromkeys(f"{one.content.get('kind')} by {one.by}" for one in others)))
        super().__init__(
            f"others made an entry at the same moment, so nothing was entered: {kinds}",
            next_step="look at the page again, then do it once more",
        )


@dataclass(frozen=True)
class Added:
    """What became of a sending.

    Attributes
    ----------
    first, count
        Number of its first entry, and how many they are.
    repeated
        It had been written before; nothing was written again.
    others
        Entries of other people that came between the last one the page knew and these.
    reopened
        The job had been closed; it is open again.
    """

    first: int
    count: int
    repeated: bool
    others: tuple[sent.Entry, ...]
    reopened: bool = False

    def as_json(self) -> dict[str, Any]:
        """Keys ``first``, ``count``, ``repeated``, ``others``, ``reopened``."""
        others = [{"number": one.number, "kind": one.content.get("kind"), "by": one.by} for one in self.others]
        return {
            "first": self.first,
            "count": self.count,
            "repeated": self.repeated,
            "others": others,
            "reopened": self.reopened,
        }


def add_entries(
    shop: Shop,
    actor: Actor,
    job_id: int,
    rows: Sequence[Mapping[str, Any]],
    key: str,
    after: int | None = None,
    *,
    waited_s: float = 0.0,
    alone: bool = False,
) -> Added:
    """Add entries to a job, all of them or none, once for each key.

    Parameters
    ----------
    shop, actor
        The record, and who stands for the entries.
    job_id
        Of which job.
    rows
        The entries as a job file holds them; who and when are filled in where they say neither.
    key
        Key of the sending, made by the sender: the same again writes nothing and gives the first answer.
    after
        Number of the last entry that the sender knew, to be told of others that came meanwhile.
    waited_s
        How long they have waited on the device before they were sent [s]: so much earlier they were typed.
    alone
        They hold only for the record as the sender knew it: where others came after ``after``, nothing is written.

    Raises
    ------
    OthersFirst
        With ``alone``: others made an entry in the meantime.
    KeyMissing, KeyReused, KeyInFlight
        No key; one used for something else; one whose sending is being written at this moment.
    NotAllowed
        The role is too low for an entry of that kind.
    FileFaults
        Every fault of the rows; keys such as ``entry[3].km`` count from the first entry of the job.
    """
    _check_sending(actor, rows, key)
    sending = _Sending(rows, key, after, shop.local_text(waited_s), alone)
    with shop.sending.claim(key):
        before = _before(shop, job_id, key)
        try:
            return _add(shop, actor, job_id, sending, before)
        except KeyReused:
            meanwhile = _before(shop, job_id, key)
            if before is not None or meanwhile is None:
                raise
            return _add(shop, actor, job_id, sending, meanwhile)  # another server of the record has just written it


@dataclass(frozen=True)
class _Sending:
    """Rows, their key, the last entry the sender knew, when they were typed, and whether they hold only after it."""

    rows: Sequence[Mapping[str, Any]]
    key: str
    after: int | None
    typed: str
    alone: bool


def _before(shop: Shop, job_id: int, key: str) -> tuple[sent.Entry, ...] | None:
    with shop.reading() as connection:
        return sent.of_key(connection, job_id, key)


def _add(shop: Shop, actor: Actor, job_id: int, sending: _Sending, before: Sequence[sent.Entry] | None) -> Added:
    held = held_job(shop, job_id)
    texts = [_signed(sending.typed, actor, row, before, at) for at, row in enumerate(sending.rows)]
    new = () if before is not None else understand(held, texts).entries[len(held.file.entries) :]
    with shop.writing() as connection:
        now = shop.now()
        appended = sent.append(connection, job_id, texts, sending.key, actor.name, now, after=sending.after)
        if sending.alone and appended.others and not appended.repeated:
            raise OthersFirst(appended.others)
        done = _settled(connection, held, texts, appended)
        if not done.repeated:
            note_air(connection, new, now.astimezone().date())
        return done


def understand(held: HeldJob, rows: Sequence[Mapping[str, Any]]) -> JobFile:
    """The job with further entries, held against the rules of entries and the names of its drive.

    Raises
    ------
    FileFaults
        Every fault of these rows; what stood in the record before is not faulted again.
    """
    file = job_of_rows(rows, job_words(held.row), held.drive.name, before=held.file)
    try:
        check_names(file, held.drive)
    except FileFaults as error:
        first = len(held.file.entries)
        new = [fault for fault in error.faults if _number(fault) > first]
        if new:
            raise FileFaults(new) from None
    return file


def _number(fault: Fault) -> int:
    """Number of the entry that a fault is of; 0 where it is of none."""
    digits = fault.key.removeprefix("entry[").partition("]")[0]
    return int(digits) if digits.isdigit() else 0


def _check_sending(actor: Actor, rows: Sequence[Mapping[str, Any]], key: str) -> None:
    allow(actor, "enter")
    if not 0 < len(key) <= LONGEST_KEY or not key.isprintable():
        raise KeyMissing(
            "this sending has no key of its own" if not key else "the key of this sending cannot be used",
            allowed=f"1 to {LONGEST_KEY} letters or digits, new for each sending",
            next_step="send it again from the page",
        )
    if not 0 < len(rows) <= MOST_ROWS:
        raise TwoTurnError(f"{len(rows)} entries came in one sending", allowed=f"1 to {MOST_ROWS}")
    for row in rows:
        if isinstance(row, Mapping) and (
            row.get("kind") in LEADS_ALONE or (row.get("kind") == "signed" and row.get("role") == "lead")
        ):
            allow(actor, "lead")
        if isinstance(row, Mapping) and row.get("kind") == "signed":
            allow(actor, "hand over")


def _signed(typed: str, actor: Actor, row: Any, before: Sequence[sent.Entry] | None, at: int) -> Any:
    """A row with who and when; a sending that comes again gets the moment that it got the first time."""
    if not isinstance(row, Mapping):
        return row
    said = row.get("by")
    if said is not None and said != actor.name:
        raise TwoTurnError(
            f"an entry says it is by {shown(said)}, but {actor.name} sends it",
            next_step="sign in as the one who stands for it",
        )
    moment = row.get("entered")
    if moment is None:
        again = before is not None and at < len(before)
        moment = before[at].content.get("entered") if before is not None and again else typed
    return {**row, "by": actor.name, "entered": moment}


def _settled(connection: Connection, held: HeldJob, rows: Sequence[Any], done: Appended) -> Added:
    """What became of a sending, once it is held against what others wrote and a closed job is open again."""
    if not done.repeated and done.first != held.row.entries + 1:
        _hold_against_others(connection, held, rows, done.first)
    reopened = False
    if not done.repeated and kept.job(connection, held.row.id).closed_at is not None:
        kept.reopen(connection, held.row.id)
        reopened = True
    return Added(done.first, len(done.entries), done.repeated, done.others, reopened)


def _hold_against_others(connection: Connection, held: HeldJob, rows: Sequence[Any], first: int) -> None:
    """Hold the rows against what others wrote in the meantime as well; a fault takes the whole sending back."""
    between = sent.entries(connection, held.row.id, start=held.row.entries + 1, end=first - 1)
    name = job_words(held.row)
    file = job_of_rows([one.content for one in between], name, held.drive.name, before=held.file)
    grown = HeldJob(
        held.row, held.vehicle, held.drive_name, held.drive_id, held.drive, file, (*held.entries, *between), held.sha256
    )
    understand(grown, rows)


def marks_of(entry: sent.Entry) -> tuple[str, ...]:
    """What must be said of an entry's times: typed long before it came, a clock ahead or set back."""
    said = []
    if entry.clock_back:
        said.append("this computer's clock was set back before it came")
    typed = entry.entered
    if typed is not None:
        came = entry.received.astimezone().replace(tzinfo=None) if typed.tzinfo is None else entry.received
        gap: timedelta = came - typed
        if gap > LATE:
            said.append(f"came {_long(gap)} after it was typed")
        elif gap < -AHEAD:
            said.append("the device's clock ran ahead")
    return tuple(said)


def _long(gap: timedelta) -> str:
    minutes = int(gap.total_seconds() // 60)
    if minutes < 120:
        return f"{minutes} minutes"
    return f"{minutes // 60} hours" if minutes < 48 * 60 else f"{minutes // 1440} days"
