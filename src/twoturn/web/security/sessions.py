"""Who asks: the visitor's cookie, and the person signed in behind it."""

from __future__ import annotations

import secrets
from dataclasses import dataclass
from typing import TYPE_CHECKING

from starlette.requests import Request
from starlette.responses import Response

from twoturn.web.mode import Mode
from twoturn.web.security.csrf import token_of

if TYPE_CHECKING:
    from twoturn.acts.shop.people import Actor
    from twoturn.acts.shop.shop import Shop

WORKING_DAY_S = 16 * 3600
"""How long the cookie lasts [s]; the record decides how long the sign-in does."""
THEMES = ("system", "light", "dark")
_LEAST_SECRET = 20


@dataclass(frozen=True)
class Visit:
    """Who asks.

    Attributes
    ----------
    shop
        The shop's record.
    mode
        How the bench is served.
    actor
        The person, or None when nobody is signed in.
    secret
        What the visitor's cookie holds: the session's token once signed in, else a random text.
    new
        True when the cookie is still to be set.
    theme
        ``light``, ``dark`` or ``system``, as chosen on this device.
    units
        ``metric`` or ``imperial``, as chosen on this device; empty for the shop's.
    """

    shop: Shop
    mode: Mode
    actor: Actor | None
    secret: str
    new: bool
    theme: str = "system"
    units: str = ""

    @property
    def csrf(self) -> str:
        """The token that this visitor's forms carry."""
        return token_of(self.secret)


def cookie_name(mode: Mode) -> str:
    """Name of the visitor's cookie; under TLS it is bound to this host by its name (RFC 6265bis, ``__Host-``)."""
    return "__Host-twoturn" if mode.tls else "twoturn"


def visit_of(request: Request, shop: Shop, mode: Mode) -> Visit:
    """The visit behind a request: who is signed in by its cookie, or the one person of a bench on loopback."""
    from twoturn.acts.shop.people import the_one_person

    held = request.cookies.get(cookie_name(mode), "")
    new = len(held) < _LEAST_SECRET
    actor = _signed_in(shop, held) if mode.lan else the_one_person(shop)
    theme = request.cookies.get("theme", "system")
    units = request.cookies.get("units", "")
    return Visit(
        shop=shop,
        mode=mode,
        actor=actor,
        secret=secrets.token_urlsafe(32) if new else held,
        new=new,
        theme=theme if theme in THEMES else "system",
        units=units if units in {"metric", "imperial"} else "",
    )


def _signed_in(shop: Shop, held: str) -> Actor | None:
    from twoturn.acts.shop.people import actor_of

    return None if len(held) < _LEAST_SECRET else actor_of(shop, held)


def set_cookie(response: Response, mode: Mode, secret: str) -> None:
    """Give the visitor's cookie: no script reads it, no other site sends it, never in the clear under TLS."""
    response.set_cookie(
        cookie_name(mode),
        secret,
        max_age=WORKING_DAY_S,
        path="/",
        secure=mode.tls,
        httponly=True,
        samesite="strict",
    )
