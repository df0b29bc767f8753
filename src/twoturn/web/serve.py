"""Serving the bench: the address is taken first, then the folder, then the record is opened and pages are given."""

from __future__ import annotations

import os
import socket
import threading
import time
import webbrowser
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

from twoturn.errors import TwoTurnError
from twoturn.web.mode import DEFAULT_PORT, Mode

if TYPE_CHECKING:
    import uvicorn
    from starlette.applications import Starlette

LOOPBACK = "127.0.0.1"


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
    """

    port: int = DEFAULT_PORT
    folder: Path | None = None
    browser: bool = False


def serve(serving: Serving, say: Callable[[str], None]) -> None:
    """Serve the bench until it is stopped; ``say`` is given each line for the person who started it.

    Raises
    ------
    TwoTurnError
        The port is taken, another bench runs on the folder, or the record cannot be opened.
    """
    from twoturn.acts.shop.running import running_shop
    from twoturn.web.app import make_app

    with taken(LOOPBACK, serving.port) as listening:
        address = f"http://{LOOPBACK}:{listening.getsockname()[1]}"
        with running_shop(serving.folder, address) as shop:
            server = server_of(make_app(shop, Mode(addresses=(address,))))
            say(f"twoturn runs at {address} for this computer alone. The record is in {shop.place.folder}.")
            say("Stop it with Ctrl+C.")
            if serving.browser:
                threading.Thread(target=_open_when_up, args=(server, address), daemon=True).start()
            server.run(sockets=[listening])


def taken(host: str, port: int) -> socket.socket:
    """A socket that listens at host and port.

    Raises
    ------
    TwoTurnError
        It cannot be had.
    """
    if not 0 <= port <= 65535:
        raise TwoTurnError(f"{port} is no port", allowed="1024 to 65535")
    try:
        return socket.create_server((host, port), backlog=256)
    except OSError as error:
        reason = os.strerror(error.errno).lower() if error.errno else "it cannot be had"
        raise TwoTurnError(
            f"port {port} cannot be used: {reason}", next_step="stop what uses it, or take another with --port"
        ) from None


def server_of(app: Starlette, certificate: Path | None = None, key: Path | None = None) -> uvicorn.Server:
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
        ssl_certfile=certificate,
        ssl_keyfile=key,
    )
    return uvicorn.Server(config)


def _open_when_up(server: uvicorn.Server, address: str) -> None:
    for _ in range(200):
        if server.started:
            webbrowser.open(address)
            return
        time.sleep(0.05)
