"""Coordinates of a drive from the measured centre distances in its file."""

from __future__ import annotations

from twoturn.drive.faults import FaultList, shown
from twoturn.drive.model.belts import DistanceTable
from twoturn.drive.model.file import DriveFile
from twoturn.drive.naming import Naming
from twoturn.drive.network import solve_network
from twoturn.drive.network_model import Bearing, Distance, Network, NetworkError, Side, Solution
from twoturn.drive.placed import Centres

DEFAULT_U_MM = 1.0
LEAST_U_MM = 1e-3
SEVERAL_BEARINGS_U_DEG = 0.5
BOLT_KEYS = {
    "locked eccentric": ("bolt", "bolt_mm"),
    "double eccentric": ("bolt", "bolt_mm"),
    "sprung arm": ("pivot", "pivot_mm"),
    "hydraulic": ("pivot", "pivot_mm"),
}


def solve_file(file: DriveFile, names: Naming, centres: Centres, faults: FaultList) -> tuple[DriveFile, Centres]:
    """Centres of pulleys and bolts of tensioners from the ``[[distance]]`` rows of a drive file.

    Parameters
    ----------
    file
        The drive file.
    names
        Its names, settled.
    centres
        Centres written with ``at_mm``.
    faults
        Where unknown names and everything the distances cannot tell are collected.

    Returns
    -------
    DriveFile
        The file with ``bolt_mm`` or ``pivot_mm`` filled in where distances lead to them.
    Centres
        Centres of all pulleys that are now known, with uncertainties and residuals.
    """
    points = _points(file, names)
    rows = _rows(file, points, faults)
    if len(faults):
        return file, centres
    network = _network(file, names, centres, points, rows)
    try:
        solution = solve_network(network)
    except NetworkError as error:
        _refuse(error, file, names, faults)
        return file, centres
    return _filled(file, names, solution), _centres(file, names, centres, solution)


def _points(file: DriveFile, names: Naming) -> dict[str, str]:
    """Point of the network by every name that ``between`` may use: a shaft, or a bolt or pivot."""
    fixed = zip(file.pulley, names.shaft_of, strict=True)
    points = {row.id: f"shaft {shaft}" for row, shaft in fixed if row.id not in names.pulley_of}
    for row, pulley in zip(file.tensioner, names.pulley_of, strict=True):
        word, _ = BOLT_KEYS.get(row.kind, ("", ""))
        if word:
            points[f"{pulley} {word}"] = f"{word} {pulley}"
            if len(file.tensioner) == 1:
                points[f"tensioner {word}"] = f"{word} {pulley}"
    return points


def _rows(file: DriveFile, points: dict[str, str], faults: FaultList) -> list[tuple[str, str]]:
    rows = []
    seen: set[frozenset[str]] = set()
    known = ", ".join(f'"{name}"' for name in points)
    for index, row in enumerate(file.distance):
        path = ("distance", index, "between")
        named = [(path, name) for name in row.between]
        named += [
            (("distance", index, key), name) for key, name in (("left_of", row.left_of), ("above", row.above)) if name
        ]
        unknown = [(where, name) for where, name in named if name not in points]
        for where, name in unknown:
            faults.refuse("distance-name", where, shown(name), names=known)
        if unknown:
            continue
        a, b = (points[name] for name in row.between)
        if a == b:
            faults.refuse("distance-itself", path, shown(list(row.between)))
        elif frozenset((a, b)) in seen:
            faults.refuse("distance-twice", path, shown(list(row.between)))
        seen.add(frozenset((a, b)))
        rows.append((a, b))
    return rows


def row_u_mm(row: DistanceTable) -> float:
    """Standard uncertainty of a measured distance [mm]: ``mm_u`` or ``u_mm``, else 1 mm; never below 0.001 mm."""
    given = row.u_mm if row.u_mm is not None else row.u_of("mm", DEFAULT_U_MM)
    return max(given, LEAST_U_MM)


def _network(
    file: DriveFile, names: Naming, centres: Centres, points: dict[str, str], rows: list[tuple[str, str]]
) -> Network:
    anchors, anchor_u = _anchors(file, names, centres)
    distances = [Distance(a, b, row.mm, row_u_mm(row)) for row, (a, b) in zip(file.distance, rows, strict=True)]
    several = sum(row.bearing_deg is not None for row in file.distance) > 1
    bearings, sides = [], []
    for index, (row, (a, b)) in enumerate(zip(file.distance, rows, strict=True)):
        if row.bearing_deg is not None:
            u_deg = row.u_of("bearing_deg", SEVERAL_BEARINGS_U_DEG if several else 0.0)
            bearings.append(Bearing(a, b, row.bearing_deg, u_deg, row.mm))
        if row.left_of is not None:
            sides.append(Side(b, points[row.left_of], "x", index))
        if row.above is not None:
            sides.append(Side(b, points[row.above], "y", index))
    return Network(anchors, distances, bearings, sides, anchor_u)


