"""What kind of file bytes are: the one place that says so, for photos, tables and everything that is kept or handed out."""

from __future__ import annotations

import re
import zipfile
import zlib
from io import BytesIO

JPEG, PNG, WEBP = "image/jpeg", "image/png", "image/webp"
PHOTOS = frozenset({JPEG, PNG, WEBP})
TEXT, MARKED_UP, PACKED, PDF = "text/plain", "text/html", "application/zip", "application/pdf"
OLD_WORKBOOK = "application/vnd.ms-excel"
OPEN_WORKBOOK = "application/vnd.oasis.opendocument.spreadsheet"
WORKBOOK = "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet"
WORKBOOKS = frozenset({OLD_WORKBOOK, OPEN_WORKBOOK, WORKBOOK})
UNKNOWN = ""

_BEGINNINGS = (
    (b"\xff\xd8\xff", JPEG),
    (b"\x89PNG\r\n\x1a\n", PNG),
    (b"%PDF-", PDF),
    (b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1", OLD_WORKBOOK),
)
_LOOKED_AT = 65536
_PAGE = re.compile(rb"<\s*(!doctype|html|script|svg|\?xml|body|iframe|!--)", re.IGNORECASE)
_BROKEN = (zipfile.BadZipFile, RuntimeError, OSError, ValueError, EOFError, zlib.error)
"""A locked archive and a way of packing that is not known are told by a RuntimeError, torn bytes by zlib."""


def recognise(raw: bytes) -> str:
    """The media type of a file, from its bytes alone; empty where nothing is known of it.

    Parameters
    ----------
    raw : bytes
    """
    for beginning, media in _BEGINNINGS:
        if raw.startswith(beginning):
            return media
    if raw.startswith(b"RIFF") and raw[8:12] == b"WEBP":
        return WEBP
    if raw.startswith(b"PK\x03\x04"):
        return _packed(raw)
    if not raw or not _is_text(raw):
        return UNKNOWN
    return MARKED_UP if _PAGE.search(raw[:4096].replace(b"\0", b"")) else TEXT


def unpacked(raw: bytes) -> int:
    """Bytes of a packed file when it is unpacked; 0 where that cannot be told."""
    try:
        with zipfile.ZipFile(BytesIO(raw)) as packed:
            return sum(each.file_size for each in packed.infolist())
    except _BROKEN:
        return 0


def _is_text(raw: bytes) -> bool:
    """Whether it is text in one of the encodings that instruments write."""
    if raw.startswith((b"\xff\xfe", b"\xfe\xff")):
        coding = "utf-16"
    elif b"\0" in raw:
        return False
    else:
        coding = "latin-1"
    try:
        text = raw.decode(coding)
    except UnicodeDecodeError:
        return False
    seen = text[:_LOOKED_AT]
    return sum(ord(letter) < 32 and letter not in "\t\r\n\f\x1a" for letter in seen) * 100 <= len(seen)


def _packed(raw: bytes) -> str:
    """A workbook, where the archive is one and names nothing outside itself."""
    try:
        with zipfile.ZipFile(BytesIO(raw)) as packed:
            names = packed.namelist()
            outside = any(each.startswith("/") or ".." in each.split("/") for each in names)
            said = packed.read("mimetype")[:80].decode("latin-1") if "mimetype" in names else ""
    except _BROKEN:
        return PACKED
    if outside:
        return PACKED
    if said == OPEN_WORKBOOK:
        return OPEN_WORKBOOK
    return WORKBOOK if {"[Content_Types].xml", "xl/workbook.xml"} <= set(names) else PACKED
