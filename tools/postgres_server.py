"""A throw-away PostgreSQL server for tests, proofs and the bench: its own folder, a Unix socket, an unprivileged user."""

from __future__ import annotations

import os
import pwd
import shutil
import subprocess
import tempfile
import uuid
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from pathlib import Path

_QUICK = "-c fsync=off -c full_page_writes=off -c shared_buffers=32MB -c max_connections=200"
_SAFE = "-c fsync=on -c shared_buffers=64MB -c max_connections=200"


def programs() -> Path | None:
    """The folder of the newest server programs; None when PostgreSQL is not installed."""
    found = [each for each in Path("/usr/lib/postgresql").glob("*/bin") if (each / "initdb").exists()]
    return max(found, key=lambda each: float(each.parent.name), default=None)


class Server:
    """A cluster of its own.

    Attributes
    ----------
    folder : Path
    url : str
        Of the maintenance database, as the owner ``keeper``; the user ``stranger`` needs a password.
    """

    def __init__(self, *, safe: bool = False) -> None:
        there = programs()
        if there is None:
            raise FileNotFoundError("PostgreSQL is not installed")
        self._programs = there
        self._options = _SAFE if safe else _QUICK
        self._user = _unprivileged()
        self.folder = Path(tempfile.mkdtemp(prefix="pg-"))
        if self._user is not None:
            os.chown(self.folder, self._user.pw_uid, self._user.pw_gid)
        self.url = f"postgresql://keeper@/postgres?host={self.folder}"
        self._data = self.folder / "data"
        self._call("initdb", "-D", str(self._data), "-U", "keeper", "-A", "trust", "-E", "UTF8", "--locale=C",
                   *([] if safe else ["--no-sync"]))  # fmt: skip
        rules = self._data / "pg_hba.conf"
        rules.write_text("local all stranger scram-sha-256\n" + rules.read_text())
        self.start()

    def start(self) -> None:
        """Start the server and wait until it answers."""
        options = f"-k {self.folder} -c listen_addresses= {self._options}"
        self._call(
            "pg_ctl", "-D", str(self._data), "-w", "-l", str(self.folder / "log"), "-o", options, "start"
        )

    def stop(self, how: str = "fast") -> None:
        """Stop the server; ``immediate`` is like a power cut."""
        self._call("pg_ctl", "-D", str(self._data), "-w", "-m", how, "stop")

    def restart(self, how: str = "fast") -> None:
        """Stop and start the server."""
        self.stop(how)
        self.start()

    def remove(self) -> None:
        """Stop the server and remove its folder."""
        with suppress(subprocess.CalledProcessError):
            self.stop("immediate")
        shutil.rmtree(self.folder, ignore_errors=True)

    def run(self, *statements: str, database: str = "postgres") -> list[tuple[object, ...]]:
        """Run statements as the owner; the rows of the last one."""
        import psycopg

        rows: list[tuple[object, ...]] = []
        with psycopg.connect(self.of(database), autocommit=True) as connection:
            for statement in statements:
                done = connection.execute(statement.encode())
                rows = done.fetchall() if done.description else []
        return rows

    def of(self, database: str) -> str:
        """The URL of a database of this server."""
        return self.url.replace("/postgres?", f"/{database}?")

    @contextmanager
    def database(self) -> Iterator[str]:
        """A new database, removed at the end; gives its URL."""
        name = f"d{uuid.uuid4().hex[:12]}"
        self.run(f"CREATE DATABASE {name}")
        try:
            yield self.of(name)
        finally:
            self.run(f"DROP DATABASE IF EXISTS {name} WITH (FORCE)")

    def _call(self, program: str, *words: str) -> None:
        user = {} if self._user is None else {"user": self._user.pw_uid, "group": self._user.pw_gid}
        subprocess.run(
            [self._programs / program, *words], check=True, stdin=subprocess.DEVNULL, cwd=self.folder,
            stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL, env={"PATH": "/usr/bin:/bin", "LC_ALL": "C"},
            extra_groups=[] if self._user is not None else None, **user,
        )  # fmt: skip


def _unprivileged() -> pwd.struct_passwd | None:
    """Who the server runs as: PostgreSQL refuses root."""
    if os.geteuid() != 0:
        return None
    for name in ("postgres", "nobody"):
        try:
            return pwd.getpwnam(name)
        except KeyError:
            continue
    raise FileNotFoundError("no unprivileged user to run PostgreSQL as")
