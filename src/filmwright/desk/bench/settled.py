"""What the record says once corrections and what was taken back are minded."""

from __future__ import annotations

import datetime
from collections.abc import Iterable, Sequence

from filmwright.record import Event

CLOCK_SLACK = datetime.timedelta(minutes=2)
"""Clocks of two devices may differ by this much; one that is further off has its times corrected."""
_SLACK_S = CLOCK_SLACK.total_seconds()


def in_time(events: Sequence[Event]) -> tuple[Event, ...]:
    """Entries in the order in which they happened, whenever they were written down.

    Of two that were written at once, the clocks of two devices do not tell which came first: they stay in the order of writing.

    Parameters
    ----------
    events : sequence of Event
        Those that hold, in the order of writing.
    """
    moments, latest = [], 0.0
    for each in events:
        moment = _moment(each.happened)
        if each.written == each.happened or abs(_moment(each.written) - moment) <= _SLACK_S:
            if moment < latest <= moment + _SLACK_S:
                moment = latest
            latest = moment
        moments.append(moment)
    return tuple(events[k] for k in sorted(range(len(moments)), key=moments.__getitem__))


def _moment(text: str) -> float:
    return datetime.datetime.fromisoformat(text).timestamp()


def settled(events: Iterable[Event]) -> tuple[Event, ...]:
    """The entries that hold, in order: corrections in the place of what they correct, withdrawn ones left out.

    A correction is an entry of the same kind ``about`` an earlier one; of several the last holds. Taking back an entry
    takes back its corrections too; taking back a correction brings back what it corrected; taking back a
    ``withdraw`` brings back what that one took. An entry of another kind ``about`` an earlier one is a
    remark and stays where it is.

    Parameters
    ----------
    events : iterable of Event
        In the order of writing.
    """
    written = tuple(events)
    if not any(each.about for each in written):
        return written
    place = {each.id: k for k, each in enumerate(written)}
    taken = _taken(written, place)
    corrected: dict[str, str] = {}
    holds: dict[str, Event] = {}
    for k, each in enumerate(written):
        if each.kind == "withdraw":
            continue
        before = place.get(each.about, k)
        if before < k and written[before].kind == each.kind:
            corrected[each.id] = root = corrected.get(each.about, each.about)
            if each.about in taken:
                taken.add(each.id)
            elif each.id not in taken and root not in taken:
                holds[root] = each
    return tuple(
        holds.get(each.id, each)
        for each in written
        if each.kind != "withdraw" and each.id not in taken and each.id not in corrected
    )


def _taken(written: tuple[Event, ...], place: dict[str, int]) -> set[str]:
    """Ids that a withdrawal takes back which was not itself taken back."""
    taken: set[str] = set()
    for k in range(len(written) - 1, -1, -1):
        each = written[k]
        if each.kind == "withdraw" and each.id not in taken and place.get(each.about, k) < k:
            taken.add(each.about)
    return taken
