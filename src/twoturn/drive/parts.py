"""The parts of a drive after its file was understood: shafts, pulleys, belts, with every name and sense settled.

Axes as seen by a person who looks at the belt end of the engine: x right, y up, origin at the crankshaft's centre.
Clock angles: 0 at twelve o'clock, clockwise positive.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from fractions import Fraction

from twoturn.drive.model.belts import BeltTable, PulleyTable, Role, ShaftTable
from twoturn.drive.model.file import DriveFile
from twoturn.drive.model.tensioners import Tensioner


@dataclass(frozen=True)
class Shaft:
    """What turns together.

    Attributes
    ----------
    id, role
        Its name in the file and what it is.
    ratio
        Turns per crank turn [-], exact, negative when it turns against the crankshaft; None for an idler or a shaft
        whose driving tooth counts are not given.
    phased
        Whether it must agree with the crankshaft.
    table
        The ``[[shaft]]`` table, where the file has one.
    """

    id: str
    role: Role
    ratio: Fraction | None
    phased: bool
    table: ShaftTable | None = None

    @property
    def hub(self) -> str:
        """How the sprocket sits on its shaft: as the file says, else ``"keyed"``."""
        return (self.table.hub if self.table else None) or "keyed"


@dataclass(frozen=True)
class Pulley:
    """One wheel of one belt.

    Attributes
    ----------
    inside
        True when the belt's toothed side touches it (it sits inside the loop), False under the back.
    toothed
        True when it has teeth.
    centre_mm
        Centre (x, y) at the reference temperature [mm]; None for a list drive and for a tensioner pulley.
    centre_u_mm
        Standard uncertainty of each coordinate [mm]; None where none is given (1 mm is then assumed where needed).
    is_tensioner
        True when a tensioner carries it, or when its role is tensioner and nothing tells where it is.
    table
        Its table in the file.
    """

    id: str
    shaft: str
    role: Role
    inside: bool
    teeth: int | None
    centre_mm: tuple[float, float] | None
    centre_u_mm: tuple[float, float] | None
    is_tensioner: bool
    table: PulleyTable

    @property
    def toothed(self) -> bool:
        """True when it has teeth."""
        return self.teeth is not None


@dataclass(frozen=True)
class Belt:
    """One belt and the pulleys it runs over, in order along travel; the first one drives it.

    Attributes
    ----------
    sense
        +1 when pulleys inside the loop turn clockwise, −1 when counter-clockwise.
    tensioners
        The tensioner tables on this belt, in file order.
    parts
        By pulley id (a tensioner's: of its bolt or pivot), how one standard uncertainty of every measured distance
        moves it together with the others, x + i·y [mm]; empty where no distances were measured.
    """

    id: str
    sense: int
    pulleys: tuple[Pulley, ...]
    tensioners: tuple[Tensioner, ...]
    table: BeltTable
    parts: dict[str, tuple[complex, ...]] = field(default_factory=dict)

    @property
    def driver(self) -> Pulley:
        """The pulley that drives this belt."""
        return self.pulleys[0]

    @property
    def marked(self) -> tuple[Pulley, ...]:
        """The toothed pulleys that carry a timing mark, in belt order."""
        return tuple(pulley for pulley in self.pulleys if pulley.toothed and pulley.table.mark_deg is not None)

    @property
    def has_coordinates(self) -> bool:
        """True when every pulley but the tensioners' has a centre and a pitch is given."""
        return self.table.pitch_mm is not None and all(
            pulley.centre_mm is not None or pulley.is_tensioner for pulley in self.pulleys
        )

    def pulley(self, pulley_id: str) -> Pulley:
        """The pulley of that id; KeyError when the belt has none."""
        for pulley in self.pulleys:
            if pulley.id == pulley_id:
                return pulley
        raise KeyError(pulley_id)


@dataclass(frozen=True)
class Drive:
    """The timing drive of one engine type, understood.

    Attributes
    ----------
    crank_sense
        +1 when the crankshaft turns clockwise, −1 counter-clockwise.
    distances
        Residuals of measured centre distances [mm] by "a:b", where coordinates were solved from them.
    file
        The drive file as written: requirements, fasteners, pins and what else the plan needs.
    """

    name: str
    source: str
    crank_sense: int
    shafts: tuple[Shaft, ...]
    belts: tuple[Belt, ...]
    distances: dict[str, float]
    file: DriveFile

    def shaft(self, shaft_id: str) -> Shaft:
        """The shaft of that id; KeyError when there is none."""
        for shaft in self.shafts:
            if shaft.id == shaft_id:
                return shaft
        raise KeyError(shaft_id)

    @property
    def crankshaft(self) -> Shaft:
        """The crankshaft."""
        return next(shaft for shaft in self.shafts if shaft.role == "crankshaft")

    @property
    def is_list(self) -> bool:
        """True when no belt has coordinates: enough for plan and proof, not for geometry."""
        return not any(belt.has_coordinates for belt in self.belts)
