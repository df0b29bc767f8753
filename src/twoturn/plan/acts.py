"""The acts of setting a tensioner in words: what is turned, which way, as far as what, held by whom."""

from __future__ import annotations

from dataclasses import dataclass

from twoturn.drive.model.tensioners import DoubleEccentric, LockedEccentric, SettingStep, Slide, Tensioner
from twoturn.plan.facts import Facts
from twoturn.plan.wording import SEEN, capital, clock_face, fastener_words
from twoturn.words.numbers import plain, pointer_words, turns_words
from twoturn.words.terms import other_way

MOVED = {
    "locked eccentric": "the roller's eccentric",
    "double eccentric": "the setting eccentric",
    "sprung arm": "the arm",
    "slide": "the roller on its slide",
    "hydraulic": "the arm",
}

HOLD_CAUTIONS = {"locked eccentric": "hold-eccentric", "double eccentric": "hold-adjuster"}


def tightening_way(tensioner: Tensioner) -> str:
    """The way in which the part that is set by hand tightens the belt; empty where the drive file does not say.

    The setting eccentric of an automatic roller follows ``adjust_turns``, a fixed roller or an arm ``tightens``, a
    slide its direction as a place on a clock face.
    """
    if isinstance(tensioner, DoubleEccentric):
        return tensioner.adjust_turns or ""
    if isinstance(tensioner, Slide):
        return "" if tensioner.tightens_deg is None else f"towards {clock_face(tensioner.tightens_deg)}"
    return tensioner.tightens or ""


def easing_way(tensioner: Tensioner) -> str:
    """The way that slackens the belt; empty where the drive file does not say."""
    if isinstance(tensioner, Slide):
        return "" if tensioner.tightens_deg is None else f"towards {clock_face(tensioner.tightens_deg + 180)}"
    way = tightening_way(tensioner)
    return other_way(way) if way else ""


@dataclass
class _Teller:
    """Tells acts one after the other; remembers where the tensioner stands and whether it is being held."""

    facts: Facts
    tensioner: Tensioner
    at: str | float | None = None
    held: bool = False
    target: str = ""

    def tell(self, act: SettingStep) -> str:
        if act.hold and act.fastener is None:
            self.held = True
            return act.text or ""
        said = capital(self._said(act))
        return f"{said} ({act.text})" if act.text and said != capital(act.text) else said

    def _said(self, act: SettingStep) -> str:
        if act.to is not None:
            return self._move(act)
        if act.fastener is not None:
            return self._fasten(act)
        if act.pin is not None:
            return self._pin(act.pin)
        return self._plain(act)

    def _plain(self, act: SettingStep) -> str:
        if act.turns is not None:
            return f"Turn the crankshaft {turns_words(act.turns)} {self.facts.turn_way} by hand"
        if act.apply_nm is not None:
            way = act.way or tightening_way(self.tensioner) or "the tightening way"
            return f"Apply {plain(act.apply_nm, 2)} N·m {way} to {MOVED[self.tensioner.kind]} with a torque wrench"
        if act.wait_min is not None:
            return f"Wait {plain(act.wait_min)} min"
        if act.read is not None:
            return f"Read the {act.read} and write it down"
        if act.way is not None:
            return f"Turn {MOVED[self.tensioner.kind]} {act.way}, {SEEN}"
        return act.text or ""

    def _move(self, act: SettingStep) -> str:
        way = act.way or self._way_to(act.to)
        came, self.at = self.at, act.to
        verb = "Push" if isinstance(self.tensioner, Slide) else "Turn"
        if came == "maximum" and act.to != "maximum":
            verb = "Now ease back: turn"
        turned = f" {way}" if way else " the way the vehicle maker shows"
        seen = "" if isinstance(self.tensioner, Slide) else f", {SEEN},"
        return f"{verb} {MOVED[self.tensioner.kind]}{turned}{seen} until {self._goal(act.to)}"

    def _way_to(self, to: str | float | None) -> str:
        """Ways to turn: tightening, save back from the maximum or down to the minimum."""
        back = to == "minimum" or (self.at == "maximum" and to != "maximum")
        return easing_way(self.tensioner) if back else tightening_way(self.tensioner)

    def _goal(self, to: str | float | None) -> str:
        if to == "notch":
            return "the pointer stands in the notch"
        if to == "maximum":
            return "the pointer is at the end of its travel (greatest tension)"
        if to == "minimum":
            return "the pointer is at its rest stop (least tension)"
        if to == "target":
            return self.target or "the vehicle maker's tension is reached (no value in this drive file)"
        if isinstance(to, str):
            return f"it stands at {_place(to)}"
        return f"the pointer stands {pointer_words(float(to or 0.0))}"

    def _fasten(self, act: SettingStep) -> str:
        fastener = self.facts.named_by(act, self.tensioner)
        name = f"the {fastener.id}" if fastener else f"the {act.fastener}" if act.fastener else "its fastener"
        holding = f"Hold {MOVED[self.tensioner.kind]} still and " if self.held or act.hold else ""
        self.held = False
        if act.loosen:
            said = f"{holding}loosen {name} just enough to move it"
        elif act.light:
            said = f"{holding}nip up {name}: it holds, yet the part can still be moved"
        else:
            value = fastener_words(fastener) if fastener else "to the vehicle maker's value"
            said = f"{holding}tighten {name}: {value}"
        return said

    def _pin(self, where: str) -> str:
        if self.tensioner.kind == "hydraulic":
            return "Draw the ram's pin out straight; keep it" if where == "out" else "Pin the ram"
        if where == "out":
            sprung = "" if self.tensioner.kind == "locked eccentric" else "; the spring now sets the belt"
            return f"Draw the tensioner's pin out{sprung}"
        return "Pin the tensioner"


def _place(to: str) -> str:
    """A place that the drive file names in its own words: ``mark`` becomes ``the mark``, ``mark B`` stays."""
    return f"the {to}" if to.isalpha() and to.islower() else to


def tell(
    facts: Facts,
    tensioner: Tensioner,
    acts: tuple[SettingStep, ...],
    start: str | float | None = None,
    target: str = "",
) -> list[str]:
    """Acts in words, one sentence each, ``hold`` merged into the tightening that follows it.

    Parameters
    ----------
    facts, tensioner
        Whose acts they are.
    acts
        The acts of one round.
    start
        Where the tensioner stood before them: a name, or a pointer [°].
    target
        How the step tells that the tension asked for is reached; empty where it prints no value for it.

    Returns
    -------
    list of str
        Sentences with a full stop.
    """
    teller = _Teller(facts, tensioner, at=start, target=target)
    said = [teller.tell(act) for act in acts]
    if teller.held:
        said.append(f"Hold {MOVED[tensioner.kind]} still")
    return [sentence.rstrip(".") + "." for sentence in said if sentence]


def last_position(acts: tuple[SettingStep, ...], start: str | float | None = None) -> str | float | None:
    """Where the acts leave the tensioner: the last ``to`` (a name, or a pointer [°])."""
    return next((act.to for act in reversed(acts) if act.to is not None), start)


def is_fixed(tensioner: Tensioner) -> bool:
    """Whether the belt's length is fixed once set, so that the engine must be cold when it is set."""
    return isinstance(tensioner, LockedEccentric) or tensioner.locked_after_setting
