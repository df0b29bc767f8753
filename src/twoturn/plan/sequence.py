"""The setting sequence of a tensioner: cut at its turns into rounds, and what is read and tightened after them."""

from __future__ import annotations

from dataclasses import dataclass

from twoturn.drive.model.tensioners import SettingStep, Tensioner


@dataclass(frozen=True)
class Round:
    """One round of setting.

    Attributes
    ----------
    acts
        What is done to the tensioner, in order.
    turns
        Turns of the crankshaft by hand that follow [-]; 0 where the sequence gives none.
    """

    acts: tuple[SettingStep, ...]
    turns: float


@dataclass(frozen=True)
class Sequence:
    """A setting sequence as the plan needs it.

    Attributes
    ----------
    rounds
        At least one; after the last one come the turns after which readings count.
    settle_min
        Wait before the final reading [min].
    reads
        What is read after the last turns.
    final
        Fasteners tightened after that reading.
    usual
        True where the drive file gives no sequence and this is the usual one of the kind.
    """

    rounds: tuple[Round, ...]
    settle_min: float
    reads: tuple[str, ...]
    final: tuple[SettingStep, ...]
    usual: bool


USUAL: dict[str, tuple[SettingStep, ...]] = {
    "locked eccentric": (SettingStep(to="target"), SettingStep(hold=True), SettingStep(fastener="")),
    "double eccentric": (SettingStep(to="notch"), SettingStep(hold=True), SettingStep(fastener="")),
    "sprung arm": (SettingStep(pin="out"),),
    "slide": (SettingStep(text="Let the spring push the roller against the belt"),),
    "hydraulic": (SettingStep(pin="out"),),
}
USUAL_READ = {
    "double eccentric": "pointer",
    "sprung arm": "pointer",
    "slide": "pointer",
    "hydraulic": "protrusion",
}


def sequence_of(tensioner: Tensioner) -> Sequence:
    """Cut a tensioner's setting sequence into rounds.

    Parameters
    ----------
    tensioner
        The tensioner as the drive file gives it.

    Returns
    -------
    Sequence
        The rounds, the final readings and what is tightened after them. Turns and waits in it carry their numbers
        ([-] and [min]).

    Notes
    -----
    An act that moves or locks the tensioner after the last turns would leave a reading of a state that was never
    turned (design: resets), so it opens a round of its own; only a fastener that follows the reading is final.
    """
    usual = not tensioner.setting
    acts = list(tensioner.setting) or list(USUAL[tensioner.kind])
    if usual and tensioner.locked_after_setting and tensioner.kind in ("sprung arm", "slide"):
        acts += [SettingStep(turns=2), SettingStep(hold=True), SettingStep(fastener="")]
    rounds: list[Round] = []
    pending: list[SettingStep] = []
    for act in acts:
        if act.turns is None:
            pending.append(act)
            continue
        if pending or not rounds:
            rounds.append(Round(tuple(pending), act.turns))
        else:
            rounds[-1] = Round(rounds[-1].acts, rounds[-1].turns + act.turns)
        pending = []
    moving, tail = _cut_tail(pending, bool(rounds))
    if moving or not rounds:
        rounds.append(Round(tuple(moving), 0.0))
    return _with_tail(tensioner, rounds, tail, usual)


def _cut_tail(acts: list[SettingStep], turned: bool) -> tuple[list[SettingStep], list[SettingStep]]:
    """Part the acts after the last turns into those that move the tensioner and those that only read and then lock."""
    if not turned:
        return acts, []
    cut = len(acts)
    while cut and not _moves(acts[cut - 1]):
        cut -= 1
    tail = acts[cut:]
    first_read = next((at for at, act in enumerate(tail) if act.read or act.wait_min is not None), len(tail))
    leading = tail[:first_read]
    if any(act.fastener is not None for act in leading):
        return acts[: cut + first_read], tail[first_read:]
    return acts[:cut], tail


def _moves(act: SettingStep) -> bool:
    return act.to is not None or act.apply_nm is not None or act.loosen or act.pin is not None or bool(act.way)


def _with_tail(tensioner: Tensioner, rounds: list[Round], tail: list[SettingStep], usual: bool) -> Sequence:
    waits = [act.wait_min for act in tail if act.wait_min is not None]
    reads = [act.read for act in tail if act.read]
    if not reads and tensioner.kind in USUAL_READ:
        reads = [USUAL_READ[tensioner.kind]]
    final = tuple(act for act in tail if act.fastener is not None)
    settle = max([tensioner.settle_min, *waits])
    return Sequence(tuple(rounds), settle, tuple(reads), final, usual)
