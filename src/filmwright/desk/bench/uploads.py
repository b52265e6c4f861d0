"""Files that people send: a name without any path, a kind found in the bytes, a size that fits. Nothing in them is ever run."""

from __future__ import annotations

import re
import unicodedata
from dataclasses import dataclass
from typing import Any

from filmwright.desk.bench.recognising import MARKED_UP, PACKED, TEXT, WORKBOOKS, recognise, unpacked
from filmwright.errors import BadInput, Problem

MOST_BYTES = 32 * 1024 * 1024
"""Largest table of an instrument that is taken."""

_MOST_UNPACKED, _MOST_RATIO = 256 * 1024 * 1024, 200
"""Of a packed workbook: bytes when unpacked, and how many times its size; more is made to fill a disk."""

_LONGEST = 120
_SPOKEN_FOR = {"con", "prn", "aux", "nul", *(f"{port}{k}" for port in ("com", "lpt") for k in range(1, 10))}
"""Names that some systems take for devices, whatever the ending."""


@dataclass(frozen=True, kw_only=True)
class Upload:
    """A file that may be kept.

    Attributes
    ----------
    name : str
        Its last part, safe in a file system and in a header.
    media : str
        Found in its bytes, never taken from its name.
    raw : bytes
    """

    name: str
    media: str
    raw: bytes

    def fields(self) -> dict[str, Any]:
        """For programs."""
        return {"name": self.name, "media": self.media, "bytes": len(self.raw)}


def safe_name(name: str) -> str:
    """The last part of a file's name, without anything that a file system or a header reads as more than a name.

    Parameters
    ----------
    name : str
        As a browser sent it, perhaps with folders of either kind.
    """
    last = (
        unicodedata.normalize("NFC", name.encode("utf-8", "ignore").decode())
        .replace("\\", "/")
        .rsplit("/", 1)[-1]
    )
    plain = "".join(letter if letter.isprintable() and letter not in '<>:"|?*;%' else "_" for letter in last)
    plain = re.sub(r"\s+", " ", plain).strip(" .")
    stem, dot, ending = plain.rpartition(".")
    if len(plain) > _LONGEST:
        plain = (stem[: _LONGEST - 12] + dot + ending[:10]) if dot else plain[:_LONGEST]
    if not plain or plain.partition(".")[0].casefold() in _SPOKEN_FOR:
        plain = f"file {plain}".strip()
    return plain.lstrip("-~") or "file"


def _refuse(what: str, expected: str, got: str, why: str, remedy: str) -> BadInput:
    return BadInput(Problem(what=what, expected=expected, got=got, why=why, remedy=remedy))


def read_table(name: str, raw: bytes) -> Upload:
    """A table of an instrument: text, or a workbook; anything else is refused by what it is, not by what it is called.

    Parameters
    ----------
    name : str
        As the browser sent it.
    raw : bytes

    Raises
    ------
    BadInput
    """
    called = safe_name(name)
    if not raw:
        raise _refuse(called, "a table", "an empty file", "there is nothing to read", "export it again")
    if len(raw) > MOST_BYTES:
        raise _refuse(
            called, f"at most {MOST_BYTES // 1024**2} MB", f"{len(raw) / 1024**2:.0f} MB", "the record keeps every file for ever",
            "export the measurement alone, or split it",
        )  # fmt: skip
    return Upload(name=called, media=_media(called, raw), raw=raw)


def _media(called: str, raw: bytes) -> str:
    media = recognise(raw)
    if media in WORKBOOKS | {PACKED}:
        size = unpacked(raw)
        if size > _MOST_UNPACKED or size > _MOST_RATIO * len(raw):
            raise _refuse(
                called, "a workbook of ordinary size", f"one that unpacks to {size / 1024**2:.0f} MB", "it could fill the disk",
                "export the measurement alone",
            )  # fmt: skip
    if media == PACKED:
        raise _refuse(
            called, "text or a workbook", "a packed file of another kind", "only tables can be read later",
            "unpack it and send the tables",
        )  # fmt: skip
    if media == MARKED_UP:
        raise _refuse(
            called, "a table", "a marked-up page", "a page could act in the name of who opens it",
            "export the measurement as text or as a workbook",
        )  # fmt: skip
    if media not in WORKBOOKS | {TEXT}:
        raise _refuse(
            called, "text or a workbook", "a file of another kind", "only tables can be read later, and nothing else is kept",
            "export the measurement as text or as a workbook",
        )  # fmt: skip
    return media
