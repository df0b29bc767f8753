"""Grow the trees that weigh the evidence for a pluck and print them as ``twoturn.pluck.trees`` holds them.

``python -m tools.grow_evidence`` draws recordings of the tests' three generators, lets the reader weigh every proposal
in them, prints a five-fold cross-validation by recording, grows the trees on all and prints the constant and the table.
It takes about an hour; ``--rows FILE`` keeps the weighed rows for the next run, ``--part 0.1`` draws a tenth.
"""

from __future__ import annotations

import argparse
import sys
import warnings
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from importlib.util import find_spec
from multiprocessing import Pool
from pathlib import Path
from types import SimpleNamespace as Named
from typing import Any

import numpy as np
from bench.sounds import as_sound
from tests.pluck.generator import Recording
from tests.pluck.others import lone_tone, long_ring, other_sound, pluck_beside
from tests.pluck.second.draw import OTHERS, PLUCKED, drawn
from tests.pluck.second.voices import PROGRAM, can_speak
from tests.pluck.third.draw import drawn as third
from tests.pluck.workshop import workshop

from twoturn.pluck import search
from twoturn.pluck.doubts import too_little
from twoturn.pluck.onsets import find_onsets
from twoturn.pluck.read import SHORTEST_S
from twoturn.pluck.trees import DECIMALS, DEPTH, FEATURES
from twoturn.pluck.working import prepare

NEAR, FAR, SAID_RIGHT = 0.03, 0.06, 0.05  # of the first partial: a pluck's row, another's, and right as an answer [-]
NEAR_S = 0.08  # of a true pluck
LEFT_OUT = -1
COUNTED = {"lone tone": 12.0, "long": 2.0}  # recordings of few kinds that count more
RISING = {"series": 1, "share": 1, "band_share": 1, "strength": 1, "older": -1}
"""Quantities that never speak against a pluck as they grow (1), or never for it (-1)."""
SHAPE = {"max_depth": DEPTH, "max_leaf_nodes": 2**DEPTH, "max_iter": 400, "learning_rate": 0.07, "min_samples_leaf": 30}
REGULARISED = {"l2_regularization": 5.0, "early_stopping": False, "random_state": 1}
FOLDS = 5
LIMITS = np.arange(0.0, 3.01, 0.25)
MISSING = (
    "scikit-learn is not installed: run `make bench` once, or pip install -r requirements/bench.txt, and start again"
)


@dataclass(frozen=True)
class Source:
    """Recordings of one kind: which generator's, what draws one, first seed, how many."""

    generator: str
    draw: Callable[[int], Recording]
    first_seed: int
    count: int


def second(seed: int, kinds: Sequence[str], plucked: bool) -> Recording:
    """One recording of the second generator; its class goes round with the seed."""
    return drawn(seed, plucked=plucked, kind=kinds[seed % len(kinds)])


SOURCES = {
    "plucked": Source("first", workshop, 1_000_000, 744),
    "beside": Source("first", pluck_beside, 1_000_000, 260),
    "unplucked": Source("first", lambda seed: workshop(seed, plucked=False), 1_000_000, 744),
    "others": Source("first", other_sound, 1_000_000, 744),
    "lone": Source("first", lone_tone, 2_000_000, 480),
    "long": Source("first", long_ring, 1_000_000, 40),
    "second": Source("second", lambda seed: second(seed, list(PLUCKED), True), 50_000, 56 * len(PLUCKED)),
    "second, others": Source("second", lambda seed: second(seed, list(OTHERS), False), 50_000, 56 * len(OTHERS)),
    "third": Source("third", lambda seed: third(seed, plucked=True), 70_000, 1008),
    "third, others": Source("third", lambda seed: third(seed, plucked=False), 70_000, 1008),
}
GENERATORS = tuple(dict.fromkeys(source.generator for source in SOURCES.values()))


@dataclass(frozen=True)
class Weighed:
    """One recording as the reader weighs it.

    Generator; kind; true first partial [Hz], None where there is none; per row the candidate's number, the first
    partial [Hz], the label (1 pluck, 0 none, -1 left out) and the quantities of ``FEATURES``, shape (rows, features).
    """

    generator: str
    kind: str
    f1_hz: float | None
    candidate: np.ndarray
    hertz: np.ndarray
    label: np.ndarray
    features: np.ndarray


