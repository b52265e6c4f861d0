"""Workbooks are read in a process of their own, because a damaged one can make the reader end it."""

from __future__ import annotations

import atexit
import json
import subprocess
import sys
import threading
from pathlib import Path
from typing import Any

PATIENCE = 60.0
"""Seconds after which a workbook counts as unreadable."""


class UnreadableWorkbook(Exception):  # noqa: N818 - says what it is
    """The workbook cannot be read; the text says why."""


class _Helper:
    """The helping process, started when first needed and again after a workbook has ended it."""

    def __init__(self) -> None:
        self.process: subprocess.Popen[bytes] | None = None
        self.lock = threading.Lock()

    def ask(self, data: bytes) -> Any:
        with self.lock:
            if self.process is None:
                self.process = subprocess.Popen(
                    [sys.executable, "-I", str(Path(__file__).with_name("workbook_helper.py"))],
                    stdin=subprocess.PIPE,
                    stdout=subprocess.PIPE,
                    stderr=subprocess.DEVNULL,
                )
            process = self.process
            clock = threading.Timer(PATIENCE, process.kill)
            clock.start()
            try:
                answer = self._exchange(process, data)
            finally:
                clock.cancel()
            if not answer:
                self.close()
                raise UnreadableWorkbook("damaged inside")
            return json.loads(answer)

    @staticmethod
    def _exchange(process: subprocess.Popen[bytes], data: bytes) -> bytes:
        assert process.stdin is not None
        assert process.stdout is not None
        try:
            process.stdin.write(b"%d\n" % len(data) + data)
            process.stdin.flush()
            return process.stdout.readline()
        except OSError:
            return b""

    def close(self) -> None:
        """End the process."""
        process, self.process = self.process, None
        if process is not None:
            process.kill()
            for pipe in (process.stdin, process.stdout):
                if pipe is not None:
                    try:
                        pipe.close()
                    except OSError:
                        continue
            process.wait()


_HELPER = _Helper()
atexit.register(_HELPER.close)


def read_workbook(data: bytes) -> list[tuple[str, list[list[float | str]]]]:
    """Names and rows of all sheets of a workbook (.xls, .xlsx, .ods).

    Parameters
    ----------
    data : bytes
        The file.

    Raises
    ------
    UnreadableWorkbook
        If it is damaged.
    """
    answer = _HELPER.ask(data)
    if "trouble" in answer:
        raise UnreadableWorkbook(answer["trouble"])
    return [(name, rows) for name, rows in answer["sheets"]]
