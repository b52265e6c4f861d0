"""Starting a lot from a plan of the served folder."""

from __future__ import annotations

import uuid
from collections.abc import Mapping
from pathlib import Path

from filmwright.desk.bench.house import Bench
from filmwright.desk.bench.plans import place_of
from filmwright.desk.files import load, now
from filmwright.desk.lots import keep_drawing, new_lot
from filmwright.errors import BadInput, Problem
from filmwright.record import Lot, lot_name

MOST_WAFERS = 25
"""What one carrier holds."""


def start_lot(bench: Bench, *, plan: str, wafers: int, who: str, note: str = "", id: str = "") -> Lot:
    """Freeze a plan, its lab file and its drawing as a new lot.

    Parameters
    ----------
    bench : Bench
    plan : str
        Name within the served folder.
    wafers : int
    who, note : str
    id : str
        UUID drawn with the form; the same one sent twice starts one lot.

    Raises
    ------
    BadInput
        With every problem of the plan, when it cannot be run.
    """
    if bench.plans is None:
        raise BadInput(
            Problem(
                what="a plan",
                expected="in a folder that is served",
                got="no folder",
                why="a lot is started from a plan",
                remedy="start the server with --plans FOLDER",
            )
        )
    if not 1 <= wafers <= MOST_WAFERS:
        raise BadInput(
            Problem(
                what="the number of wafers",
                expected=f"1 to {MOST_WAFERS}",
                got=str(wafers),
                why="a carrier holds no more",
                remedy="start another lot for the others",
            )
        )
    if not who:
        raise BadInput(
            Problem(
                what="who starts the lot",
                expected="named",
                got="nobody",
                why="somebody must be asked later",
                remedy="give your name or initials",
            )
        )
    path: Path = place_of(bench.plans, plan)
    seed, again = _seed(id, {lot.name: lot for lot in bench.lots()})
    if again is not None:
        return again
    work = load(path, bench.lab)
    lot = new_lot(work, path, wafers, f"{note} Started by {who}.".strip(), now(), seed)
    bench.store.start_lot(lot)
    keep_drawing(bench.store, lot, path, work)
    return lot


def _seed(id: str, taken: Mapping[str, Lot]) -> tuple[int, Lot | None]:
    """The seed that draws the name, from the form's id, and the lot that the form has started already.

    Two ids may draw one name, so what is taken by another seed is passed over.
    """
    drawn = uuid.UUID(id) if id else uuid.uuid4()
    for again in range(len(taken) + 1):
        seed = uuid.uuid5(drawn, str(again)).int % (1 << 62) + 1
        lot = taken.get(lot_name(seed))
        if lot is None or lot.seed == seed:
            return seed, lot
    raise AssertionError("there are more names than lots")
