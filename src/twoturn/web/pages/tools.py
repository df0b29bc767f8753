"""The drawer of torque tools: its pages."""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING

from starlette.requests import Request
from starlette.responses import FileResponse, RedirectResponse, Response

from twoturn.acts.shop.forms import FormRefused
from twoturn.errors import TwoTurnError
from twoturn.fastener.torque_tools import TOOL_KINDS
from twoturn.web.forms.once import new_key, once
from twoturn.web.forms.read import file_of, texts
from twoturn.web.page import MEGABYTE, Page
from twoturn.web.refused import status_of
from twoturn.web.show import show
from twoturn.web.workers import in_thread

if TYPE_CHECKING:
    from twoturn.acts.shop.tools import Paper
    from twoturn.job.asked.model import Units
    from twoturn.store.records.tools import Tool

MOST_UPLOAD = 21 * MEGABYTE


async def tools(request: Request) -> Response:
    """Every tool, and until when its calibration holds."""
    return _drawer(request)


async def tool_new(request: Request) -> Response:
    """The form of a new tool."""
    return _form(request, {})


async def tool_add(request: Request) -> Response:
    """Keep a new tool."""
    from twoturn.acts.shop.tools import save_tool

    visit, form = request.state.visit, await texts(request)
    units = _units(request)
    try:
        kept = await once(request, form, lambda: save_tool(visit.shop, visit.actor, form, units=units))
    except FormRefused as error:
        return _form(request, form, error=error)
    return RedirectResponse(f"/tools/{kept.id}", 303)


async def tool(request: Request) -> Response:
    """A tool and its calibrations."""
    return _page(request)


async def tool_change(request: Request) -> Response:
    """The form of a tool, filled in."""
    from twoturn.acts.shop.tools import tool_page

    number = request.path_params["tool"]
    return _form(request, _typed(tool_page(request.state.visit.shop, number).tool), number)


async def tool_save(request: Request) -> Response:
    """Keep a tool as changed."""
    from twoturn.acts.shop.tools import save_tool

    visit, form, number = request.state.visit, await texts(request), request.path_params["tool"]
    try:
        await in_thread(save_tool, visit.shop, visit.actor, form, number, _units(request))
    except FormRefused as error:
        return _form(request, form, number, error)
    return RedirectResponse(f"/tools/{number}", 303)


async def calibration_add(request: Request) -> Response:
    """One more calibration, perhaps with its certificate."""
    from twoturn.acts.shop.tools import add_calibration

    visit, form, number = request.state.visit, await texts(request), request.path_params["tool"]
    paper = await _paper(request)
    try:
        await once(request, form, lambda: add_calibration(visit.shop, visit.actor, number, form, paper))
    except TwoTurnError as error:
        return _page(request, form, error)
    return RedirectResponse(f"/tools/{number}", 303)


async def certificate_read(request: Request) -> Response:
    """Read a certificate, and ask which tool it is of."""
    from twoturn.acts.shop.tools import certificate_texts, read_certificate

    visit, paper = request.state.visit, await _paper(request)
    if paper is None:
        return _drawer(request, TwoTurnError("no file was chosen", next_step="choose the certificate's file"))
    try:
        read = await in_thread(read_certificate, visit.shop, visit.actor, paper.stream, paper.name)
    except TwoTurnError as error:
        return _drawer(request, error)
    doubts = read.certificate.doubts if read.certificate else ()
    return _certified(request, certificate_texts(read) | {"file": read.name, "doubts": "\n".join(doubts)})


async def certificate_keep(request: Request) -> Response:
    """Keep what a certificate says, for the tool that was chosen."""
    from twoturn.acts.shop.tools import keep_certified

    visit, form = request.state.visit, await texts(request)
    units = _units(request)
    try:
        kept = await once(request, form, lambda: keep_certified(visit.shop, visit.actor, form, units))
    except FormRefused as error:
        return _certified(request, form, error)
    return RedirectResponse(f"/tools/{kept.id}", 303)


