"""Settings: of this device for everybody, of the shop for a lead."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import asdict

from starlette.requests import Request
from starlette.responses import RedirectResponse, Response

from twoturn.acts.shop.forms import FormRefused
from twoturn.web.forms.read import texts
from twoturn.web.page import Page
from twoturn.web.security.sessions import THEMES
from twoturn.web.show import show
from twoturn.web.workers import in_thread

YEAR_S = 365 * 24 * 3600


async def settings_page(request: Request) -> Response:
    """Light or dark, the units, and the shop's name and address."""
    return _page(request)


async def device_save(request: Request) -> Response:
    """Keep on this device how pages look and in which units numbers are."""
    visit, form = request.state.visit, await texts(request)
    response = RedirectResponse("/settings?said=kept", 303)
    chosen = {"theme": (form.get("theme", ""), THEMES), "units": (form.get("units", ""), ("metric", "imperial"))}
    for name, (value, allowed) in chosen.items():
        if value in allowed:
            response.set_cookie(name, value, YEAR_S, path="/", secure=visit.mode.tls, httponly=True, samesite="lax")
        else:
            response.delete_cookie(name, path="/", secure=visit.mode.tls, httponly=True, samesite="lax")
    return response


async def shop_save(request: Request) -> Response:
    """Keep the shop's settings."""
    from twoturn.acts.shop.settings import save_settings

    visit, form = request.state.visit, await texts(request)
    try:
        await in_thread(save_settings, visit.shop, visit.actor, form)
    except FormRefused as error:
        return _page(request, form, error)
    return RedirectResponse("/settings?said=kept", 303)


def _page(request: Request, typed: Mapping[str, str] | None = None, error: FormRefused | None = None) -> Response:
    from twoturn.acts.shop.settings import settings

    return show(
        request, "settings/settings.html", 422 if error else 200,
        typed=typed or asdict(settings(request.state.visit.shop)), error=error,
        faults=error.fields if error else {}, said=request.query_params.get("said") == "kept",
    )  # fmt: skip


PAGES = (
    Page("/settings", settings_page, "viewer"),
    Page("/settings/device", device_save, "viewer", ("POST",)),
    Page("/settings/shop", shop_save, "lead", ("POST",)),
)
