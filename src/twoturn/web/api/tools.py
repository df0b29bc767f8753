"""Torque tools by the API: listed, kept, changed, calibrated."""

from __future__ import annotations

from typing import Annotated

from pydantic import Field

from twoturn.acts.shop import tools as acts
from twoturn.store.records.tools import Calibration, Tool
from twoturn.web.api.bounds import Asked, Day, Line, Name
from twoturn.web.api.endpoint import Call, endpoint
from twoturn.web.api.texts import texts_of

FORM_NAMES = {"class_": "class", "low_nm": "low", "high_nm": "high", "valid_months": "months"}
Torque = Annotated[float, Field(ge=0.01, le=acts.MOST_NM, description="[N·m]")]


class ToolSent(Asked):
    """A torque tool as it is to be kept; what is left out is not known."""

    name: Annotated[Name, Field(description="as painted on it; entries tell tools by it")]
    type: Annotated[Line, Field(description=", ".join(acts.TYPES))] = acts.TYPES[0]
    class_: Annotated[Line | None, Field(description="class of the standard it is calibrated by")] = None
    low_nm: Torque | None = None
    high_nm: Torque | None = None
    number: Annotated[Line | None, Field(description="the maker's number")] = None
    active: Annotated[bool, Field(description="whether it is used")] = True


class CalibrationSent(Asked):
    """A calibration of a tool."""

    on: Day
    valid_months: Annotated[int | None, Field(ge=1, le=60)] = None
    source: Annotated[Line | None, Field(description="where it is from, such as the laboratory's name")] = None


@endpoint("GET", "/api/tools", "viewer")
def list_tools(call: Call) -> tuple[acts.ToolLine, ...]:
    """Every torque tool with its calibrations, those in use first."""
    return acts.tools_page(call.shop)


@endpoint("POST", "/api/tools", "technician", status=201)
def keep_tool(call: Call, body: ToolSent) -> Tool:
    """Keep a new torque tool."""
    return acts.save_tool(call.shop, call.actor, texts_of(body, FORM_NAMES))


@endpoint("GET", "/api/tools/{tool:int}", "viewer")
def show_tool(call: Call) -> acts.ToolLine:
    """A torque tool with its calibrations."""
    return acts.tool_page(call.shop, call.number("tool"))


@endpoint("PUT", "/api/tools/{tool:int}", "technician")
def change_tool(call: Call, body: ToolSent) -> Tool:
    """Keep a torque tool in place of what was known of it."""
    return acts.save_tool(call.shop, call.actor, texts_of(body, FORM_NAMES), call.number("tool"))


@endpoint("POST", "/api/tools/{tool:int}/calibrations", "technician", status=201)
def add_calibration(call: Call, body: CalibrationSent) -> Calibration:
    """Add a calibration of a torque tool."""
    return acts.add_calibration(call.shop, call.actor, call.number("tool"), texts_of(body, FORM_NAMES))


ENDPOINTS = (list_tools, keep_tool, show_tool, change_tool, add_calibration)