def weighed(job: tuple[str, int]) -> Weighed:
    """Draw one recording of a source and weigh every event as a pluck of every candidate span."""
    source = SOURCES[job[0]]
    made, rows = source.draw(job[1]), []
    sound = as_sound(made.samples, made.rate_hz)
    if not too_little(sound, SHORTEST_S):
        with warnings.catch_warnings():
            warnings.simplefilter("ignore", RuntimeWarning)
            working = prepare(sound.mono, sound.rate_hz)
            events = search.events_of(working, find_onsets(working), None)
            for number, candidate in enumerate(search.proposals(working, events)):
                rows += [(number, row) for row in search.weigh_all(working, events, candidate)]
    return Weighed(
        source.generator,
        str(made.traits.get("kind", job[0])),
        made.f1_hz,
        np.array([number for number, _ in rows], dtype=int),
        np.array([row.pluck.f1_hz for _, row in rows]),
        np.array([label(row.pluck.f1_hz, row.pluck.time_s, made) for _, row in rows], dtype=int),
        np.array([[getattr(row.evidence, name) for name in FEATURES] for _, row in rows]).reshape(-1, len(FEATURES)),
    )


def label(hertz: float, time_s: float, made: Recording) -> int:
    """Whether a row is a pluck of the span (1), something else (0) or neither for sure (-1)."""
    if made.f1_hz is None:
        return 0
    off = abs(np.log(hertz / made.f1_hz))
    if off < NEAR and any(abs(time_s - time) < NEAR_S for time in made.times_s):
        return 1
    return 0 if off > FAR else LEFT_OUT


def draw_all(part: float) -> list[Weighed]:
    """Recordings of every source, or a part of each [-], on all processors."""
    counts = {name: max(1, int(min(part, 1.0) * source.count)) for name, source in SOURCES.items()}
    jobs = [(name, SOURCES[name].first_seed + k) for name, count in counts.items() for k in range(count)]
    out = []
    with Pool(initializer=one_thread) as pool:
        for done, one in enumerate(pool.imap(weighed, jobs, chunksize=4), start=1):
            out.append(one)
            if done % 100 == 0:
                print(f"{done} of {len(jobs)} recordings", file=sys.stderr, flush=True)
    return out


def one_thread() -> None:
    """Linear algebra of a process on one thread."""
    from threadpoolctl import threadpool_limits

    threadpool_limits(1)


def weight(one: Weighed) -> np.ndarray:
    """Weight of each row of a recording [-]: many rows of one label count little more than one."""
    alike = np.array([(one.label == value).sum() for value in one.label])
    return np.asarray(COUNTED.get(one.kind, 1.0) / np.sqrt(np.maximum(alike, 1)))


def grown(recordings: Sequence[Weighed]) -> Any:
    """Small trees by gradient boosting on the rows of these recordings."""
    from sklearn.ensemble import HistGradientBoostingClassifier

    features, labels, weights = (
        np.concatenate([get(one) for one in recordings])
        for get in (lambda one: one.features, lambda one: one.label, weight)
    )
    used = labels != LEFT_OUT
    rising = [RISING.get(name, 0) for name in FEATURES]
    model = HistGradientBoostingClassifier(monotonic_cst=rising, **SHAPE, **REGULARISED)
    return model.fit(np.round(features[used], DECIMALS), labels[used], sample_weight=weights[used])


def cross_validated(recordings: Sequence[Weighed]) -> list[np.ndarray]:
    """Log-odds of every row by trees grown without its recording [-], one array a recording."""
    fold = np.random.default_rng(5).permutation(len(recordings)) % FOLDS
    out = [np.zeros(0)] * len(recordings)
    for left in range(FOLDS):
        model = grown([one for one, mine in zip(recordings, fold, strict=True) if mine != left])
        for k in np.flatnonzero(fold == left):
            out[k] = model.decision_function(recordings[k].features) if len(recordings[k].label) else np.zeros(0)
    return out


