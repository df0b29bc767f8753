"""What a calibration certificate says of a torque tool."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

from twoturn.errors import TwoTurnError
from twoturn.fastener.torque_tools import TorqueTool


class CertificateError(TwoTurnError):
    """A file that is no calibration certificate of one torque tool."""


@dataclass(frozen=True)
class Point:
    """One torque at which the tool was compared with the reference.

    Attributes
    ----------
    set_nm
        What the tool was set to or showed [N·m].
    reference_nm
        What the reference measured [N·m]; None where the certificate does not say.
    deviation
        (set − reference)/reference [-], as ISO 6789 has it; None where it can neither be read nor computed.
    expanded
        Expanded uncertainty of the deviation [-]; None where the certificate does not say.
    coverage
        Coverage factor k of that uncertainty [-]; None where it does not say.
    before_adjustment
        True for a value from before the tool was adjusted: it no longer tells how the tool is.
    """

    set_nm: float
    reference_nm: float | None = None
    deviation: float | None = None
    expanded: float | None = None
    coverage: float | None = None
    before_adjustment: bool = False


@dataclass(frozen=True)
class TorqueCertificate:
    """A calibration certificate of one torque tool.

    Attributes
    ----------
    number
        The certificate's own number.
    laboratory
        Who calibrated it.
    calibrated
        The last day of the calibration.
    valid_until
        Day of recalibration where the certificate states one.
    item, manufacturer, model, serial
        What was calibrated; empty where not stated.
    low_nm, high_nm
        Range [N·m]: as stated, or from the lowest to the highest torque that was compared.
    range_stated
        True where the certificate states the range itself.
    points
        The torques compared, as listed.
    norms
        Standards it names.
    conformity
        ``"pass"``, ``"fail"`` or another word of the schema; empty where nothing is stated.
    signed
        Whether it carries an electronic signature; it is not verified here.
    schema_version
        Version of the schema it says it follows.
    doubts
        Sentences on what is missing or at odds.
    """

    number: str
    laboratory: str
    calibrated: date
    valid_until: date | None
    item: str
    manufacturer: str
    model: str
    serial: str
    low_nm: float
    high_nm: float
    range_stated: bool
    points: tuple[Point, ...]
    norms: tuple[str, ...]
    conformity: str
    signed: bool
    schema_version: str
    doubts: tuple[str, ...] = ()

    @property
    def greatest_deviation(self) -> float | None:
        """Greatest deviation, either way, of the tool as it left the laboratory [-]; None where none is stated."""
        found = [abs(p.deviation) for p in self.points if p.deviation is not None and not p.before_adjustment]
        return max(found, default=None)

    def as_tool(self, name: str, kind: str = "II A") -> TorqueTool:
        """The tool as the workshop keeps it, under a name of its own and with type and class by ISO 6789."""
        return TorqueTool(name, self.low_nm, self.high_nm, kind, calibrated=self.calibrated, due=self.valid_until)
