"""``serve``: the pages on a port until Ctrl-C."""

from __future__ import annotations

import contextlib
import ipaddress
import socket
import sys
import tempfile
import threading
from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any

from filmwright.desk.bench import Bench, example_bench
from filmwright.desk.bench.example import PROBED_DEVICES
from filmwright.desk.bench.measured_lots import measured_lots
from filmwright.errors import BadInput, Problem
from filmwright.web.context import LOCAL, Settings
from filmwright.web.lines import SHARE
from filmwright.web.render import read_templates

if TYPE_CHECKING:
    import uvicorn

PORT = 8537
_KEEP = 65
"""Seconds that a line stays open between two touches, so that the next one need not call again."""

_PATIENCE = 5
"""Seconds that answers under way have when the server is stopped."""


@dataclass(frozen=True, kw_only=True)
class Served:
    """What is served where.

    Attributes
    ----------
    address : str
    record : str
    lots : int
    shared, example : bool
    """

    address: str
    record: str
    lots: int
    shared: bool
    example: bool

    def fields(self) -> dict[str, Any]:
        """As plain fields for programs."""
        return {
            "address": self.address,
            "record": self.record,
            "lots": self.lots,
            "shared": self.shared,
            "example": self.example,
        }


def serve(  # noqa: PLR0913 - one word per thing that can be said
    *,
    record: str | Path | None = None,
    plans: Path | None = None,
    lab: Path | None = None,
    host: str = "127.0.0.1",
    port: int = PORT,
    shared: bool = False,
    names: Iterable[str] = (),
    behind: Iterable[str] = (),
    example: bool = False,
    tell: Callable[[Served], None] = lambda _served: None,
) -> None:
    """Serve a record until Ctrl-C; answers under way are finished first.

    Parameters
    ----------
    record : str, Path or None
        Made where there is none yet.
    plans, lab : Path or None
    host : str
    port : int
        0 takes any that is free.
    shared : bool
        Whether people sign in, from other machines too.
    names : iterable of str
        By which browsers call the server when it is shared; none: any.
    behind : iterable of str
        Addresses of the proxy that does the encryption; only what these tell of a caller is believed.
    example : bool
        Serve an invented bench from a folder that is thrown away afterwards.
    tell : callable of Served
        Called once the pages can be opened.

    Raises
    ------
    BadInput
        When ``host`` is not this machine alone without ``shared``, the folder of plans is not there, or the port is taken.
    """
    check_host(host, shared)
    check_plans(plans)
    with (
        _listening(host, port) as door,
        _bench(record, plans, lab, shared, example) as (
            bench,
            probed,
        ),
    ):
        settings = Settings(
            plans=bench.plans,
            shared=shared,
            example=example,
            names=names_of(host, shared, tuple(names)),
            behind=tuple(behind),
        )
        at = f"[{host}]" if ":" in host else host
        served = Served(
            address=f"http://{at}:{door.getsockname()[1]}/",
            record="an invented example" if example else bench.store.place,
            lots=bench.going_now().lots,
            shared=shared,
            example=example,
        )
        running = server(bench, settings)
        threading.Thread(target=_read_ahead, args=(bench, probed), daemon=True).start()
        sys.setswitchinterval(SHARE)
        tell(served)
        with contextlib.suppress(KeyboardInterrupt):
            running.run(sockets=[door])


def _read_ahead(bench: Bench, probed: str) -> None:
    """Read what pages show once, so that the first one does not wait for it; then have curves of an example drawn.

    What cannot be read is told by the page that shows it, to the person who asks for it.
    """
    read_templates()
    with contextlib.suppress(BadInput):
        bench.going()
    with contextlib.suppress(BadInput):
        bench.lab_now()
    if probed:
        with contextlib.suppress(BadInput):
            measured_lots(bench).invent(bench, probed, PROBED_DEVICES)


def server(bench: Bench, settings: Settings) -> uvicorn.Server:
    """A server of the pages that listens nowhere yet."""
    import uvicorn

    from filmwright.web.app import application

    return uvicorn.Server(
        uvicorn.Config(
            application(bench, settings),
            log_level="warning",
            access_log=False,
            server_header=False,
            # Without a proxy that was named, anybody could claim any address and an encrypted line.
            proxy_headers=bool(settings.behind),
            forwarded_allow_ips=list(settings.behind),
            timeout_keep_alive=_KEEP,
            timeout_graceful_shutdown=_PATIENCE,
        )
    )


def check_host(host: str, shared: bool) -> None:
    """Refuse to be reached by others where nobody signs in."""
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


def check_plans(plans: Path | None) -> None:
    """Refuse a folder of plans that is not there: pages would show none and say nothing."""
    if plans is not None and not plans.is_dir():
        raise BadInput(
            Problem(
                what="the folder of plans",
                expected="a folder that exists",
                got="a file" if plans.exists() else "no such folder",
                why="lots are started from the plans in it",
                remedy='name the folder itself, or make one with "filmwright new"',
                file=str(plans),
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


@contextlib.contextmanager
def _bench(
    record: str | Path | None, plans: Path | None, lab: Path | None, shared: bool, example: bool
) -> Iterator[tuple[Bench, str]]:
    probed = ""
    with contextlib.ExitStack() as stack:
        if example:
            folder = stack.enter_context(tempfile.TemporaryDirectory(prefix="filmwright-example-"))
            made = example_bench(Path(folder))
            record, plans, probed = made.record, made.plans, made.probed
        bench = stack.enter_context(
            Bench.open(record, create=True, lab=lab, plans=plans, account_free=not shared)
        )
        bench.emulate()
        yield bench, probed


@contextlib.contextmanager
def _listening(host: str, port: int) -> Iterator[socket.socket]:
    """The port, taken before anything is opened or made."""
    bare = host.strip("[]")
    family = socket.AF_INET6 if ":" in bare else socket.AF_INET
    try:
        door = socket.create_server((bare, port), family=family)
        # Lines inherit it: without it an answer's second packet waits 40 ms for the word that the first one came.
        door.setsockopt(socket.IPPROTO_TCP, socket.TCP_NODELAY, 1)
    except (OSError, OverflowError) as trouble:
        raise BadInput(
            Problem(
                what="the port to serve on",
                expected="free on this machine",
                got=f"{host} port {port} ({getattr(trouble, 'strerror', None) or trouble})",
                why="two programs cannot answer at one address",
                remedy="stop the other one, or choose another: --port 8538",
            )
        ) from None
    with door:
        yield door
