"""Ways through a plan: which visit of which step an entry belongs to, and what lies ahead. The one rule of rework, repeats and skips.

The first way begins with the first step; a rework goes back to a step, and a new way begins there on which all that follows is
gone through again; a repeat does one step again and goes on where the work had come to. Within a way, steps come in the order
of the plan, and one of which nothing is written is taken as done as planned when a later one was begun.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field
from typing import Generic, TypeVar

Visit = TypeVar("Visit")

_BEGINS = frozenset({"start", "finish", "set", "seen", "measured", "repeat"})
"""Entries that tell that a step was begun; a decision at a hold point does so too."""


@dataclass
class Way(Generic[Visit]):
    """A way through the plan: from which place, and from which place on what is not told counts as done.

    Attributes
    ----------
    start, sure : int
    visits : dict from place to Visit
    over : set of int
        Places of visits that were finished.
    skipped : set of int
    """

    start: int = 0
    sure: int = 0
    visits: dict[int, Visit] = field(default_factory=dict)
    over: set[int] = field(default_factory=set)
    skipped: set[int] = field(default_factory=set)

    @property
    def last(self) -> int:
        """The furthest place that was begun; before the start where none was."""
        return max(self.visits, default=self.start - 1)

    def assumed(self, place: int) -> bool:
        """Whether nothing is written of a step that a later one, begun on this way, tells was done."""
        return self.sure <= place <= self.last and place not in self.visits and place not in self.skipped


class Ways(Generic[Visit]):
    """Hears entries and keeps the ways that they tell of.

    Parameters
    ----------
    made : callable () -> Visit
        Makes the visit of which more will be told.
    """

    def __init__(self, made: Callable[[], Visit]) -> None:
        self._made = made
        self.all: list[Way[Visit]] = [Way()]

    @property
    def newest(self) -> Way[Visit]:
        """The way that is gone now."""
        return self.all[-1]

    def hear(self, what: str, place: int, name: str = "") -> Visit | None:
        """The visit that an entry about a step belongs to; None where it tells of none.

        Parameters
        ----------
        what : str
            Kind of entry; another than those of a step tells nothing.
        place : int
            Of the step in the plan.
        name : str
            Of a hold point: the decision.
        """
        if what == "skip":
            self._skip(place)
        elif what == "rework" and place < self._front:
            self._new(place, place)
        elif what == "hold":
            return self._decided(place) if name else None
        elif what in _BEGINS:
            return self._visit(what, place)
        return None

    def copy(self, visit: Callable[[Visit], Visit]) -> Ways[Visit]:
        """The same ways for a piece that was cut off here; each visit is copied by ``visit``."""
        more = Ways(self._made)
        more.all = [
            Way(
                start=way.start,
                sure=way.sure,
                visits={place: visit(each) for place, each in way.visits.items()},
                over=set(way.over),
                skipped=set(way.skipped),
            )
            for way in self.all
        ]
        return more

    def current(self, place: int) -> Visit | None:
        """The visit of a step that holds: none where it was not begun, or is to be gone through again."""
        return self._home(place).visits.get(place)

    def told(self, place: int) -> list[Visit]:
        """All visits of a step that something is written of, in order."""
        return [way.visits[place] for way in self.all if place in way.visits]

    def done(self, place: int) -> int:
        """How often a step was begun, or is taken as done as planned."""
        return sum(place in way.visits or way.assumed(place) for way in self.all)

    def skipped(self, place: int) -> bool:
        """Whether a step was left out and not begun since."""
        return place in self._home(place).skipped

    def over(self, place: int) -> bool:
        """Whether the visit that holds is finished."""
        return place in self._home(place).over

    def ahead(self, place: int) -> bool:
        """Whether a step is still to be begun on the newest way."""
        return place >= self._front and place not in self.newest.skipped

    @property
    def _front(self) -> int:
        """Place of the first step that was not come to on the newest way; nobody goes back to what lies beyond."""
        return max(self.newest.last + 1, self.newest.sure)

    def _home(self, place: int) -> Way[Visit]:
        """The newest way on which a step is to be gone through."""
        for way in reversed(self.all):
            if place >= way.sure or place in way.visits:
                return way
        return self.all[0]

    def _visit(self, what: str, place: int) -> Visit:
        way = self._home(place)
        if what == "measured" and place not in way.visits and (been := self.told(place)):
            return been[-1]  # what is measured late tells of the visit before
        again = what == "repeat" and (place in way.visits or way.assumed(place))
        if again or (what == "start" and place in way.over):
            way = self._new(place, self._front)
        if what == "finish":
            way.over.add(place)
        return self._begun(way, place)

    def _decided(self, place: int) -> Visit:
        """Who decides at a hold point has looked."""
        way = self._home(place)
        way.over.add(place)
        return self._begun(way, place)

    def _begun(self, way: Way[Visit], place: int) -> Visit:
        visit = way.visits.get(place)
        if visit is None:
            way.skipped.discard(place)
            visit = way.visits[place] = self._made()
        return visit

    def _skip(self, place: int) -> None:
        """Not done; what was finished before stays done."""
        way = self._home(place)
        if place in way.over:
            return
        way.visits.pop(place, None)
        way.skipped.add(place)

    def _new(self, start: int, sure: int) -> Way[Visit]:
        """A further way; what was skipped and lies beyond all that was done stays skipped."""
        furthest = max(each.last for each in self.all)
        left_out = {place for each in self.all for place in each.skipped if place > furthest}
        self.all.append(Way(start=start, sure=sure, skipped=left_out))
        return self.newest
