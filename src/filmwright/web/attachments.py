"""Kept files on their way out: always saved, never shown, so that nothing in them acts on a page of this server."""

from __future__ import annotations

from urllib.parse import quote

from starlette.responses import Response

from filmwright.desk.bench import safe_name

_HEADERS = {
    "x-content-type-options": "nosniff",
    "content-security-policy": "default-src 'none'; sandbox; frame-ancestors 'none'",
    "cache-control": "private, no-cache",
}
_PLAIN = frozenset({"text/plain", "text/csv", "image/jpeg", "image/png", "image/webp", "application/pdf"})


def attachment(raw: bytes, name: str, media: str = "") -> Response:
    """A kept file to be saved.

    Parameters
    ----------
    raw : bytes
    name : str
        As it was sent; it is made safe again.
    media : str
        As found in its bytes when it was kept; anything unusual goes out as plain bytes.
    """
    called = safe_name(name)
    plain = called.encode("ascii", "ignore").decode().replace("\\", "_").strip() or "file"
    kind = media if media in _PLAIN else "application/octet-stream"
    disposition = f"attachment; filename=\"{plain}\"; filename*=UTF-8''{quote(called, safe='')}"
    return Response(raw, media_type=kind, headers={**_HEADERS, "content-disposition": disposition})
