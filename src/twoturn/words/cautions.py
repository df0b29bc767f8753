"""The usual cautions of belt work, by id: shown where the step is taken.

Common practice of the trade. They never replace the vehicle maker's procedure and values, local law or licensed
practice. Belts that run in oil reverse some of them: those carry a second sentence.
"""

from __future__ import annotations

from dataclasses import dataclass
from difflib import get_close_matches
from typing import Final

DEFERENCE: Final[str] = (
    "The vehicle maker's procedure and values come first; this sheet does not replace them. "
    "Local law and licensed practice decide."
)


@dataclass(frozen=True)
class Caution:
    """One caution.

    Attributes
    ----------
    id
        Its slug, kept for ever.
    text
        The sentence a person reads.
    in_oil
        The sentence for a belt that runs in oil, where it differs; None where it is the same.
    """

    id: str
    text: str
    in_oil: str | None = None


_ALL: Final[tuple[Caution, ...]] = (
    Caution("battery-off", "Take the 12 V battery off and keep the key away before anything is opened."),
    Caution(
        "high-voltage",
        "High voltage kills: only a qualified person isolates it, locks it off and proves it dead, "
        "by the vehicle maker's procedure.",
    ),
    Caution("stop-start", "The engine may start by itself: key out of range, bonnet open, battery off."),
    Caution("engine-cold", "Work on a cold engine: set cold values only after it has stood four hours or overnight."),
    Caution("hot-parts", "Hot parts and hot coolant scald: let the engine cool before you open anything."),
    Caution("rotating-parts", "Keep hands, sleeves and leads clear of the fan, belts and all that turns."),
    Caution("fan-may-start", "An electric fan can start with the engine off: unplug it or take the battery off."),
    Caution("chocks-and-stands", "Chock the wheels and put the vehicle on stands; never work under a jack alone."),
    Caution(
        "support-engine",
        "Support the engine before the mount comes off: never on the bare sump, and never with a hand beneath it.",
    ),
    Caution("eye-protection", "Wear eye protection: springs, clips and debris fly."),
    Caution("coolant-poison", "Coolant is poisonous: catch all of it and keep it from children and animals."),
    Caution(
        "fuel-pressure",
        "Never open a line of a running or just stopped diesel: fuel under pressure enters the skin. "
        "Wait as the vehicle maker says, then open slowly under a cloth.",
    ),
    Caution("fuel-clean", "Cap every opened fuel line at once: dirt ruins the pump and the injectors."),
    Caution("fuel-fire", "No flame, spark or hot lamp near open fuel."),
    Caution("do-not-crank", "The belt is broken or has jumped: do not crank the engine, not even once."),
    Caution("part-set-complete", "Strip nothing until the set of parts is complete and is the right one."),
    Caution(
        "turn-at-crank",
        "Turn the engine only at the crankshaft bolt, by hand, gearbox in neutral; never by a camshaft.",
    ),
    Caution("never-backwards", "Never turn the crankshaft against its running direction with the belt on."),
    Caution(
        "hard-stop",
        "A hard stop is a stop: turn no further, find out what touches.",
    ),
    Caution(
        "overshot",
        "Turned past the mark: do not turn back, go round again in the running direction.",
    ),
    Caution(
        "firing-or-overlap",
        "Marks can agree at overlap too: make sure that cylinder 1 is at firing TDC, with both its valves shut.",
    ),
    Caution(
        "hold-crank-not-by-pin",
        "Never hold the crankshaft by the belt or by a locking pin while its bolt is loosened or tightened.",
    ),
    Caution("pins-carry-no-torque", "Locking pins place a shaft; they carry no torque. Hold the hub with its holder."),
    Caution("pin-not-forced", "A pin goes in by hand. If it does not, move the shaft a few degrees; never force it."),
    Caution(
        "pin-is-the-check",
        "Here the pin is the check: by hand, without force, and move no shaft to make it fit. "
        "A pin that does not go in is the answer.",
    ),
    Caution("pins-counted", "Count the pins in and count them out: starting with a pin in destroys the engine."),
    Caution("tools-counted", "Count the tools again before the engine is cranked."),
    Caution(
        "friction-joint",
        "The sprocket is held by friction alone: once its bolt is loose the timing is lost until it is set again.",
    ),
    Caution("left-hand-thread", "Left-hand thread: it loosens clockwise."),
    Caution(
        "damper-ring", "The damper's outer ring can slip on its rubber: trust the sprocket's mark, not the ring's."
    ),
    Caution("springy-cams", "A springy camshaft snaps round when the belt leaves it: hold it, and keep fingers away."),
    Caution("spring-energy", "The tensioner's spring is loaded: let it off slowly, with the tool fully seated."),
    Caution(
        "ram-slow", "Press the ram in slowly, standing upright, then pin it; pressed fast or lying down it takes air."
    ),
    Caution(
        "valves-meet-pistons", "Valves can meet pistons: with the belt off turn no shaft before the crank is off TDC."
    ),
    Caution("belt-off-stays", "With the belt off, crankshaft and camshafts stay where they are."),
    Caution(
        "no-oil",
        "No oil, grease, coolant or solvent on the belt, nor on what it runs over; wipe the sprockets dry.",
        "This belt runs in oil: use only the oil the vehicle maker names, no solvent, and nothing that leaves lint.",
    ),
    Caution(
        "leak-first",
        "Cure every leak before the new belt goes on: wiped off, it comes back and softens the belt.",
        "Look for swelling, measure the belt's width with the gauge, and check the oil for fuel and the strainer "
        "for debris before the new belt goes on.",
    ),
    Caution("no-lever", "Never lever a belt on: it bruises teeth and cuts cords that break later."),
    Caution(
        "no-folding", "Do not fold, twist or turn a belt inside out, nor bend it tighter than its smallest sprocket."
    ),
    Caution(
        "clean-hands", "Clean, dry hands for the new belt; leave it in its packet until then.", "Clean hands, no lint."
    ),
    Caution("no-reuse", "Do not refit a used belt; the old one is kept as evidence until the work is proven."),
    Caution("single-use", "Single-use bolts and nuts are renewed; they are stretched or coated once."),
    Caution(
        "dry-threads", "Threads dry or oiled, as the vehicle maker says; oil where dry is meant overstretches the bolt."
    ),
    Caution("hold-adjuster", "Hold the setting eccentric while its nut is tightened, or the nut drags the pointer."),
    Caution("adjust-right-way", "Turn the setting eccentric the way shown; the other way reaches the notch falsely."),
    Caution("hold-eccentric", "Hold the roller's eccentric while its fastener is tightened, or it turns along."),
    Caution(
        "eccentric-right-way", "Turn the roller's eccentric the way shown; the other way it tightens on the wrong side."
    ),
    Caution("tang-seated", "The tensioner's tang must sit in its seat: else the belt is slack within minutes."),
    Caution("not-warm", "Do not set a fixed roller on a warm engine: cold, the belt would be slack."),
    Caution(
        "slack-to-tensioner", "Keep the taut side tight while threading; all the slack goes to the tensioner's side."
    ),
    Caution("read-straight", "Look at pointer and marks straight on; from the side they lie."),
    Caution("marks-straight", "Look at the marks straight on; from the side they lie."),
    Caution(
        "painted-lines",
        "Painted lines on the belt need not meet the marks again after the turns: judge by the sprockets' marks.",
    ),
    Caution("lower-range", "Use a torque tool whose range holds the value well, not its lowest fifth; click once."),
    Caution("pump-before-belt", "Press the cooling system and prove it tight before the new belt goes on."),
    Caution(
        "turn-back-here-only",
        "Only in this step is the crankshaft turned back, as the vehicle maker says; then forward to the mark.",
    ),
    Caution("cold-start-device", "Rotary pump: take the cold-start device out of action before the lift is measured."),
    Caution(
        "rod-depth",
        "The rod must enter to its full depth: with the marks aligned a balance shaft can stand half a turn out.",
    ),
    Caution("plate-side", "Guide plates go back the same side out."),
    Caution("no-rubbing", "Covers must not touch the belt: right screws, right lengths, seats clean."),
    Caution("injection-off", "Put injection and ignition out of action before cranking for a recording."),
    Caution("first-start", "First start five seconds only: any knock, switch off at once."),
    Caution("bleed-first", "Fill and bleed the coolant before the engine runs long; run no pump dry."),
)

CAUTIONS: Final[dict[str, Caution]] = {item.id: item for item in _ALL}


def caution(caution_id: str, in_oil: bool = False) -> str:
    """The sentence of a caution.

    Parameters
    ----------
    caution_id
        Its slug.
    in_oil
        Whether the belt runs in oil, which reverses some of them.

    Returns
    -------
    str
        One or two plain sentences.

    Raises
    ------
    KeyError
        No caution of that id; the message names the nearest ones.
    """
    found = CAUTIONS.get(caution_id)
    if found is None:
        near = ", ".join(get_close_matches(caution_id, CAUTIONS, n=3, cutoff=0.4)) or "none near it"
        raise KeyError(f"no caution is called {caution_id!r}; near it: {near}")
    return found.in_oil if in_oil and found.in_oil else found.text
