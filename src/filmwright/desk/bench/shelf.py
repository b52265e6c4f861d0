"""The logbooks of tools and baths, read once and followed; with the uses that lots made."""

from __future__ import annotations

import threading
from collections.abc import Callable, Hashable
from typing import TYPE_CHECKING, Any, TypeVar

from filmwright.desk.bench.ends import RULES, ended_of
from filmwright.desk.files import LAB_NAME
from filmwright.desk.logbooks import BATH, TOOL, Books, Use, holding, with_books
from filmwright.desk.uses import in_runs, uses_of
from filmwright.errors import BadInput
from filmwright.flow import lab_from_text, read_lab
from filmwright.knowledge import Lab

if TYPE_CHECKING:
    from filmwright.desk.bench.house import Bench
    from filmwright.record import LogbookEntry

T = TypeVar("T")
_LOOKED_BACK = 20
"""Lots whose lab files are tried, where newer ones cannot be read."""


class Shelf:
    """All logbooks of one bench."""

    def __init__(self, bench: Bench) -> None:
        self._bench = bench
        self._lock = threading.RLock()
        self._lines: dict[str, tuple[LogbookEntry, ...]] = {}
        self._uses: dict[str, tuple[int, tuple[Use, ...]]] = {}
        self._ended = 0
        self._newest: tuple[int, str] = (-1, "")
        self._books = Books()
        self._lab: tuple[object, Lab] | None = None
        self._read: tuple[object, Lab] | None = None
        self._told: tuple[object, dict[Hashable, Any]] = (None, {})

    def books(self) -> Books:
        """What the logbooks and the lots say now; the same object while nothing is new."""
        moment = self._bench.moment
        if moment is not None and moment.shelf:
            return self._books
        with self._lock:
            new = self._follow_lines()
            new = self._follow_lots() or new
            if new:
                self._books = Books(
                    lines={book: holding(lines) for book, lines in self._lines.items()},
                    uses=tuple(use for _, uses in self._uses.values() for use in uses),
                )
            if moment is not None:
                moment.shelf = True
            return self._books

    def heads(self) -> int:
        """How many lines the logbooks of tools and baths have; it grows with each."""
        moment = self._bench.moment
        if moment is not None and moment.lines is not None:
            return moment.lines
        found = sum(
            head for book, head in self._bench.store.book_heads().items() if book.startswith((TOOL, BATH))
        )
        if moment is not None:
            moment.lines = found
        return found

    def lines(self, book: str) -> tuple[LogbookEntry, ...]:
        """Every line of a logbook in the order of writing, those too that no longer hold."""
        self.books()
        return self._lines.get(book, ())

    def lab(self) -> Lab:
        """The lab file of the bench, joined by the logbooks.

        The file that is served, else the one beside its plans, else the one with which the newest lot began.
        """
        with self._lock:
            books = self.books()
            key, read = self._file()
            if self._lab is None or self._lab[0] != (key, id(books)):
                self._lab = ((key, id(books)), with_books(read, books))
            return self._lab[1]

    def told(self, key: Hashable, tell: Callable[[], T]) -> T:
        """What follows from the logbooks and the lab file, told once until one of them says something new.

        Parameters
        ----------
        key : hashable
            What else it follows from.
        tell : callable
        """
        books = self.books()
        stamp = (self._file()[0], id(books))
        with self._lock:
            if self._told[0] != stamp:
                self._told = (stamp, {})
            known = self._told[1]
        if key not in known:
            known[key] = tell()
        found: T = known[key]
        return found

    def file(self) -> Lab:
        """The lab file as it is written."""
        return self._file()[1]

    def _file(self) -> tuple[object, Lab]:
        bench = self._bench
        place = bench.lab or (bench.plans / LAB_NAME if bench.plans is not None else None)
        if place is not None and place.is_file():
            key: object = (str(place), place.stat().st_mtime_ns)
            return self._once(key, lambda: read_lab(place))
        text = self._last_text()
        return self._once(text, lambda: lab_from_text(text, LAB_NAME) if text else Lab(name="no lab file"))

    def _last_text(self) -> str:
        """The lab file with which the newest lot began that had one which reads; looked for again only after another lot began."""
        lots = self._bench.going_now().lots
        if self._newest[0] != lots:
            names = self._bench.store.newest(_LOOKED_BACK, with_lab=True)
            texts = (self._bench.lot(name).lab_text for name in names if _reads(self._bench, name))
            self._newest = (lots, next(texts, ""))
        return self._newest[1]

    def _once(self, key: object, read: Callable[[], Lab]) -> tuple[object, Lab]:
        """A lab file, read again only when it is another one."""
        if self._read is None or self._read[0] != key:
            self._read = (key, read())
        return self._read

    def _follow_lines(self) -> bool:
        new = False
        for book, head in self._bench.store.book_heads().items():
            known = self._lines.get(book, ())
            if book.startswith((TOOL, BATH)) and len(known) < head:
                more = self._bench.store.logbook(book, after=len(known))
                if more:
                    self._lines[book] = (*known, *more)
                    new = True
        return new

    def _follow_lots(self) -> bool:
        """Lots under way by their entries, others by what was kept of their ends."""
        new = False
        lab = self._file()[1]
        # In this order: a lot that ends in between is found by its entries now, and by its end the next time.
        for lot, head in self._bench.going_now().heads.items():
            if self._uses.get(lot, (-1, ()))[0] == head:
                continue
            if self._bench.trouble(lot):
                continue
            held = self._bench.lot(lot)
            found = uses_of(lot, self._bench.flow(lot).steps, self._bench.events(lot), held.wafers, lab)
            new = new or found != self._uses.get(lot, (0, ()))[1]
            self._uses[lot] = (head, found)
        for ending in self._bench.store.endings(RULES, after=self._ended):
            self._ended = ending.number
            end = ended_of(ending)
            known = self._uses.get(end.lot, (-1, ()))
            if end.head > known[0]:
                found = tuple(in_runs(use, lab) for use in end.uses)
                new = new or found != known[1]
                self._uses[end.lot] = (end.head, found)
        return new


def _reads(bench: Bench, lot: str) -> bool:
    """Whether the lab file of a lot can be read as it was frozen."""
    try:
        bench.lab_of(lot)
    except BadInput:
        return False
    return True
