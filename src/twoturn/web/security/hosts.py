"""By which names the bench may be asked, and from which pages forms may come.

On loopback only loopback names are answered: a page elsewhere whose name was bent to this machine (DNS rebinding) gets
nothing. On a network any address in digits is answered, since an address cannot be bent, and the names of this host.
"""

from __future__ import annotations

import ipaddress
import socket
from contextlib import suppress
from functools import lru_cache
from urllib.parse import urlsplit

from starlette.requests import HTTPConnection

from twoturn.web.mode import LOOPBACK_NAMES, Mode
from twoturn.web.refused import Refused


def check_host(connection: HTTPConnection, mode: Mode) -> None:
    """Refuse a request under a name that is not this bench's.

    Raises
    ------
    Refused
        421, with what to set.
    """
    host = connection.headers.get("host", "")
    name = host_name(host)
    if _is_ours(name, mode):
        return
    if mode.lan:
        step = f"start it with --name {name or 'NAME'}, or open it by the address it printed"
    else:
        step = "open it by the address it printed; for other machines start it with twoturn serve --lan"
    raise Refused(421, f"this bench is not asked as {host[:80]!r}", next_step=step)


def check_origin(connection: HTTPConnection, mode: Mode) -> None:
    """Refuse a form that another site sent.

    Raises
    ------
    Refused
        403, with what to set when a name in between is the reason.
    """
    origin = connection.headers.get("origin")
    site = connection.headers.get("sec-fetch-site", "same-origin")
    if origin is None and site in {"same-origin", "none"}:
        return  # no browser page, or an old one: the form's token decides
    host = connection.headers.get("host", "")
    if origin is not None and origin != "null":
        sender = urlsplit(origin).netloc.lower()
        if sender == host.lower() or host_name(sender) in {name.lower() for name in mode.names}:
            return
    raise Refused(
        403,
        f"this form came from {(origin or site)[:80]!r}, but the bench is asked as {host[:80]!r}",
        next_step="open the bench's own page; if something in between changes the name, start it with --name NAME",
    )


def host_name(host: str) -> str:
    """The name in ``name:port`` or ``[address]:port``, in small letters; empty where there is none."""
    try:
        return (urlsplit(f"//{host}").hostname or "").lower()
    except ValueError:
        return ""


@lru_cache(maxsize=1)
def names_of_this_host() -> tuple[str, ...]:
    """Names other machines may know this one by."""
    name = socket.gethostname().lower()
    short = name.split(".")[0]
    return (name, short, f"{short}.local")


def addresses_here() -> tuple[str, ...]:
    """Addresses in digits under which other devices of the network reach this machine, the likeliest first."""
    found: list[str] = []
    with socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as asking, suppress(OSError):
        asking.connect(("192.0.2.1", 9))  # an address of RFC 5737: nothing is sent, the route alone is looked up
        found.append(asking.getsockname()[0])
    with suppress(OSError):
        found += [str(row[4][0]) for row in socket.getaddrinfo(socket.gethostname(), None, socket.AF_INET)]
    others = [address for address in dict.fromkeys(found) if not ipaddress.ip_address(address).is_loopback]
    return tuple(others)


def _is_ours(name: str, mode: Mode) -> bool:
    if name in LOOPBACK_NAMES or name in {extra.lower() for extra in mode.names}:
        return True
    if not mode.lan or not name:
        return False
    try:
        ipaddress.ip_address(name)
    except ValueError:
        return name in names_of_this_host()
    return True
