"""Every kind of refusal of a drive file beyond a wrong type: when it comes, and its sentence, what would be right.

``docs/drive-file.md`` prints the table; names in braces are filled in.
"""

from __future__ import annotations

from typing import NamedTuple


class Refusal(NamedTuple):
    """A kind of refusal: when it comes, and what would be right."""

    when: str
    expected: str


_KEYS = {
    "unknown-key": Refusal("a key that its table does not have", "{instead}"),
    "tensioner-kind": Refusal("a tensioner without kind, or of no known one", "one of {kinds}"),
    "uncertainty-alone": Refusal(
        "an uncertainty without its quantity", "{key} beside it: an uncertainty alone says nothing"
    ),
    "uncertainty-shape": Refusal("two uncertainties for one number", "one number, as {key} is one"),
    "uncertainty-twice": Refusal("mm_u and u_mm in one row", "mm_u or u_mm, not both"),
}
_NAMES = {
    "duplicate-id": Refusal("two tables of a kind with one id", "an id of its own: {other} has the same"),
    "belt-id-missing": Refusal("several belts, one without id", "an id for each belt, since there are several"),
    "belt-unknown": Refusal("a belt that is not there", "the id of a belt{near}"),
    "belt-of-pulley": Refusal("several belts, a pulley without one", "the belt it runs on, one of {belts}"),
    "belt-too-few": Refusal("a belt over fewer than two pulleys", "two pulleys or more on each belt, along travel"),
    "shaft-unknown": Refusal(
        "a shaft that is not there", "the id of a [[shaft]] or of a pulley that is a shaft of its own{near}"
    ),
    "shaft-empty": Refusal("a shaft that nothing turns", "a pulley on this shaft, or a [[link]] to it, or its ratio"),
    "role-missing": Refusal("no role at pulley or shaft", "its role: {roles}"),
    "role-conflict": Refusal("two roles for one shaft", "the role of its shaft, {role}, or none"),
    "crankshaft-missing": Refusal("no crankshaft", "one pulley with role crankshaft"),
    "crankshaft-twice": Refusal("two crankshafts", "one crankshaft only; further pulleys on it name it as their shaft"),
    "crankshaft-first": Refusal(
        "a belt whose list does not begin with the crankshaft", "the crankshaft's pulley first: it drives the belt"
    ),
    "driver-unreached": Refusal(
        "a belt that nothing drives",
        "a first pulley on a shaft that the crankshaft turns, by another belt or a [[link]]",
    ),
    "driver-smooth": Refusal("a belt with a smooth first pulley", "a toothed pulley first: it drives the belt"),
    "link-itself": Refusal("a link from a shaft to itself", "two different shafts"),
    "fastener-unknown": Refusal("a fastener that is not there", "the id of a [[fastener]]{near}"),
    "locks-unknown": Refusal(
        "a fastener that locks what is not there", "the id of a pulley, shaft or belt whose setting it holds{near}"
    ),
    "place-unknown": Refusal(
        "a place that is not there", "a pulley, shaft, belt, fastener or pin id, or a span from:to{near}"
    ),
    "requirement-unknown": Refusal(
        "a requirement that stands for one that is not there",
        "the id of another requirement that binds by itself ({ids})",
    ),
    "span-order": Refusal("a span of pulleys that are no neighbours", "neighbours along travel, such as {span}"),
    "order-pulleys": Refusal("a threading order with pulleys too many or too few", "each pulley once: {expected}"),
    "order-belt": Refusal("a threading order without belt, of several", "belt = one of {belts}"),
    "order-twice": Refusal("two threading orders for one belt", "one [[fit]] for each belt"),
}
_PULLEYS = {
    "teeth-or-diameter": Refusal("teeth and diameter_mm", "teeth (toothed) or diameter_mm (smooth), one of the two"),
    "teeth-missing": Refusal("a shaft that needs teeth has none", "teeth: a {role} has a toothed pulley"),
    "diameter-missing": Refusal(
        "coordinates, and a pulley without teeth and diameter", "diameter_mm of the smooth pulley, or teeth"
    ),
    "back-toothed": Refusal(
        "a toothed pulley under the back", 'belt_side = "teeth", or double_sided = true for its belt'
    ),
    "belt-side-missing": Refusal(
        "coordinates, and a smooth pulley without belt_side",
        'belt_side = "back" or "teeth": which face of the belt touches this smooth pulley',
    ),
    "mark-smooth": Refusal("a mark on a smooth pulley", "no mark on a smooth pulley"),
    "mark-offset-alone": Refusal("mark_offset_deg without mark_deg", "mark_deg beside it"),
    "ratio-contradicts": Refusal("a ratio that contradicts the teeth", "{ratio} turns a crank turn, as the teeth say"),
    "ratio-two-ways": Refusal("a shaft driven two ways at two ratios", "tooth counts that agree: {other}"),
    "centre-missing": Refusal(
        "centres of some pulleys of a belt only",
        "at_mm or [[distance]] rows for every fixed pulley of the belt, or for none; without: {lacking}",
    ),
    "centre-shared": Refusal("two centres for one shaft", "the centre of {other}, {centre}: both sit on one shaft"),
    "centre-of-tensioner": Refusal("at_mm for a tensioner's pulley", "no at_mm: the [[tensioner]] says where it is"),
    "pulley-overlap": Refusal(
        "pulleys that overlap", "room between {one} and {other}: look at at_mm, teeth and diameter_mm of both"
    ),
    "span-through": Refusal(
        "a span through a pulley",
        "the span {one} to {other} clear of {third}: look at at_mm, belt_side and the order along travel",
    ),
    "belt-crosses": Refusal(
        "a belt that crosses itself",
        "the span {one} to {other} clear of the span {third} to {fourth}: look at belt_side, at_mm and the order along "
        "travel",
    ),
    "wrap-wide": Refusal(
        "a wrap over 300°", "at most 300° on {one}: look at its belt_side, its at_mm and the order along travel"
    ),
    "wrap-narrow": Refusal("a wrap under 3°", "at least 3° on {one}: the belt hardly touches it; look at at_mm"),
    "wrap-sum": Refusal(
        "wraps that do not add up to +360°",
        "wraps that add up to +360° along travel: look at crank_turns, belt_side and the order of the pulleys",
    ),
}
_BELTS = {
    "pitch-missing": Refusal("coordinates, and no pitch", "pitch_mm, or a designation that tells it"),
    "designation": Refusal("a designation that contradicts the belt", "{expected}, as the rest of the belt says"),
    "mass-twice": Refusal("mass_kg_per_m and weighed_g", "mass_kg_per_m or weighed_g, not both"),
    "mark-beyond": Refusal("a painted line beyond the last tooth", "tooth numbers from 0 to {last}"),
    "mark-double": Refusal("a painted line twice", "each painted line once"),
}
_TENSIONERS = {
    "tensioner-pulley": Refusal("a tensioner whose pulley is not there", "the id of the pulley it carries{near}"),
    "tensioner-twice": Refusal("two tensioners for one pulley", "one tensioner for each pulley"),
    "tensioner-driver": Refusal("a tensioner on the driver of a belt", "a pulley that does not drive the belt"),
    "tensioner-missing": Refusal("a list drive whose tensioner has no kind", "a [[tensioner]] with its kind: {kinds}"),
    "tensioner-geometry": Refusal(
        "coordinates, and a tensioner without its own", "{keys}: this kind needs them where pulleys have coordinates"
    ),
    "goal-unknown": Refusal(
        "a setting that leads to an unknown place", "degrees of pointer, or words with one of {words}{near}"
    ),
    "range-order": Refusal("a window or stops the wrong way round", "the smaller number first"),
    "notch-outside": Refusal("stops on one side of the notch", "stops on both sides of the notch, which is 0"),
    "window-outside": Refusal("a window beyond the stops", "a window inside the stops {stops}"),
    "set-outside": Refusal("set_deg beyond the stops", "a pointer inside the stops {stops}"),
    "adjuster-outside": Refusal("adjuster_deg outside its range", "an angle inside adjuster_range_deg {range}"),
    "adjuster-range": Refusal(
        "an adjuster range of no width or over a turn", "two clock angles, clockwise from the first to the second"
    ),
}
_DISTANCES = {
    "distance-name": Refusal("a distance to a point that is not there", "one of {names}"),
    "distance-itself": Refusal("a distance from a point to itself", "two different points"),
    "distance-twice": Refusal("a distance twice", "each distance once"),
    "distance-lacking": Refusal(
        "too few distances", "further distances to {points}: these do not hold it in place yet"
    ),
    "distance-rotation": Refusal(
        "nothing that fixes the rotation", "one bearing_deg, or at_mm on one further pulley: which way the drive lies"
    ),
    "distance-mirror": Refusal(
        "two mirror images that both fit", "left_of or above for {point}, or one more distance to it"
    ),
    "distance-side": Refusal("a side that no distance allows", "a side the distances allow; {point} cannot lie there"),
    "distance-residual": Refusal(
        "a distance that does not agree with the rest",
        "about {fitted} mm, as the other distances say (what is left over is {ratio} times its own uncertainty, 3 "
        "allowed; the distance is taken to {u} mm), or another distance is wrong",
    ),
    "distance-together": Refusal(
        "distances that contradict each other, none alone to blame",
        "distances that agree; one of these is wrong, and they cannot be told apart: {rows}. What is left over is "
        "{ratio} times its own uncertainty, 3 allowed: measure them again, or one distance more",
    ),
}
_WORK = {
    "limits-missing": Refusal("a requirement without low and high", "low, high or both"),
    "thread": Refusal("a metric thread that cannot be read", 'a thread such as "M8" or "M10x1.25"'),
    "firing-order": Refusal("a firing order with cylinders too many or too few", "1 to {cylinders}, each once"),
    "rod-short": Refusal("a rod shorter than half the stroke", "more than {least} mm, half the stroke"),
}
SECTIONS: dict[str, dict[str, Refusal]] = {
    "Keys": _KEYS,
    "Names": _NAMES,
    "Belts": _BELTS,
    "Pulleys and path": _PULLEYS,
    "Tensioners": _TENSIONERS,
    "Distances": _DISTANCES,
    "The rest": _WORK,
}
REFUSALS: dict[str, Refusal] = {name: row for section in SECTIONS.values() for name, row in section.items()}