async def certificate(request: Request) -> Response:
    """The file of a certificate."""
    from twoturn.acts.shop.tools import certificate_file

    asked = request.path_params
    found = certificate_file(request.state.visit.shop, asked["tool"], asked["sha256"])
    return FileResponse(found.path, media_type=found.media_type, filename=found.name)


def _drawer(request: Request, error: TwoTurnError | None = None) -> Response:
    from twoturn.acts.shop.tools import tools_page

    lines = tools_page(request.state.visit.shop)
    return show(request, "tools/tools.html", status_of(error) if error else 200, lines=lines, error=error)


def _page(request: Request, typed: Mapping[str, str] | None = None, error: TwoTurnError | None = None) -> Response:
    from twoturn.acts.shop.tools import tool_page

    line = tool_page(request.state.visit.shop, request.path_params["tool"])
    faults = getattr(error, "fields", {})
    return show(
        request, "tools/tool.html", status_of(error) if error else 200,
        line=line, typed=typed or {}, error=error, faults=faults, key=new_key(), torque=_units(request).torque,
    )  # fmt: skip


def _form(
    request: Request, typed: Mapping[str, str], number: int | None = None, error: FormRefused | None = None
) -> Response:
    from twoturn.acts.shop.tools import TYPES, torque_wanted

    return show(
        request, "tools/form.html", 422 if error else 200,
        number=number, typed=typed, error=error, faults=error.fields if error else {}, kinds=TOOL_KINDS,
        pairs=[(one, one.capitalize()) for one in TYPES],
        wanted=torque_wanted(_units(request)), key=typed.get("key") or new_key(),
    )  # fmt: skip


def _certified(request: Request, typed: Mapping[str, str], error: FormRefused | None = None) -> Response:
    from twoturn.acts.shop.tools import tools_page, torque_wanted

    return show(
        request, "tools/certificate.html", 422 if error else 200,
        typed=typed, error=error, faults=error.fields if error else {}, kinds=TOOL_KINDS,
        lines=tools_page(request.state.visit.shop), wanted=torque_wanted(_units(request)),
        key=typed.get("key") or new_key(),
    )  # fmt: skip


async def _paper(request: Request) -> Paper | None:
    from twoturn.acts.shop.tools import Paper

    sent = await file_of(request, "paper")
    return None if sent is None else Paper(sent.file, sent.filename or "certificate")


def _units(request: Request) -> Units:
    from twoturn.acts.shop.settings import units_here

    visit = request.state.visit
    return units_here(visit.shop, visit.units)


def _typed(tool: Tool) -> dict[str, str]:
    """A tool as the fields of its form hold it."""
    found = {name: getattr(tool, name) or "" for name in ("name", "type", "number")} | {"class": tool.class_ or ""}
    ends = {"low": tool.low_nm, "high": tool.high_nm}
    found |= {name: "" if value is None else f"{value:g} N·m" for name, value in ends.items()}
    return found | {"active": "yes" if tool.active else "no"}


PAGES = (
    Page("/tools", tools, "viewer"),
    Page("/tools/new", tool_new, "technician"),
    Page("/tools/new", tool_add, "technician", ("POST",)),
    Page("/tools/certificate", certificate_read, "technician", ("POST",), MOST_UPLOAD, 1),
    Page("/tools/certificate/keep", certificate_keep, "technician", ("POST",)),
    Page("/tools/{tool:int}", tool, "viewer"),
    Page("/tools/{tool:int}/change", tool_change, "technician"),
    Page("/tools/{tool:int}/change", tool_save, "technician", ("POST",)),
    Page("/tools/{tool:int}/calibrations", calibration_add, "technician", ("POST",), MOST_UPLOAD, 1),
    Page("/tools/{tool:int}/certificates/{sha256:str}", certificate, "viewer"),
)
