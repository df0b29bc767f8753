"""Pages from templates: one environment, everything escaped, a name that is not given is a slip and not a blank."""

from __future__ import annotations

from functools import lru_cache
from typing import Any

from jinja2 import Environment, PackageLoader, StrictUndefined
from starlette.requests import Request
from starlette.responses import HTMLResponse

from twoturn.web.assets import assets
from twoturn.web.security.sessions import Visit


@lru_cache(maxsize=1)
def environment() -> Environment:
    """The templates of the package."""
    from twoturn.web.words import FILTERS
    from twoturn.words.cautions import DEFERENCE

    made = Environment(
        loader=PackageLoader("twoturn.web", "templates"),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
        auto_reload=False,
    )
    made.globals.update(asset=assets().address, deference=DEFERENCE.replace("this sheet", "this bench"))
    made.filters.update(FILTERS)
    return made


def show(request: Request, template: str, status: int = 200, **values: Any) -> HTMLResponse:
    """The page made from ``template`` (below ``templates/``) with ``values``.

    Every template also knows ``visit`` (who asks), ``path`` (the page asked), ``asset(path)`` and ``deference``.
    """
    visit: Visit | None = getattr(request.state, "visit", None)
    text = environment().get_template(template).render(visit=visit, path=request.url.path, **values)
    return HTMLResponse(text, status_code=status)
