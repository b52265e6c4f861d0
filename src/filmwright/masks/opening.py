"""Opening a layout file, whatever is in it: a broken one ends in words, never in a crash."""

from __future__ import annotations

import json
import subprocess
import sys
import tempfile
import warnings
from collections.abc import Callable
from pathlib import Path
from typing import Any

import gdstk

from filmwright.errors import BadInput, Problem
from filmwright.masks.records import broken_record

_OASIS = b"%SEMI-OASIS\r\n"
_OASIS_END = 256
_GDSII = b"\x00\x06\x00\x02"
_PATIENCE_S = 120
_MEMORY_BYTES = 8 << 30
"""What a process of its own may take: a spoiled count must not fill the machine."""

_TRIAL = """
import json, sys
reader, path, copy, paths, memory = json.loads(sys.argv[1])
sys.path[:] = paths
try:
    import resource
    resource.setrlimit(resource.RLIMIT_AS, (memory, memory))
except (ImportError, ValueError, OSError):
    pass
import gdstk
library = getattr(gdstk, reader)(path)
for cell in library.cells:
    try:
        cell.name, [label.text for label in cell.labels], [reference.cell for reference in cell.references]
    except TypeError:
        sys.exit("a name or a text in it is no text")
library.write_oas(copy, compression_level=0, validation="crc32")
"""


def refused(path: Path, got: str, remedy: str) -> BadInput:
    """A drawing that cannot be used."""
    return BadInput(
        Problem(
            what="the mask drawing",
            expected="a GDSII or OASIS file with at least one cell that has shapes",
            got=got,
            why="the masks are read from it",
            remedy=remedy,
            file=str(path),
        )
    )


def _format(path: Path) -> str:
    """``GDSII`` or ``OASIS`` by the first bytes; the name's ending does not matter."""
    if not path.exists():
        raise refused(path, "no such file", "check its name; it is looked for beside the plan")
    if path.is_dir():
        raise refused(path, "a folder", "name the file in it")
    try:
        content = path.read_bytes()
    except OSError as trouble:
        raise refused(path, f"a file that cannot be read ({trouble.strerror})", "check its rights") from None
    if not content:
        raise refused(path, "an empty file", "export the drawing again")
    if content.startswith(_OASIS):
        # The last record of an OASIS file is exactly 256 bytes long and has the number 2.
        if len(content) < len(_OASIS) + _OASIS_END or content[-_OASIS_END] != 2:
            raise refused(path, "an OASIS file without its end record, cut off", "copy or export it again")
        return "OASIS"
    if content.startswith(_GDSII):
        if broken := broken_record(content):
            raise refused(path, f"a broken GDSII file: {broken}", "copy or export it again")
        return "GDSII"
    raise refused(
        path, f"something else, its first bytes are {content[:8]!r}", "export the drawing as OASIS or GDSII"
    )


def open_library(path: Path) -> Any:
    """The layout library of a file.

    One without a valid check sum is read in a process of its own, which hands back a clean copy: spoiled files can end the
    process that reads them.

    Raises
    ------
    BadInput
        The file is missing, empty, of another type or broken.
    """
    kind = _format(path)
    read: Callable[[Path], Any] = gdstk.read_oas if kind == "OASIS" else gdstk.read_gds
    try:
        valid = gdstk.oas_validate(path)[0] if kind == "OASIS" else None
    except (RuntimeError, ValueError, OSError, MemoryError):
        valid = None
    if valid is False:
        raise refused(
            path, "an OASIS file that does not agree with its own check sum", "copy or export it again"
        )
    if valid:
        return _read(path, read, path, kind)
    with tempfile.TemporaryDirectory() as folder:
        copy = Path(folder) / "clean.oas"
        if trouble := _tried(path, read.__name__, copy):
            raise refused(path, f"a broken {kind} file ({trouble})", "copy or export it again")
        return _read(copy, gdstk.read_oas, path, kind)


def _read(file: Path, read: Callable[[Path], Any], named: Path, kind: str) -> Any:
    try:
        # Missing cells are only warned of there; here they are refused by name.
        with warnings.catch_warnings(action="ignore", category=RuntimeWarning):
            return read(file)
    except (RuntimeError, ValueError, OSError, MemoryError) as error:
        raise refused(named, f"a broken {kind} file ({error})", "copy or export it again") from None


def _tried(path: Path, reader: str, copy: Path) -> str:
    """What goes wrong when another process reads the file and writes a clean copy; empty when nothing does."""
    asked = json.dumps([reader, str(path), str(copy), sys.path, _MEMORY_BYTES])
    try:
        tried = subprocess.run(
            [sys.executable, "-I", "-c", _TRIAL, asked],
            capture_output=True,
            text=True,
            errors="replace",
            timeout=_PATIENCE_S,
            check=False,
        )
    except subprocess.TimeoutExpired:
        return f"reading it takes more than {_PATIENCE_S} s"
    if tried.returncode == 0 and copy.is_file():
        return ""
    said = [line for line in tried.stderr.splitlines() if line.strip()]
    return said[-1].strip()[:200] if said else "its records make no sense"
