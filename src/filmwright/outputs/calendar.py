"""A calendar file that every calendar program reads: iCalendar, RFC 5545 (doi 10.17487/RFC5545)."""

from __future__ import annotations

import datetime
from collections.abc import Sequence
from dataclasses import dataclass

_LINE = 75
"""Octets of a line, without its break, RFC 5545 3.1."""

_BREAK = "\r\n"
_STAMP = "%Y%m%dT%H%M%S"


@dataclass(frozen=True, kw_only=True)
class Event:
    """One entry.

    Attributes
    ----------
    key : str
        Unique in the world with its calendar's name, RFC 5545 3.8.4.7.
    begin, end : datetime
        Local clock times without a zone: they mean the clock on the wall, RFC 5545 3.3.5, form 1.
    title, place, text : str
    """

    key: str
    begin: datetime.datetime
    end: datetime.datetime
    title: str
    place: str = ""
    text: str = ""

    def __post_init__(self) -> None:
        if self.end < self.begin:
            raise ValueError(f"an entry ends before it begins: {self.title}")


def calendar_text(
    events: Sequence[Event], made: datetime.datetime, name: str, zone: datetime.tzinfo | None = None
) -> str:
    """The calendar with its entries; lines end with CR LF and are folded after 75 octets.

    Parameters
    ----------
    events : sequence of Event
    made : datetime
        With its zone; written in UTC.
    name : str
        Last part of every entry's key.
    zone : tzinfo or None
        Of the clock on the wall: entries are then written in UTC, form 2 of RFC 5545 3.3.5, which needs no description of the zone;
        without one they mean the clock on the wall wherever they are read.

    Raises
    ------
    ValueError
        When ``made`` has no zone.
    """
    if made.tzinfo is None:
        raise ValueError("the time of making needs its zone")
    stamp = made.astimezone(datetime.UTC).strftime(_STAMP) + "Z"
    lines = ["BEGIN:VCALENDAR", "VERSION:2.0", "PRODID:-//filmwright//day plan//EN"]
    for event in events:
        lines += ["BEGIN:VEVENT", f"UID:{_escaped(event.key)}@{_escaped(name)}", f"DTSTAMP:{stamp}"]
        lines.append(f"DTSTART:{_time(event.begin, zone)}")
        # An entry without an end takes no time at all, RFC 5545 3.6.1; an end must be later than the start.
        if event.end.replace(microsecond=0) > event.begin.replace(microsecond=0):
            lines.append(f"DTEND:{_time(event.end, zone)}")
        lines.append(f"SUMMARY:{_escaped(event.title)}")
        if event.place:
            lines.append(f"LOCATION:{_escaped(event.place)}")
        if event.text:
            lines.append(f"DESCRIPTION:{_escaped(event.text)}")
        lines.append("END:VEVENT")
    lines.append("END:VCALENDAR")
    return "".join(_folded(line) for line in lines)


def _time(moment: datetime.datetime, zone: datetime.tzinfo | None) -> str:
    if zone is None:
        return moment.strftime(_STAMP)
    return moment.replace(tzinfo=zone).astimezone(datetime.UTC).strftime(_STAMP) + "Z"


def _escaped(text: str) -> str:
    """A TEXT value, RFC 5545 3.3.11: backslash, semicolon, comma and line break escaped, other controls left out."""
    text = text.replace("\r\n", "\n").replace("\r", "\n").replace("\\", "\\\\")
    text = text.replace(";", "\\;").replace(",", "\\,").replace("\n", "\\n")
    return "".join(sign for sign in text if sign == "\t" or (ord(sign) >= 0x20 and ord(sign) != 0x7F))


def _folded(line: str) -> str:
    """A content line, broken between characters so that no piece has more than 75 octets; each next one begins with a space."""
    pieces, piece, room = [], "", _LINE
    for sign in line:
        size = len(sign.encode("utf-8"))
        if size > room:
            pieces.append(piece)
            piece, room = "", _LINE - 1
        piece += sign
        room -= size
    return f"{_BREAK} ".join([*pieces, piece]) + _BREAK
