"""How much may be sent: refused at once when too much is announced, and while it arrives when more comes."""

from __future__ import annotations

from starlette.types import Message, Receive, Scope

from twoturn.web.refused import Refused


def limited(scope: Scope, receive: Receive, limit_bytes: int) -> Receive:
    """``receive``, which refuses more than ``limit_bytes`` [bytes].

    Raises
    ------
    Refused
        413, at once by the announced length, or from ``receive`` while the body arrives.
    """
    announced = dict(scope["headers"]).get(b"content-length", b"0")
    if not announced.isdigit():
        raise Refused(400, "the length of what was sent is not a number")
    if int(announced) > limit_bytes:
        raise _too_much(limit_bytes)
    seen = 0

    async def counted() -> Message:
        nonlocal seen
        message = await receive()
        if message["type"] == "http.request":
            seen += len(message.get("body", b""))
            if seen > limit_bytes:
                raise _too_much(limit_bytes)
        return message

    return counted


def _too_much(limit_bytes: int) -> Refused:
    size = f"{limit_bytes / 1e6:g} MB" if limit_bytes >= 1_000_000 else f"{limit_bytes / 1e3:g} kB"
    return Refused(413, "what was sent is too large", allowed=f"at most {size}", next_step="send a smaller file")