def _anchors(
    file: DriveFile, names: Naming, centres: Centres
) -> tuple[dict[str, complex], dict[str, tuple[float, float]]]:
    """What is known beforehand: stated centres and bolts; the crankshaft is the origin."""
    crankshaft = next(shaft for shaft in names.shaft_ids if names.shaft_roles[shaft] == "crankshaft")
    anchors: dict[str, complex] = {f"shaft {crankshaft}": 0j}
    u: dict[str, tuple[float, float]] = {}
    for row, shaft in zip(file.pulley, names.shaft_of, strict=True):
        if row.id in centres.centre_mm:
            anchors[f"shaft {shaft}"] = complex(*centres.centre_mm[row.id])
        if row.id in centres.u_mm:
            u[f"shaft {shaft}"] = centres.u_mm[row.id]
    for tensioner, pulley in zip(file.tensioner, names.pulley_of, strict=True):
        word, key = BOLT_KEYS.get(tensioner.kind, ("", ""))
        place = getattr(tensioner, key, None)
        if place is not None:
            anchors[f"{word} {pulley}"] = complex(*place)
            given = tensioner.uncertainties.get(key)
            if given is not None:
                u[f"{word} {pulley}"] = (given[0], given[1]) if isinstance(given, list) else (given, given)
    return anchors, u


def _centres(file: DriveFile, names: Naming, given: Centres, solution: Solution) -> Centres:
    centre, u = dict(given.centre_mm), dict(given.u_mm)
    parts: dict[str, tuple[complex, ...]] = {}
    measured = {name for row in file.distance for name in row.between}
    seen: set[str] = set()
    for row, shaft in zip(file.pulley, names.shaft_of, strict=True):
        place = solution.places.get(f"shaft {shaft}")
        is_first = shaft not in seen
        seen.add(shaft)
        if place is None or row.id in names.pulley_of or not (is_first or row.id in measured):
            continue
        centre.setdefault(row.id, (place.real, place.imag))
        u.setdefault(row.id, solution.u_mm.get(f"shaft {shaft}", (0.0, 0.0)))
        if f"shaft {shaft}" in solution.parts:
            parts[row.id] = solution.parts[f"shaft {shaft}"]
    for tensioner, pulley in zip(file.tensioner, names.pulley_of, strict=True):
        bolt = f"{BOLT_KEYS.get(tensioner.kind, ('', ''))[0]} {pulley}"
        if bolt in solution.parts:
            parts[pulley] = solution.parts[bolt]
    rows = zip(file.distance, solution.residuals_mm, strict=True)
    residuals = {":".join(row.between): residual for row, residual in rows}
    return Centres(centre, u, residuals, parts)


def _filled(file: DriveFile, names: Naming, solution: Solution) -> DriveFile:
    """The file with bolts and pivots that were solved."""
    tensioners = []
    for row, pulley in zip(file.tensioner, names.pulley_of, strict=True):
        word, key = BOLT_KEYS.get(row.kind, ("", ""))
        place = solution.places.get(f"{word} {pulley}")
        if place is None or getattr(row, key) is not None:
            tensioners.append(row)
            continue
        u = solution.u_mm.get(f"{word} {pulley}", (0.0, 0.0))
        update = {key: (place.real, place.imag), "uncertainties": {**row.uncertainties, key: list(u)}}
        tensioners.append(row.model_copy(update=update))
    return file.model_copy(update={"tensioner": tensioners})


def _refuse(error: NetworkError, file: DriveFile, names: Naming, faults: FaultList) -> None:
    points = [_spoken(point, file, names) for point in error.points]
    text = ", ".join(f'"{name}"' for name in points)
    if error.reason == "rotation":
        faults.refuse("distance-rotation", ("distance", 0, "bearing_deg"), "nothing that fixes the rotation")
    elif error.reason == "lacking":
        path = ("distance", _row_of(error.points[0], file, names))
        faults.refuse("distance-lacking", path, "too few distances", points=text)
    elif error.reason == "mirror":
        path = ("distance", _row_of(error.points[0], file, names))
        faults.refuse("distance-mirror", path, "two mirror images that both fit", point=text)
    elif error.reason == "side":
        key = "left_of" if error.axis == "x" else "above"
        found = shown(getattr(file.distance[error.row or 0], key))
        faults.refuse("distance-side", ("distance", error.row or 0, key), found, point=text)
    else:
        _refuse_residual(error, file, faults)


def _refuse_residual(error: NetworkError, file: DriveFile, faults: FaultList) -> None:
    """One row is off; or several that share the greatest residual, of which none is blamed alone."""
    ratio = f"{error.residual_u:.1f}"
    pairs = list(zip(error.rows, error.fitted_mm, strict=True))
    if len(pairs) == 1:
        index, fitted = pairs[0]
        row = file.distance[index]
        words = {"fitted": f"{fitted:.1f}", "ratio": ratio, "u": f"{row_u_mm(row):g}"}
        faults.refuse("distance-residual", ("distance", index, "mm"), shown(row.mm), **words)
        return
    told = [f"{' to '.join(file.distance[index].between)} (about {fitted:.0f} mm would fit)" for index, fitted in pairs]
    found = f"{len(pairs)} distances that contradict each other"
    faults.refuse("distance-together", ("distance",), found, rows=", ".join(told), ratio=ratio)


def _row_of(point: str, file: DriveFile, names: Naming) -> int:
    """The last row that speaks of a point."""
    points = _points(file, names)
    rows = [index for index, row in enumerate(file.distance) if point in (points[name] for name in row.between)]
    return rows[-1] if rows else 0


def _spoken(point: str, file: DriveFile, names: Naming) -> str:
    """The name that the file itself uses for a point."""
    used = [name for row in file.distance for name in row.between]
    points = _points(file, names)
    return next((name for name in used if points[name] == point), point)
