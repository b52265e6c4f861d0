"""The refusal of an entry that was written without having seen a newer one."""

from __future__ import annotations

from datetime import datetime

from filmwright.errors import BadInput, Problem
from filmwright.record.objects import Event

_VERBS = {"start": "started", "finish": "finished", "skip": "skipped", "hold": "decided the hold point of",
          "repeat": "repeated", "rework": "sent to rework"}  # fmt: skip


class Conflict(BadInput):
    """Somebody wrote about the step since the writer looked at it.

    Attributes
    ----------
    entries : tuple of Event
        The newer entries, oldest first.
    """

    def __init__(self, *problems: Problem, entries: tuple[Event, ...]) -> None:
        super().__init__(*problems)
        self.entries = entries


def conflict(newer: tuple[Event, ...], wanted: tuple[Event, ...]) -> Conflict:
    """The refusal that says who did what when.

    Parameters
    ----------
    newer : tuple of Event
        Not empty; oldest first.
    wanted : tuple of Event
        What was to be written.
    """
    problems = []
    for lot, step in dict.fromkeys((each.lot, each.step) for each in newer):
        there = [each for each in newer if (each.lot, each.step) == (lot, step)]
        telling = next((each for each in reversed(there) if each.kind in _VERBS), there[-1])
        place = f"step {step}" if step else f"lot {lot}"
        own = {each.who for each in wanted if each.lot == lot}
        author = "you, elsewhere," if telling.who and telling.who in own else "someone else"
        if telling.who and telling.who not in own:
            author += f" ({telling.who})"
        verb = _VERBS.get(telling.kind, "wrote about")
        problems.append(
            Problem(
                what=f"what was known of {place} of lot {lot}" if step else f"what was known of {place}",
                expected="the newest entry there",
                got=f"older: {author} {verb} {place} {_moment(telling, wanted)}",
                why="nothing was written, so that neither entry hides the other",
                remedy="look at the newer entries, then write yours again if it still holds",
            )
        )
    return Conflict(*problems, entries=newer)


def _moment(telling: Event, wanted: tuple[Event, ...]) -> str:
    happened = datetime.fromisoformat(telling.happened)
    days = {datetime.fromisoformat(each.written).date() for each in wanted}
    return f"at {happened:%H:%M}" + ("" if happened.date() in days else f" on {happened:%Y-%m-%d}")
