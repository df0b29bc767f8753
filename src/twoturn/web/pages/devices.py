"""Other devices: the address of the bench, as text and as a code for a camera."""

from __future__ import annotations

from markupsafe import Markup
from starlette.requests import Request
from starlette.responses import Response

from twoturn.web.page import Page
from twoturn.web.show import show


async def devices(request: Request) -> Response:
    """How a tablet or phone gets here."""
    from twoturn.web.codes import code_svg

    mode = request.state.visit.mode
    shown = [address for address in mode.addresses if mode.lan and "//localhost:" not in address]
    codes = [(address, Markup(code_svg(address))) for address in shown]  # noqa: S704 - made here, of our own address
    return show(request, "devices/devices.html", codes=codes, fingerprint=mode.fingerprint)


PAGES = (Page("/devices", devices, "viewer"),)
