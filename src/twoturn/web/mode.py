"""How the bench is served: for one person on this machine, or for a workshop's network."""

from __future__ import annotations

from dataclasses import dataclass, field

from twoturn.web.security.setup_code import SetUpCode

DEFAULT_PORT = 8642
LOOPBACK_NAMES = ("localhost", "127.0.0.1", "::1")


@dataclass(frozen=True)
class Mode:
    """How and where the bench is served.

    Attributes
    ----------
    lan
        True on a network: people sign in. False on loopback: one person, no sign-in.
    tls
        True where the bench speaks TLS itself or stands behind something that does.
    names
        Further names by which the bench is reached (``--name``).
    addresses
        Addresses to show to people, the likeliest first.
    fingerprint
        SHA-256 of a certificate made here, as browsers show it; empty without one.
    setup_code
        The one-time code asked at the first start on a network; None when it is not needed.
    """

    lan: bool = False
    tls: bool = False
    names: tuple[str, ...] = ()
    addresses: tuple[str, ...] = ()
    fingerprint: str = ""
    setup_code: SetUpCode | None = field(default=None, compare=False)
