"""Calibrations that a person accepted after earlier lots: they are the lab's own from then on."""

from __future__ import annotations

import datetime
from collections.abc import Iterable
from dataclasses import dataclass, replace
from pathlib import Path
from typing import TYPE_CHECKING

from filmwright.desk.files import Work, load, record_if_any
from filmwright.knowledge import Calibration, Lab

if TYPE_CHECKING:
    from filmwright.record import Store


@dataclass(frozen=True, kw_only=True)
class Accepted:
    """A calibration that was accepted, and what it rests on.

    Attributes
    ----------
    calibration : Calibration
        What was believed when the lot began, weighed with what was measured in it.
    lot : str
    began, when : datetime
        When the lot began, and when a person accepted.
    """

    calibration: Calibration
    lot: str
    began: datetime.datetime
    when: datetime.datetime

    def holds(self, other: Calibration) -> bool:
        """Whether another calibration is of the same thing and was known when the lot began, so that this one contains it."""
        return _thing(self.calibration) == _thing(other) and other.date <= self.began.date().isoformat()


def _thing(calibration: Calibration) -> tuple[str, ...]:
    c = calibration
    return (c.of, c.tool, c.material, c.medium, c.recipe)


def informed(plan: Path, lab: Path | None = None, record: str | Path | None = None) -> Work:
    """A plan with everything around it, the lab file joined by what was accepted into the record and by its logbooks of tools."""
    work = load(plan, lab)
    place = record_if_any(record)
    if place is None:
        return work
    from filmwright.desk.logbooks import with_books
    from filmwright.desk.uses import books_in
    from filmwright.record import Store

    with Store.open(place) as store:
        return replace(work, lab=with_books(with_accepted(work.lab, accepted_into(store)), books_in(store)))


def accepted(record: str | Path | None = None) -> tuple[Accepted, ...]:
    """All that were accepted into a record; none where there is no record.

    Parameters
    ----------
    record : Path or None
        None looks for the record that ``FILMWRIGHT_RECORD`` names, else for ``record.sqlite`` in the current
        folder; a record that is named must be there.
    """
    place = record_if_any(record)
    if place is None:
        return ()
    from filmwright.record import Store

    with Store.open(place) as store:
        return accepted_into(store)


def accepted_into(store: Store, before: str = "") -> tuple[Accepted, ...]:
    """What was accepted before a lot began, or all of it.

    Of one lot and one thing the newest acceptance holds: a measurement never counts twice.

    Parameters
    ----------
    store : Store
    before : str
        Name of a lot; empty for all.
    """
    began = {lot.name: datetime.datetime.fromisoformat(lot.started) for lot in store.lots()}
    newest: dict[tuple[str, ...], Accepted] = {}
    for each in store.accepted():
        when = datetime.datetime.fromisoformat(each.when)
        if before and (each.lot == before or when > began[before]):
            continue
        newest[(each.lot, *_thing(each.calibration))] = Accepted(
            calibration=each.calibration, lot=each.lot, began=began[each.lot], when=when
        )
    return tuple(newest.values())


def with_accepted(lab: Lab, found: Iterable[Accepted]) -> Lab:
    """The lab with what was accepted; what an accepted calibration contains is not counted a second time."""
    found = tuple(found)
    if not found:
        return lab
    own = [c for c in lab.calibrations if not any(each.holds(c) for each in found)]
    last = [
        each
        for each in found
        if not any(
            each.lot != later.lot
            and _thing(each.calibration) == _thing(later.calibration)
            and each.when <= later.began
            for later in found
        )
    ]
    return replace(lab, calibrations=(*own, *(each.calibration for each in last)))
