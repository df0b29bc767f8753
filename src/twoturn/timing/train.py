"""How shafts hang on the crankshaft, by belts and links: what moves when a sprocket is a tooth out."""

from __future__ import annotations

from dataclasses import dataclass

from twoturn.drive.parts import Belt, Drive, Pulley
from twoturn.drive.turning import deg_per_tooth
from twoturn.timing.priors import REST_SIGMA_DEG


@dataclass(frozen=True)
class Step:
    """One shaft and what turns it.

    Attributes
    ----------
    shaft, parent
        Shaft ids; the parent is nearer the crankshaft.
    belt
        Id of the belt between them; None for a chain or gears, which keep their teeth.
    sprocket, driver
        Names of the two sprockets whose slips count: the shaft's id, or the pulley's where a shaft has several.
    deg_per_tooth
        Crank degrees a belt tooth moves the shaft [°]; 0 for a link.
    teeth
        Teeth of the sprocket [-]; 0 for a link.
    rest_sigma_deg
        Prior standard deviation of the rest on this hub [crank degrees].
    period_deg
        A whole turn of the shaft [crank degrees].
    """

    shaft: str
    parent: str
    belt: str | None
    sprocket: str
    driver: str
    deg_per_tooth: float
    teeth: int
    rest_sigma_deg: float
    period_deg: float


@dataclass(frozen=True)
class Train:
    """Every shaft whose phase is settled by teeth, parents first.

    Attributes
    ----------
    crank
        Id of the crankshaft.
    crank_sigma_deg
        Prior standard deviation of the rest on the crankshaft's own hub, 0 when keyed [crank degrees].
    steps
        One a shaft, the crankshaft excepted.
    """

    crank: str
    crank_sigma_deg: float
    steps: tuple[Step, ...]

    def index(self, shaft: str) -> int:
        """Index of a shaft's step; KeyError when it hangs on nothing."""
        return {step.shaft: at for at, step in enumerate(self.steps)}[shaft]

    def first_driven_by(self, sprocket: str) -> list[int]:
        """Index of the first step that a sprocket drives by a belt, in a list; empty when it drives none."""
        return [at for at, step in enumerate(self.steps) if step.driver == sprocket][:1]

    def line(self, shaft: str) -> list[int]:
        """Indices of the steps from the crankshaft to a shaft, itself last; empty for the crankshaft."""
        found: list[int] = []
        known = {step.shaft: at for at, step in enumerate(self.steps)}
        while shaft != self.crank:
            found.append(known[shaft])
            shaft = self.steps[known[shaft]].parent
        return found[::-1]


def train_of(drive: Drive) -> Train:
    """The train of a drive: belts first, in file order, then links, until nothing more is reached."""
    crank = drive.crankshaft
    reached = {crank.id}
    steps: list[Step] = []
    names = _sprocket_names(drive)
    size = -1
    while size != len(reached):
        size = len(reached)
        for belt in drive.belts:
            if belt.driver.shaft in reached:
                for pulley in belt.pulleys[1:]:
                    step = _belt_step(drive, belt, pulley, names)
                    if step is not None and pulley.shaft not in reached:
                        steps.append(step)
                        reached.add(pulley.shaft)
        for link in drive.file.link:
            for parent, shaft in ((link.from_, link.to), (link.to, link.from_)):
                if parent in reached and shaft not in reached:
                    steps.append(_link_step(drive, parent, shaft))
                    reached.add(shaft)
    sigma = 0.0 if crank.hub == "keyed" else REST_SIGMA_DEG[crank.hub]
    return Train(crank.id, sigma, tuple(steps))


def _sprocket_names(drive: Drive) -> dict[str, str]:
    """By pulley id: its shaft's id when it is that shaft's first toothed pulley, else its own."""
    names: dict[str, str] = {}
    for belt in drive.belts:
        for pulley in belt.pulleys:
            if pulley.toothed:
                names[pulley.id] = pulley.id if pulley.shaft in names.values() else pulley.shaft
    return names


def _belt_step(drive: Drive, belt: Belt, pulley: Pulley, names: dict[str, str]) -> Step | None:
    moves = deg_per_tooth(drive, pulley)
    shaft = drive.shaft(pulley.shaft)
    if moves is None or pulley.teeth is None or not belt.driver.toothed:
        return None
    return Step(
        shaft=shaft.id,
        parent=belt.driver.shaft,
        belt=belt.id,
        sprocket=names[pulley.id],
        driver=names[belt.driver.id],
        deg_per_tooth=float(moves),
        teeth=pulley.teeth,
        rest_sigma_deg=REST_SIGMA_DEG[shaft.hub],
        period_deg=float(moves) * pulley.teeth,
    )


def _link_step(drive: Drive, parent: str, shaft_id: str) -> Step:
    shaft = drive.shaft(shaft_id)
    ratio = abs(float(shaft.ratio)) if shaft.ratio else 0.5
    return Step(shaft_id, parent, None, "", "", 0.0, 0, REST_SIGMA_DEG[shaft.hub], 360.0 / ratio)
