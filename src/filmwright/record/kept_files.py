"""Kept files in a folder, each under its SHA-256; a file is there whole or not at all."""

from __future__ import annotations

import os
import tempfile
from dataclasses import dataclass
from pathlib import Path

from filmwright.errors import Problems
from filmwright.record.checks import SHA256, check_pattern, check_text, check_time, digest


@dataclass(frozen=True, kw_only=True)
class KeptFile:
    """What is known of a kept file.

    Attributes
    ----------
    sha256 : str
    media : str
        Media type, e.g. ``image/jpeg``; empty where it is not known.
    name : str
        As the person or the instrument named it.
    size : int
        Number of bytes.
    kept : str
        ISO time with offset.
    """

    sha256: str
    size: int
    kept: str
    media: str = ""
    name: str = ""

    def __post_init__(self) -> None:
        problems = Problems()
        check_pattern(problems, f"the SHA-256 of {self.name}", self.sha256, SHA256, digest(""))
        check_text(problems, "the media type of a file", self.media)
        check_text(problems, "the name of a file", self.name)
        check_time(problems, f"the time at which {self.name} was kept", self.kept)
        problems.raise_any()


def path_of(folder: Path, sha256: str) -> Path:
    """Where a file with this digest lies."""
    return folder / sha256[:2] / sha256


def put(folder: Path, sha256: str, raw: bytes) -> None:
    """Write the bytes; when this returns they are on the disk under their final name.

    Parameters
    ----------
    folder : Path
    sha256 : str
        Of the bytes.
    raw : bytes

    Raises
    ------
    OSError
        When the disk does not take it; then nothing lies under the final name.
    """
    target = path_of(folder, sha256)
    if target.exists() and digest(target.read_bytes()) == sha256:
        return
    made = [each for each in (folder, target.parent) if not each.exists()]
    target.parent.mkdir(parents=True, exist_ok=True)
    number, name = tempfile.mkstemp(dir=target.parent, prefix=".coming-")
    try:
        with os.fdopen(number, "wb") as file:
            file.write(raw)
            file.flush()
            os.fsync(file.fileno())
        os.replace(name, target)
    except BaseException:
        Path(name).unlink(missing_ok=True)
        raise
    for each in {target.parent, *(one.parent for one in made)}:
        _settle(each)


def get(folder: Path, sha256: str) -> bytes | None:
    """The bytes of a file; None when there is none of this digest."""
    try:
        return path_of(folder, sha256).read_bytes()
    except FileNotFoundError:
        return None


def _settle(folder: Path) -> None:
    """Have the names in a folder on the disk too."""
    number = os.open(folder, os.O_RDONLY)
    try:
        os.fsync(number)
    finally:
        os.close(number)
