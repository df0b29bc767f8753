"""Serving the bench: the port is taken first, then the folder; then the record is opened and pages are given."""

from __future__ import annotations

import errno
import os
import socket
import sys
import threading
import time
import webbrowser
from collections.abc import Callable, Iterator
from contextlib import suppress
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

from twoturn.errors import TwoTurnError
from twoturn.web.codes import code_lines
from twoturn.web.mode import DEFAULT_PORT, Mode
from twoturn.web.security.hosts import addresses_here, names_of_this_host
from twoturn.web.security.setup_code import SetUpCode

if TYPE_CHECKING:
    import uvicorn
    from starlette.applications import Starlette

    from twoturn.acts.shop.certificate import Certificate
    from twoturn.acts.shop.shop import Shop

SWITCH_S = 0.001
"""After which time a thread that works something out lets the pages have their turn [s]."""
KEEP_ALIVE_S = 75
"""For how long a device's connection is kept between two taps, so that TLS need not be begun anew [s]."""
LOOPBACK, EVERYWHERE = "127.0.0.1", "0.0.0.0"  # noqa: S104 - only with --lan, with TLS and sign-in


class PortInUse(TwoTurnError):  # noqa: N818 - it says what is the matter
    """Something listens at the port already."""


@dataclass(frozen=True)
class Serving:
    """How a bench is to be served.

    Attributes
    ----------
    port
        Port [-]; 0 takes a free one.
    folder
        The data folder; the usual one when None.
    browser
        Whether a browser opens on it.
    lan
        Whether other devices of the network may come, with TLS and sign-in.
    certificate, key
        Certificate and key to use on a network; one is made when both are None.
    names
        Further names by which the bench is reached.
    """

    port: int = DEFAULT_PORT
    folder: Path | None = None
    browser: bool = False
    lan: bool = False
    certificate: Path | None = None
    key: Path | None = None
    names: tuple[str, ...] = ()


def serve(serving: Serving, say: Callable[[str], None]) -> None:
    """Serve the bench until it is stopped; ``say`` is given each line for the person who started it.

    Raises
    ------
    TwoTurnError
        The port is taken, another bench runs on the folder, or record or certificate cannot be used.
    """
    from twoturn.acts.shop.drives import ensure_shipped
    from twoturn.acts.shop.running import running_shop
    from twoturn.acts.shop.warm import warm_up
    from twoturn.web.app import make_app

    with taken(EVERYWHERE if serving.lan else LOOPBACK, serving.port) as listening:
        addresses = _addresses(serving, listening.getsockname()[1])
        with running_shop(serving.folder, addresses[0]) as shop:
            ensure_shipped(shop)
            certificate = _certificate(serving, shop)
            mode = mode_of(serving, shop, addresses, certificate)
            server = server_of(make_app(shop, mode), certificate)
            for line in said(mode, shop):
                say(line)
            threading.Thread(target=warm_up, args=(shop,), daemon=True).start()
            if serving.browser:
                threading.Thread(target=_open_when_up, args=(server, addresses[-1]), daemon=True).start()
            sys.setswitchinterval(SWITCH_S)
            with suppress(KeyboardInterrupt):
                server.run(sockets=[listening])


def mode_of(serving: Serving, shop: Shop, addresses: tuple[str, ...], certificate: Certificate | None) -> Mode:
    """How the bench is served; on a network with a set-up code while nobody can sign in."""
    from twoturn.acts.shop.people import needs_set_up

    return Mode(
        lan=serving.lan,
        tls=certificate is not None,
        names=serving.names,
        addresses=addresses,
        fingerprint=certificate.fingerprint if certificate else "",
        setup_code=SetUpCode() if serving.lan and needs_set_up(shop) else None,
    )


def said(mode: Mode, shop: Shop) -> Iterator[str]:
    """The lines for the person who started the bench."""
    if not mode.lan:
        yield f"twoturn runs at {mode.addresses[0]} for this computer alone."
    else:
        yield "twoturn runs for the devices of this network at"
        yield from (f"  {address}" for address in mode.addresses)
        yield ""
        yield from code_lines(mode.addresses[0])
        yield ""
    if mode.fingerprint:
        yield "Its certificate was made here: a browser warns once. Compare the SHA-256 fingerprint before going on:"
        yield f"  {mode.fingerprint}"
    if mode.setup_code is not None:
        yield f"First start: open the page and type the set-up code {mode.setup_code.shown}"
    yield f"The record is in {shop.place.folder}. Stop the bench with Ctrl+C."


def taken(host: str, port: int) -> socket.socket:
    """A socket that listens at host and port.

    It names TCP as its protocol: only then does asyncio send what is written at once. Else the last part of an answer
    waits for the browser to acknowledge the first, which browsers put off by 40 ms.

    Raises
    ------
    PortInUse, TwoTurnError
        It cannot be had.
    """
    if not 0 <= port <= 65535:
        raise TwoTurnError(f"{port} is no port", allowed="1024 to 65535")
    try:
        made = socket.create_server((host, port), backlog=256)
        return socket.socket(made.family, made.type, socket.IPPROTO_TCP, fileno=made.detach())
    except OSError as error:
        reason = os.strerror(error.errno).lower() if error.errno else "it cannot be had"
        kind = PortInUse if error.errno == errno.EADDRINUSE else TwoTurnError
        raise kind(
            f"port {port} cannot be used: {reason}", next_step="stop what uses it, or take another with --port"
        ) from None


def server_of(app: Starlette, certificate: Certificate | None = None) -> uvicorn.Server:
    """The server for ``app``; nothing in between is believed about who asks."""
    import uvicorn

    config = uvicorn.Config(
        app,
        log_level="warning",
        lifespan="on",
        ws="none",
        server_header=False,
        proxy_headers=False,
        timeout_graceful_shutdown=5,
        timeout_keep_alive=KEEP_ALIVE_S,
        ssl_certfile=certificate.file if certificate else None,
        ssl_keyfile=certificate.key if certificate else None,
    )
    return uvicorn.Server(config)


def _addresses(serving: Serving, port: int) -> tuple[str, ...]:
    """Addresses of the pages, the likeliest first, the one for this computer last."""
    if not serving.lan:
        return (f"http://{LOOPBACK}:{port}",)
    hosts = (*serving.names, *addresses_here(), "localhost")
    return tuple(f"https://{host}:{port}" for host in hosts)


def _certificate(serving: Serving, shop: Shop) -> Certificate | None:
    from twoturn.acts.shop.certificate import given_certificate, own_certificate

    if not serving.lan:
        if serving.certificate or serving.key:
            raise TwoTurnError("--cert and --key are for a network", next_step="add --lan, or leave them out")
        return None
    if serving.certificate or serving.key:
        return given_certificate(serving.certificate, serving.key)
    return own_certificate(shop, (*serving.names, *addresses_here(), *names_of_this_host(), "localhost", LOOPBACK))


def _open_when_up(server: uvicorn.Server, address: str) -> None:
    for _ in range(200):
        if server.started:
            webbrowser.open(address)
            return
        time.sleep(0.05)
