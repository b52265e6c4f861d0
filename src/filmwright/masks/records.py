"""The records of a GDSII stream, walked before anything trusts them.

Each record is a length of two bytes (its own four included), a type, a data type, and data (Calma, GDSII Stream Format Manual,
release 6.0, 1987).
"""

from __future__ import annotations

_HEAD = 4
_HEADER, _LIBRARY, _END_LIBRARY, _CELL, _END_CELL, _END_ELEMENT, _CORNERS = 0, 1, 4, 5, 7, 17, 16
_ELEMENTS = {8, 9, 10, 11, 12, 21, 45}
"""Boundary, path, reference, array, text, node, box."""

_LAST = 59
_CORNER_BYTES = 8


def broken_record(content: bytes) -> str:
    """Where the records of a GDSII stream stop making sense, in words; empty when they are in order.

    Checked: lengths, types, whole corners, and that library, cells and elements open and close in turn.
    """
    at, place = 0, "outside"
    while at + _HEAD <= len(content):
        size, kind = int.from_bytes(content[at : at + 2], "big"), content[at + 2]
        if size < _HEAD or size % 2 or at + size > len(content):
            return f"at byte {at} a record says that it has {size} bytes"
        if kind > _LAST:
            return f"at byte {at} stands a record of the unknown type {kind}"
        if kind == _CORNERS and (size - _HEAD) % _CORNER_BYTES:
            return f"at byte {at} a corner has no y"
        if (after := _follows(kind, place)) is None:
            return f"at byte {at} a record of type {kind} stands {place}"
        if after == "the end":
            return ""
        place = after
        at += size
    return "it has no end record, it was cut off"


def _follows(kind: int, place: str) -> str | None:
    """Where one is after a record; None where the record may not stand."""
    if kind in _ELEMENTS:
        return "in an element" if place == "in a cell" else None
    changes = {
        _LIBRARY: ("outside", "in the library"),
        _CELL: ("in the library", "in a cell"),
        _END_ELEMENT: ("in an element", "in a cell"),
        _END_CELL: ("in a cell", "in the library"),
        _END_LIBRARY: ("in the library", "the end"),
    }
    if kind not in changes:
        return place
    needed, after = changes[kind]
    return after if place == needed else None
