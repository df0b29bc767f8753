"""Styles, scripts and icons from the package: read once, named by their content, kept by browsers for ever.

All of them stand under one hash of them all, so that a script may import its neighbour by its plain name.
"""

from __future__ import annotations

import hashlib
from dataclasses import dataclass
from functools import lru_cache
from importlib.resources import files
from importlib.resources.abc import Traversable

from starlette.requests import Request
from starlette.responses import Response

from twoturn.web.refused import Refused

MEDIA_TYPES = {
    "css": "text/css; charset=utf-8",
    "js": "text/javascript; charset=utf-8",
    "svg": "image/svg+xml",
    "png": "image/png",
    "woff2": "font/woff2",
}
FOR_EVER = "public, max-age=31536000, immutable"


@dataclass(frozen=True)
class Assets:
    """All static files.

    Attributes
    ----------
    digest
        Hash of them all, part of their address.
    files
        Content by path below ``static/``.
    """

    digest: str
    files: dict[str, bytes]

    def address(self, path: str) -> str:
        """Address of the file at ``path`` below ``static/``; a file that is not there is a slip of the program."""
        if path not in self.files:
            raise KeyError(path)
        return f"/static/{self.digest}/{path}"


@lru_cache(maxsize=1)
def assets() -> Assets:
    """The static files of the package."""
    found = dict(sorted(_walk(files("twoturn.web").joinpath("static"), "")))
    digest = hashlib.sha256()
    for path, content in found.items():
        digest.update(f"{path}\0{len(content)}\0".encode() + content)
    return Assets(digest.hexdigest()[:16], found)


async def static_file(request: Request) -> Response:
    """One static file; one asked for under an older hash is given too, but not kept."""
    held = assets()
    path = request.path_params["path"]
    content = held.files.get(path)
    kind = MEDIA_TYPES.get(path.rpartition(".")[2])
    if content is None or kind is None:
        raise Refused(404, f"there is no file {path[:80]!r} here")
    keep = FOR_EVER if request.path_params["digest"] == held.digest else "no-cache"
    return Response(content, media_type=kind, headers={"cache-control": keep})


def _walk(folder: Traversable, before: str) -> list[tuple[str, bytes]]:
    found: list[tuple[str, bytes]] = []
    for entry in folder.iterdir():
        if entry.is_dir():
            found += _walk(entry, f"{before}{entry.name}/")
        elif entry.name.rpartition(".")[2] in MEDIA_TYPES:
            found.append((before + entry.name, entry.read_bytes()))
    return found
