"""What every request can ask for: the bench that is served, and how it is served."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

from starlette.requests import HTTPConnection

from filmwright.desk.bench import Bench

LOCAL = ("localhost", "127.0.0.1", "::1")
"""Names under which a machine reaches itself."""


@dataclass(frozen=True, kw_only=True)
class Settings:
    """How the pages are served.

    Attributes
    ----------
    plans : Path or None
        The folder of plans that may be read and changed.
    shared : bool
        Whether people sign in; alone on one machine nobody does.
    example : bool
        Whether everything served is an invented example; every page says so.
    names : tuple of str
        Names by which browsers may call this server; empty with ``shared``: any.
    behind : tuple of str
        Addresses of a proxy whose word on the caller's address and encryption is believed.
    """

    plans: Path | None = None
    shared: bool = False
    example: bool = False
    names: tuple[str, ...] = LOCAL
    behind: tuple[str, ...] = ()


def bench_of(request: HTTPConnection) -> Bench:
    """The bench that is served, open for the life of the server."""
    found: Bench = request.app.state.bench
    return found


def settings_of(request: HTTPConnection) -> Settings:
    """How this server serves."""
    found: Settings = request.app.state.settings
    return found