def answers(one: Weighed, odds: np.ndarray) -> list[tuple[float, float]]:
    """For each candidate in turn how sure the reader is that it was plucked, and its note [Hz]."""
    out = []
    for number in np.unique(one.candidate):
        mine, hertz = odds[one.candidate == number], one.hertz[one.candidate == number]
        rows = [Named(pluck=Named(f1_hz=f), evidence=Named(log_odds=sure)) for f, sure in zip(hertz, mine, strict=True)]
        out.append((search.together(rows), float(hertz[int(np.argmax(mine))])))  # type: ignore[arg-type]
    return out


def table(recordings: Sequence[Weighed], odds: Sequence[np.ndarray], generator: str) -> list[str]:
    """Shares found, wrong and called a pluck without one, by limit [%]."""
    pairs = zip(recordings, odds, strict=True)
    said = [(one.f1_hz, answers(one, mine)) for one, mine in pairs if one.generator == generator]
    plucked, others = sum(f1 is not None for f1, _ in said), sum(f1 is None for f1, _ in said)
    lines = [f"{generator} generator, {plucked} plucked, {others} others", "limit  found  wrong  called"]
    for limit in LIMITS:
        found = wrong = called = 0
        for f1, proposals in said:
            note = next((hertz for sure, hertz in proposals if sure > limit), None)
            if note is not None and f1 is None:
                called += 1
            elif note is not None and f1 is not None:
                right = abs(np.log(note / f1)) < SAID_RIGHT
                found, wrong = found + right, wrong + (not right)
        shares = (100 * found / max(plucked, 1), 100 * wrong / max(plucked, 1), 100 * called / max(others, 1))
        lines.append(f"{limit:5.2f} " + " ".join(f"{share:6.1f}" for share in shares))
    return lines


def lines_of(model: Any) -> list[str]:
    """The trees, one a line: questions level by level, then the answers."""
    return [tree_line(stage[0].nodes) for stage in model._predictors if len(stage[0].nodes) > 1]


def tree_line(nodes: np.ndarray) -> str:
    """One tree; where a branch asks nothing more, its last question is asked again, with one answer both ways."""
    level, asked = [(nodes[0], nodes[0])], []
    for _ in range(DEPTH):
        below = []
        for node, last in level:
            asks = last if node["is_leaf"] else node
            asked.append(question(asks))
            sides = (node, node) if node["is_leaf"] else (nodes[node["left"]], nodes[node["right"]])
            below += [(side, asks) for side in sides]
        level = below
    return " | ".join(asked) + " = " + " ".join(f"{leaf['value']:.4f}" for leaf, _ in level)


def question(node: np.void) -> str:
    """A quantity and the limit it is asked to be above."""
    return f"{FEATURES[node['feature_idx']]} {node['num_threshold']:.7g}"


def recordings_of(path: Path | None, part: float) -> list[Weighed]:
    """The weighed recordings of an earlier run, or new ones, which are kept where a file is named."""
    import joblib

    if path is not None and path.exists():
        return list(joblib.load(path))
    out = draw_all(part)
    if path is not None:
        joblib.dump(out, path, compress=3)
    return out


def main() -> None:
    """Draw, validate, grow and print."""
    options = argparse.ArgumentParser(prog="python -m tools.grow_evidence", description=(__doc__ or "").split("\n")[0])
    options.add_argument("--rows", type=Path, help="file that keeps the weighed recordings for the next run")
    options.add_argument("--trees", type=Path, help="file for the trees, one a line; printed where none is named")
    options.add_argument("--part", type=float, default=1.0, help="share of the recordings to draw, up to 1")
    told = options.parse_args()
    if find_spec("sklearn") is None:
        sys.exit(MISSING)
    if not can_speak():
        sys.exit(f"the speech synthesiser {PROGRAM} is not installed: install it and start again")
    recordings = recordings_of(told.rows, told.part)
    odds = cross_validated(recordings)
    for generator in GENERATORS:
        print("\n".join([*table(recordings, odds, generator), ""]))
    model = grown(recordings)
    print(f"{len(recordings)} recordings, {sum(len(one.label) for one in recordings)} rows")
    print(f"CONSTANT = {model._baseline_prediction.item():.4f}")
    lines = "\n".join(lines_of(model)) + "\n"
    if told.trees is None:
        print(lines, end="")
    else:
        told.trees.write_text(lines, encoding="utf-8")


if __name__ == "__main__":
    main()
