"""A process that has everything loaded and becomes a server by forking: hundreds of starts without hundreds of imports."""

from __future__ import annotations

import os
import select
import signal
import subprocess
import sys
from pathlib import Path

WORDS = "import sys; sys.path.insert(0, sys.argv[1]); from starter import nurse; nurse()"


class Child:
    """A forked server: as much of ``subprocess.Popen`` as a proof needs."""

    def __init__(self, pid: int) -> None:
        self.pid, self._ends = pid, os.pidfd_open(pid)

    def poll(self) -> int | None:
        """None while it runs."""
        return 0 if select.select([self._ends], [], [], 0.0)[0] else None

    def wait(self, patience: float) -> None:
        """Wait for its end."""
        if not select.select([self._ends], [], [], patience)[0]:
            raise TimeoutError(f"process {self.pid} did not end")
        os.close(self._ends)

    def send_signal(self, how: int) -> None:
        """Send it a signal."""
        signal.pidfd_send_signal(self._ends, how)


class Starter:
    """Starts servers in a fraction of a second; each is a process group of its own."""

    def __init__(self) -> None:
        self._nurse = subprocess.Popen(
            [sys.executable, "-c", WORDS, str(Path(__file__).parent)],
            stdin=subprocess.PIPE,
            stdout=subprocess.PIPE,
            text=True,
        )

    def start(self, place: str | Path, port: int, log: Path) -> Child:
        """``filmwright serve`` of a record at a port."""
        assert self._nurse.stdin is not None
        assert self._nurse.stdout is not None
        self._nurse.stdin.write(f"{place}\t{port}\t{log}\n")
        self._nurse.stdin.flush()
        return Child(int(self._nurse.stdout.readline()))

    def end(self) -> None:
        """Let go of it."""
        with self._nurse:
            self._nurse.kill()


def nurse() -> None:
    """Load all that a served record needs, then fork a server for each line."""
    import ctypes

    from filmwright.cli import main

    orphaned = 1
    signal.signal(signal.SIGCHLD, signal.SIG_IGN)  # nobody asks how they ended
    ctypes.CDLL(None).prctl(orphaned, signal.SIGKILL)
    while line := sys.stdin.readline():
        place, port, log = line.rstrip("\n").split("\t")
        pid = os.fork()
        if pid:
            os.setpgid(pid, pid)
            print(pid, flush=True)
            continue
        ctypes.CDLL(None).prctl(orphaned, signal.SIGKILL)
        signal.signal(signal.SIGCHLD, signal.SIG_DFL)
        os.setpgid(0, 0)
        os.chdir(Path(log).parent)
        for number, path, how in (
            (0, os.devnull, os.O_RDONLY),
            (1, log, os.O_WRONLY | os.O_APPEND | os.O_CREAT),
        ):
            os.dup2(os.open(path, how), number)
        os.dup2(1, 2)
        sys.argv[1:] = ["serve", "--record", place, "--port", port]
        try:
            main()
        finally:
            os._exit(1)
