"""A refusal as programs get it: always of one shape."""

from __future__ import annotations

from starlette.responses import JSONResponse, Response

from filmwright.errors import Problem


def trouble(status: int, said: str, problems: tuple[Problem, ...] = ()) -> Response:
    """A refusal in the one shape that it has."""
    fields = [each.fields() for each in problems]
    headers = {"www-authenticate": "Bearer"} if status == 401 else None
    return JSONResponse({"status": status, "said": said, "problems": fields, "number": ""}, status, headers)


def too_much(limit: int) -> Response:
    """The refusal of a request that is longer than it may be [bytes]."""
    return trouble(413, f"That is more than {limit // 1024} kB, so nothing was kept. Send less at once.")
