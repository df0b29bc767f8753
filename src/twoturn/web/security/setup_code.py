"""The one-time code of the first start on a network: whoever reads the terminal sets the bench up, nobody else."""

from __future__ import annotations

import secrets

from twoturn.errors import TwoTurnError

TRIES = 20
"""Wrong tries before the code is void; 20 in 10^8 cannot be guessed."""


class SetUpCode:
    """Eight digits, printed in the terminal, good for one set-up.

    Attributes
    ----------
    digits
        The code as it is typed.
    """

    def __init__(self, digits: str | None = None) -> None:
        self.digits = digits or f"{secrets.randbelow(10**8):08d}"
        self._left = TRIES

    @property
    def shown(self) -> str:
        """The code as it is printed, in two groups."""
        return f"{self.digits[:4]} {self.digits[4:]}"

    def check(self, typed: str) -> None:
        """Compare what was typed; blanks do not count.

        Raises
        ------
        TwoTurnError
            Not the code, or too many wrong tries.
        """
        if self._left <= 0:
            raise TwoTurnError(
                "the set-up code was typed wrongly too often and is void", next_step="stop the bench and start it again"
            )
        if not secrets.compare_digest("".join(typed.split()).encode(), self.digits.encode()):
            self._left -= 1
            raise TwoTurnError(
                f"{typed.strip()[:20]!r} is not the set-up code",
                allowed="the eight digits printed in the terminal that runs the bench",
            )
