"""Calibrations that a person accepted after earlier lots: they are the lab's own from then on."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

from filmwright.desk.files import RECORD_NAME
from filmwright.knowledge import Calibration

if TYPE_CHECKING:
    from filmwright.record import Store


def accepted(record: Path | None = None) -> tuple[Calibration, ...]:
    """All that were accepted into a record; none where there is no record.

    Parameters
    ----------
    record : Path or None
        None looks for ``record.sqlite`` in the current folder; a record that is named must be there.
    """
    place = record or Path(RECORD_NAME)
    if record is None and not place.is_file():
        return ()
    from filmwright.record import Store

    with Store.open(place) as store:
        return accepted_before(store)


def accepted_before(store: Store, moment: str = "") -> tuple[Calibration, ...]:
    """What was accepted before an ISO time; all of it when none is given."""
    return tuple(each.calibration for each in store.accepted() if not moment or each.when <= moment)
