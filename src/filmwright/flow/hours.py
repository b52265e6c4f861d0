"""Opening hours as people write them: ``08:00-18:00``, ``Mon-Fri``."""

from __future__ import annotations

import re
import zoneinfo

from filmwright.errors import nearest
from filmwright.flow.fields import Block
from filmwright.knowledge import Hours
from filmwright.units import to_si

DAYS = ("Mon", "Tue", "Wed", "Thu", "Fri", "Sat", "Sun")
_CLOCK = r"(\d{1,2}):(\d{2})"
_FROM_TO = re.compile(rf"\s*{_CLOCK}\s*[-–]\s*{_CLOCK}\s*")
_MIDNIGHT = to_si(24, "h")


def clock(text: str) -> float | None:
    """Seconds after midnight of a clock time such as ``9:30`` or ``24:00``; None where it is none."""
    found = re.fullmatch(rf"\s*{_CLOCK}\s*", text)
    return _seconds(found[1], found[2]) if found else None


def _seconds(hours: str, minutes: str) -> float | None:
    time = to_si(int(hours), "h") + to_si(int(minutes), "min")
    return time if int(minutes) < 60 and time <= _MIDNIGHT else None


def hours_of(block: Block) -> Hours | None:
    """The hours of the lab or of a tool; None where nothing is said. A day without a clock time is open all day."""
    if not (block.has("open") or block.has("days")):
        return None
    opens, closes = _from_to(block)
    days = _days(block)
    return Hours(opens=opens, closes=closes, days=days) if days else None


def _from_to(block: Block) -> tuple[float, float]:
    text = block.text("open")
    if not text:
        return 0.0, _MIDNIGHT
    found = _FROM_TO.fullmatch(text)
    opens, closes = (_seconds(found[1], found[2]), _seconds(found[3], found[4])) if found else (None, None)
    if opens is not None and closes is not None and opens != closes and opens < _MIDNIGHT:
        # A closing that comes before the opening is that of the next morning.
        return opens, closes if opens < closes else closes + _MIDNIGHT
    block.reading.refuse(
        block.what("open"),
        "two different clock times",
        f'"{text}"',
        "a day is planned between them",
        "write it like 08:00-18:00, or 20:00-04:00 over midnight",
        block.line("open"),
    )
    return 0.0, _MIDNIGHT


def zone_of(block: Block) -> str:
    """The time zone of the lab; empty where nothing is said or it is none."""
    text = block.text("zone")
    if not text or zone_named(text) is not None:
        return text
    block.reading.refuse(
        block.what("zone"),
        "a time zone by its name",
        f'"{text}"',
        "the calendar file says from it when a step begins anywhere on earth",
        nearest(text, sorted(zoneinfo.available_timezones())),
        block.line("zone"),
    )
    return ""


def zone_named(name: str) -> zoneinfo.ZoneInfo | None:
    """A time zone by its name in the data base of time zones; None where it is none."""
    try:
        return zoneinfo.ZoneInfo(name)
    except (zoneinfo.ZoneInfoNotFoundError, ValueError, OSError):
        return None


def _days(block: Block) -> frozenset[int]:
    found: set[int] = set()
    for text in block.texts("days") or ("Mon-Sun",):
        ends = [_day(part) for part in re.split(r"\s*[-–]\s*", text.strip())]
        if None in ends or len(ends) > 2:
            block.reading.refuse(
                block.what("days"),
                "days such as Mon-Fri, or some of " + ", ".join(DAYS),
                f'"{text}"',
                "a step is planned only on a day that is open",
                "write [Mon, Tue] or Mon-Fri",
                block.line("days"),
            )
            continue
        first, last = ends[0] or 0, ends[-1] or 0
        # Fri-Mon runs over the end of the week.
        found |= {(first + k) % 7 for k in range((last - first) % 7 + 1)}
    return frozenset(found)


def _day(text: str) -> int | None:
    return next((k for k, name in enumerate(DAYS) if text[:3].title() == name), None)
