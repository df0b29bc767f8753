"""Every kind of refusal of a drive file beyond a wrong type, with its sentence: what would be right.

``docs/drive-file.md`` explains each under the same name; a test compares the two.
"""

from __future__ import annotations

REFUSALS: dict[str, str] = {
    # keys
    "unknown-key": "{instead}",
    "tensioner-kind": "one of {kinds}",
    "uncertainty-alone": "{key} beside it: an uncertainty alone says nothing",
    "uncertainty-shape": "{shape}",
    "uncertainty-twice": "mm_u or u_mm, not both",
    # names
    "duplicate-id": "an id of its own: {other} has the same",
    "belt-id-missing": "an id for each belt, since there are several",
    "belt-unknown": "the id of a belt{near}",
    "belt-of-pulley": "the belt it runs on, since there are several: {belts}",
    "belt-too-few": "two pulleys or more on each belt; a list of [[pulley]] along travel",
    "shaft-unknown": "the id of a [[shaft]] or of a pulley that is a shaft of its own{near}",
    "shaft-empty": "a pulley on this shaft, or a [[link]] to it, or its ratio",
    "role-missing": "its role: {roles}",
    "role-conflict": "the role of its shaft, {role}, or none",
    "crankshaft-missing": "one pulley with role crankshaft",
    "crankshaft-twice": "one crankshaft only; pulleys of one shaft name it with shaft = ",
    "crankshaft-first": "the pulley of the crankshaft first: the list of a belt begins with its driver",
    "driver-unreached": "a first pulley on a shaft that the crankshaft turns, by another belt or a [[link]]",
    "driver-smooth": "a toothed pulley first: it drives the belt",
    "link-itself": "two different shafts",
    # pulleys
    "teeth-or-diameter": "teeth for a toothed pulley or diameter_mm for a smooth one, one of the two",
    "teeth-missing": "teeth: a {role} has a toothed pulley",
    "diameter-missing": "diameter_mm of the smooth pulley, or teeth",
    "back-toothed": 'belt_side = "teeth", or double_sided = true for its belt',
    "belt-side-missing": 'belt_side = "back" or "teeth": which face of the belt touches this smooth pulley',
    "mark-smooth": "no mark on a smooth pulley",
    "mark-offset-alone": "mark_deg beside it",
    "ratio-contradicts": "{ratio} turns a crank turn, as the teeth say",
    "ratio-two-ways": "tooth counts that agree: {other}",
    "ratio-conflict": "the same ratio as its shaft, {ratio}",
    "centre-missing": "at_mm or [[distance]] rows for every fixed pulley of the belt, or for none; without: {lacking}",
    "centre-shared": "the centre of {other}, {centre}: both sit on one shaft",
    "centre-of-tensioner": "no at_mm: the [[tensioner]] says where its pulley is",
    "pulley-overlap": "centres more than {least} mm apart: {one} and {other} would overlap",
    # belts
    "pitch-missing": "pitch_mm (or a designation that tells it): coordinates are given",
    "designation": "{expected}, as the rest of the belt says",
    "mass-twice": "mass_kg_per_m or weighed_g, not both",
    "mark-beyond": "tooth numbers from 0 to {last}",
    "mark-double": "each painted line once",
    # tensioners
    "tensioner-pulley": "the id of the pulley it carries{near}",
    "tensioner-twice": "one tensioner for each pulley",
    "tensioner-driver": "a pulley that does not drive the belt",
    "tensioner-geometry": "{keys}: the pulleys have coordinates, so this kind needs its own",
    "range-order": "the smaller number first",
    "notch-outside": "stops on both sides of the notch (one at or below 0, one at or above 0)",
    "window-outside": "a window inside the stops {stops}",
    "set-outside": "a pointer inside the stops {stops}",
    "adjuster-outside": "an angle inside adjuster_range_deg {range}",
    "range-too-wide": "a range of at most 360 degrees",
    # distances
    "distance-name": "the id of a pulley, or the tensioner's bolt or pivot: {names}",
    "distance-itself": "two different points",
    "distance-twice": "each distance once (the mean, with its smaller u)",
    "distance-lacking": "further distances to {points}: these do not hold it in place yet",
    "distance-rotation": "one bearing_deg, or at_mm on one further pulley: it says which way the drive lies",
    "distance-mirror": "left_of or above for {point}, or one more distance to it",
    "distance-side": "a side that the distances allow; {point} cannot lie there",
    "distance-residual": "about {fitted} mm, as the rest says: {ratio} times its uncertainty of {u} mm off, 3 allowed",
    # the rest
    "place-unknown": "a pulley, shaft, belt, fastener or pin id, or a span from:to{near}",
    "span-order": "neighbours along travel, such as {span}",
    "limits-missing": "low, high or both",
    "fastener-unknown": "the id of a [[fastener]]{near}",
    "thread": 'a metric thread such as "M8" or "M10x1.25", or another name that does not begin like one',
    "order-pulleys": "every pulley of the belt once: {expected}",
    "order-belt": "belt = one of {belts}, since there are several",
    "order-twice": "one [fit] for each belt",
    "firing-order": "the numbers 1 to {cylinders}, each once",
    "rod-short": "a rod longer than half the stroke, {least} mm",
    "pin-depth": "a depth above 0 mm",
}
