"""Forged forms: every request that changes something carries a token that only this bench's pages know.

The token is made from the secret in the visitor's cookie (which no script can read) by a keyed hash, so that nothing
has to be stored and it lasts as long as the cookie.
"""

from __future__ import annotations

import hashlib
import hmac
from functools import lru_cache

from starlette.requests import Request

from twoturn.web.refused import Refused

FIELD = "csrf"
HEADER = "x-csrf"


@lru_cache(maxsize=200)
def token_of(secret: str) -> str:
    """The token for forms of the visitor whose cookie holds ``secret``."""
    return hmac.new(secret.encode(), b"twoturn form token", hashlib.sha256).hexdigest()


async def check_token(request: Request, secret: str, max_files: int) -> None:
    """Refuse a request without the token, in the header or in the form.

    Raises
    ------
    Refused
        403.
    """
    given = request.headers.get(HEADER)
    if given is None and _is_form(request):
        form = await request.form(max_files=max_files, max_fields=2000, max_part_size=200_000)
        given = str(form.get(FIELD, ""))
    if not hmac.compare_digest((given or "").encode(), token_of(secret).encode()):
        raise Refused(
            403,
            "this form is not from a page of this bench that is still in force",
            next_step="go back, load the page anew and send it again",
        )


def _is_form(request: Request) -> bool:
    kind = request.headers.get("content-type", "").split(";")[0].strip().lower()
    return kind in {"application/x-www-form-urlencoded", "multipart/form-data"}
