"""Photos from the bench: recognised by their bytes, freed of where and with what they were taken, kept by their hash."""

from __future__ import annotations

import struct
import zlib
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from filmwright.desk.bench.recognising import JPEG, PNG, WEBP, recognise
from filmwright.errors import BadInput, Problem

if TYPE_CHECKING:
    from filmwright.desk.bench.house import Bench

MOST_BYTES = 12 * 1024 * 1024
"""Largest photo that is taken; the page scales pictures down to far less before it sends them."""

_PNG_KEPT = frozenset(
    {b"IHDR", b"PLTE", b"IDAT", b"IEND", b"tRNS", b"gAMA", b"cHRM", b"sRGB", b"sBIT", b"pHYs", b"bKGD"}
)
_WEBP_DROPPED = frozenset({b"EXIF", b"XMP "})
_WEBP_PICTURE = frozenset({b"VP8 ", b"VP8L", b"ANMF"})
_SCAN, _END = 0xDA, 0xD9
_REMARKS = frozenset({*range(0xE1, 0xEE), 0xEF, 0xFE})
"""JPEG segments that cameras and editors add; the frame, its tables and the colour transform (0xE0, 0xEE) stay."""
_ORIENTATION = 0x0112


@dataclass(frozen=True, kw_only=True)
class Photo:
    """A picture that may be kept.

    Attributes
    ----------
    media : str
        Its media type, found in its bytes, never taken from its name.
    raw : bytes
        Without remarks of the camera.
    """

    media: str
    raw: bytes

    def fields(self) -> dict[str, Any]:
        """For programs."""
        return {"media": self.media, "bytes": len(self.raw)}


def _refuse(expected: str, got: str, why: str, remedy: str) -> BadInput:
    return BadInput(Problem(what="the photo", expected=expected, got=got, why=why, remedy=remedy))


def read_photo(raw: bytes) -> Photo:
    """A photo without the position, time and camera that its file carries; which way is up stays.

    Parameters
    ----------
    raw : bytes
        As the browser sent it.

    Raises
    ------
    BadInput
        When it is too large, no JPEG, PNG or WebP picture, or broken.
    """
    if len(raw) > MOST_BYTES:
        raise _refuse(
            f"at most {MOST_BYTES // 2**20} MB", f"{len(raw) / 2**20:.0f} MB", "the record is copied as a whole",
            "take it with a lower resolution",
        )  # fmt: skip
    media = recognise(raw)
    if media not in _BARE:
        raise _refuse(
            "a JPEG, PNG or WebP picture", "another kind of file" if raw else "an empty file",
            "it is shown beside the step", "take it with the camera of the tablet, or save it as JPEG",
        )  # fmt: skip
    try:
        return Photo(media=media, raw=_BARE[media](raw))
    except (struct.error, IndexError, ValueError):
        raise _refuse(
            "a whole picture", "one that breaks off", "half a picture shows nothing", "take it again"
        ) from None


def keep_photo(bench: Bench, raw: bytes, name: str = "") -> str:
    """Keep a photo beside the record; answers with the SHA-256 that an entry names it by.

    Parameters
    ----------
    bench : Bench
    raw : bytes
        As the browser sent it.
    name : str
        As the device named it.
    """
    photo = read_photo(raw)
    return bench.store.keep_blob(photo.raw, photo.media, name.replace("\\", "/").rpartition("/")[2][:120])


def kept_photo(bench: Bench, sha256: str) -> Photo:
    """A photo of the record by its SHA-256; BadInput when there is none, or another kind of file."""
    return read_photo(bench.store.raw(sha256))


def _bare_jpeg(raw: bytes) -> bytes:
    """Segments of the picture itself, up to its end; of the camera's remarks only which way is up."""
    parts, place, turned, marker = [], 2, 1, 0
    while marker != _END:
        if raw[place] != 0xFF:
            raise ValueError("no marker")
        marker = raw[place + 1]
        if marker == 0xFF:
            place += 1
            continue
        stop = place + 2
        if marker != _END:
            stop += struct.unpack_from(">H", raw, stop)[0]
        if marker == _SCAN:
            stop = _after_scan(raw, stop)
        segment = raw[place:stop]
        if len(segment) < stop - place or stop < place + 2:
            raise ValueError("breaks off")
        if marker == 0xE1 and segment[4:10] == b"Exif\0\0":
            turned = _orientation(segment[10:]) or turned
        if marker not in _REMARKS:
            parts.append(segment)
        place = stop
    head = _jpeg_turned(turned) if turned != 1 else b""
    return raw[:2] + head + b"".join(parts)


def _after_scan(raw: bytes, place: int) -> int:
    """Where the coded picture ends: at the first marker that is neither a stuffed byte nor a restart."""
    while True:
        place = raw.index(b"\xff", place)
        following = raw[place + 1]
        if following != 0 and not 0xD0 <= following <= 0xD7 and following != 0xFF:
            return place
        place += 1 if following == 0xFF else 2


def _orientation(tiff: bytes) -> int:
    """The orientation in the first directory of a TIFF header; 0 when it is not told."""
    order = {b"II": "<", b"MM": ">"}.get(tiff[:2])
    if order is None:
        return 0
    (first,) = struct.unpack_from(order + "I", tiff, 4)
    (count,) = struct.unpack_from(order + "H", tiff, first)
    for number in range(count):
        tag, kind, _, value = struct.unpack_from(order + "HHIH", tiff, first + 2 + 12 * number)
        if tag == _ORIENTATION and kind == 3 and 1 <= value <= 8:
            return int(value)
    return 0


def _jpeg_turned(value: int) -> bytes:
    """A segment that says which way is up, and nothing else."""
    directory = struct.pack(">HHHIHHI", 1, _ORIENTATION, 3, 1, value, 0, 0)
    content = b"Exif\0\0" + b"MM" + struct.pack(">HI", 42, 8) + directory
    return b"\xff\xe1" + struct.pack(">H", len(content) + 2) + content


def _bare_png(raw: bytes) -> bytes:
    parts, place, kind = [raw[:8]], 8, b""
    while kind != b"IEND":
        length, kind = struct.unpack_from(">I4s", raw, place)
        chunk = raw[place : place + 12 + length]
        if len(chunk) < 12 + length or zlib.crc32(chunk[4:-4]) != int.from_bytes(chunk[-4:], "big"):
            raise ValueError("breaks off")
        if kind in _PNG_KEPT:
            parts.append(chunk)
        place += 12 + length
    return b"".join(parts)


def _bare_webp(raw: bytes) -> bytes:
    (size,) = struct.unpack_from("<I", raw, 4)
    if len(raw) < 8 + size:
        raise ValueError("breaks off")
    parts, place = [], 12
    while place + 8 <= 8 + size:
        kind, length = struct.unpack_from("<4sI", raw, place)
        chunk = raw[place : place + 8 + length + (length & 1)]
        if kind == b"VP8X":
            # The flags of remarks that are left out (bits 2 and 3) must not promise them.
            chunk = chunk[:8] + bytes([chunk[8] & ~0x0C]) + chunk[9:]
        if kind not in _WEBP_DROPPED:
            parts.append(chunk)
        place += len(chunk)
    body = b"WEBP" + b"".join(parts)
    if not any(each[:4] in _WEBP_PICTURE for each in parts):
        raise ValueError("no picture")
    return b"RIFF" + struct.pack("<I", len(body)) + body


_BARE = {JPEG: _bare_jpeg, PNG: _bare_png, WEBP: _bare_webp}
"""How each kind of picture is freed of remarks."""
