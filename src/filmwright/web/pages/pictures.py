"""Pictures behind addresses of their own, named by digest: browsers may keep them, and a page holds no foreign SVG."""

from __future__ import annotations

import hashlib
import threading
from collections import OrderedDict

from starlette.exceptions import HTTPException
from starlette.requests import Request
from starlette.responses import Response
from starlette.routing import Route

_BYTES = 64 * 1024 * 1024
"""What is kept in memory; the oldest pictures go first."""

_HEADERS = {
    "cache-control": "private, max-age=31536000, immutable",
    # Opened by itself, a picture may style itself and do nothing else.
    "content-security-policy": "default-src 'none'; style-src 'unsafe-inline'; sandbox; frame-ancestors 'none'",
}


class Pictures:
    """Pictures by digest, as many as fit."""

    def __init__(self, room: int = _BYTES) -> None:
        self._kept: OrderedDict[str, bytes] = OrderedDict()
        self._room, self._taken = room, 0
        self._lock = threading.Lock()

    def keep(self, svg: str) -> str:
        """Keep a picture; answers with its name."""
        raw = svg.encode()
        name = hashlib.sha256(raw).hexdigest()[:32]
        with self._lock:
            if name not in self._kept:
                self._kept[name] = raw
                self._taken += len(raw)
            self._kept.move_to_end(name)
            while self._taken > self._room and len(self._kept) > 1:
                self._taken -= len(self._kept.popitem(last=False)[1])
        return name

    def get(self, name: str) -> bytes | None:
        """A picture by its name, while it is kept."""
        with self._lock:
            return self._kept.get(name)


def picture_address(request: Request, svg: str) -> str:
    """Where a picture from ``desk`` can be fetched."""
    held: Pictures = request.app.state.pictures
    return f"/picture/{held.keep(svg)}.svg"


def picture(request: Request) -> Response:
    """One picture."""
    raw = request.app.state.pictures.get(request.path_params["name"])
    if raw is None:
        raise HTTPException(404)
    return Response(raw, media_type="image/svg+xml", headers=_HEADERS)


routes = [Route("/picture/{name}.svg", picture)]
