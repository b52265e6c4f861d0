"""``serve``: the pages on a port until Ctrl-C."""

from __future__ import annotations

import contextlib
import ipaddress
from typing import Any

from filmwright.errors import BadInput, Problem
from filmwright.web.context import LOCAL, Settings

PORT = 8537


def check_host(host: str, shared: bool) -> None:
    """Refuse to be reached by others where nobody signs in.

    Raises
    ------
    BadInput
        When ``host`` is not this machine alone and ``shared`` is not set.
    """
    if not shared and not is_loopback(host):
        raise BadInput(
            Problem(
                what="the address to serve on",
                expected="this machine alone (127.0.0.1) without --shared",
                got=f'"{host}"',
                why="without accounts everybody in the network could write into the record",
                remedy="leave --host out, or add --shared so that people sign in",
            )
        )


def is_loopback(host: str) -> bool:
    """Whether only this machine itself reaches an address."""
    if host.lower() == "localhost":
        return True
    try:
        return ipaddress.ip_address(host.strip("[]")).is_loopback
    except ValueError:
        return False


def names_of(host: str, shared: bool, names: tuple[str, ...] = ()) -> tuple[str, ...]:
    """The names that browsers may call the server by; none with ``shared``: any."""
    if shared:
        return tuple(each.lower() for each in names)
    return tuple(dict.fromkeys((*LOCAL, host.strip("[]").lower())))


def serve(bench: Any, settings: Settings, *, host: str = "127.0.0.1", port: int = PORT) -> None:
    """Serve the pages until Ctrl-C; answers under way are finished first.

    Parameters
    ----------
    bench : Bench
    settings : Settings
    host : str
    port : int
    """
    import uvicorn

    from filmwright.web.app import application

    check_host(host, settings.shared)
    config = uvicorn.Config(
        application(bench, settings),
        host=host,
        port=port,
        log_level="warning",
        access_log=False,
        server_header=False,
        date_header=True,
        timeout_graceful_shutdown=5,
        h11_max_incomplete_event_size=64 * 1024,
    )
    with contextlib.suppress(KeyboardInterrupt):
        uvicorn.Server(config).run()
