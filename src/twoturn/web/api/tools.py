"""Torque tools by the API: listed, kept, changed, calibrated."""

from __future__ import annotations

from typing import Annotated, Any

from pydantic import Field
from starlette.responses import FileResponse, Response

from twoturn.acts.shop import tools as acts
from twoturn.store.records.tools import Calibration, Tool
from twoturn.web.api.bounds import Asked, Day, Line, Name, Told
from twoturn.web.api.endpoint import Call, endpoint
from twoturn.web.api.read import Upload
from twoturn.web.api.texts import texts_of
from twoturn.web.page import MEGABYTE

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
    certificate: Annotated[
        str | None,
        Field(pattern="^[0-9a-f]{64}$", description="SHA-256 of a certificate that was sent before"),
    ] = None
    source: Annotated[Line | None, Field(description="where it is from, such as the laboratory's name")] = None


class CertificateTold(Told):
    """A calibration certificate that was kept, and what it says where it is a digital one."""

    sha256: str
    name: str
    says: Annotated[dict[str, str], Field(description="day, months, source, range and number, as the forms hold them")]
    doubts: list[str]


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


@endpoint(
    "POST", "/api/tools/certificates", "technician", status=201, answer=CertificateTold, refuses=(400,), kinds=(),
    limit_bytes=acts.MOST_CERTIFICATE_BYTES + MEGABYTE,
)  # fmt: skip
def read_certificate(call: Call, upload: Upload) -> dict[str, Any]:
    """Keep a calibration certificate and read it where it is a digital one; its calibration is added on its own."""
    read = acts.read_certificate(call.shop, call.actor, upload.stream, upload.name)
    says = {name: text for name, text in acts.certificate_texts(read).items() if name != "certificate"}
    doubts = list(read.certificate.doubts) if read.certificate else []
    return {"sha256": read.sha256, "name": read.name, "says": says, "doubts": doubts}


@endpoint(
    "GET",
    "/api/tools/{tool:int}/certificates/{sha256:str}",
    "viewer",
    media=("application/xml", "application/pdf", "image/jpeg", "image/png"),
)
def fetch_certificate(call: Call) -> Response:
    """The file of a tool's certificate."""
    found = acts.certificate_file(call.shop, call.number("tool"), call.request.path_params["sha256"])
    return FileResponse(found.path, media_type=found.media_type, filename=found.name)


ENDPOINTS = (list_tools, keep_tool, show_tool, change_tool, add_calibration, read_certificate, fetch_certificate)
