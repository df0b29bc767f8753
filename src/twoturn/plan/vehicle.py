"""What is known of the vehicle on the ramp; None where nobody has said."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True)
class VehicleFacts:
    """The vehicle, as far as the plan needs it.

    Attributes
    ----------
    hybrid, stop_start
        Whether it has a high-voltage drive, whether it stops and starts its engine by itself.
    fuel
        ``"petrol"``, ``"diesel"`` or ``"gas"``.
    belt_broken
        Whether the belt broke or jumped before the job.
    registration
        Its registration, printed on the plan.
    """

    hybrid: bool | None = None
    stop_start: bool | None = None
    fuel: str | None = None
    belt_broken: bool | None = None
    registration: str = ""

    @property
    def words(self) -> str:
        """The known facts in one line; empty when nothing is known."""
        yes_no = {
            "hybrid": (self.hybrid, "hybrid", "no hybrid"),
            "stop_start": (self.stop_start, "stop-start", "no stop-start"),
            "belt_broken": (self.belt_broken, "belt broken or jumped", "belt whole on arrival"),
        }
        said = [yes if fact else no for fact, yes, no in yes_no.values() if fact is not None]
        return ", ".join([word for word in (self.registration, self.fuel) if word] + said)
