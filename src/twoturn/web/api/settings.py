"""Settings of the shop by the API."""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import Field

from twoturn.acts.shop import settings as acts
from twoturn.web.api.bounds import Asked, Line, Lines
from twoturn.web.api.endpoint import Call, endpoint
from twoturn.web.api.texts import texts_of


class SettingsSent(Asked):
    """The settings as they are to be."""

    shop_name: Line = ""
    address: Annotated[Lines, Field(description="as printed on papers, with its lines")] = ""
    telephone: Line = ""
    units: Literal["metric", "imperial"] = "metric"


@endpoint("GET", "/api/settings", "viewer")
def show_settings(call: Call) -> acts.Settings:
    """The settings of the shop."""
    return acts.settings(call.shop)


@endpoint("PUT", "/api/settings", "lead")
def save_settings(call: Call, body: SettingsSent) -> acts.Settings:
    """Keep the settings of the shop."""
    return acts.save_settings(call.shop, call.actor, texts_of(body))


ENDPOINTS = (show_settings, save_settings)
