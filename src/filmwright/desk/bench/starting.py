"""Starting a lot from a plan of the served folder."""

from __future__ import annotations

import uuid
from collections.abc import Mapping
from dataclasses import dataclass, replace
from pathlib import Path

from filmwright.desk.bench.house import Bench
from filmwright.desk.bench.pieces import check_beginning, take_along
from filmwright.desk.bench.plans import place_of
from filmwright.desk.files import load, now
from filmwright.desk.lots import keep_drawing, new_lot
from filmwright.errors import BadInput, Problem
from filmwright.record import Event, Lot, lot_name

MOST_WAFERS = 25
"""What one carrier holds."""


@dataclass(frozen=True, kw_only=True)
class Wafers:
    """The wafers of a new lot.

    Attributes
    ----------
    count : int
        Of new ones, W1, W2 and so on, where they get no other names.
    names : tuple of str
        Of new ones; as many as there are.
    take : tuple of str
        Labels of wafers or pieces of other lots that become this lot; then there are no new ones.
    at : str
        Code of the step before which those go on; empty where they stood.
    """

    count: int = 1
    names: tuple[str, ...] = ()
    take: tuple[str, ...] = ()
    at: str = ""


def start_lot(
    bench: Bench, *, plan: str, wafers: int | Wafers, who: str, note: str = "", id: str = ""
) -> Lot:
    """Freeze a plan, its lab file and its drawing as a new lot.

    Parameters
    ----------
    bench : Bench
    plan : str
        Name within the served folder.
    wafers : int or Wafers
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
    wanted = wafers if isinstance(wafers, Wafers) else Wafers(count=wafers)
    count = len(wanted.names or wanted.take) or wanted.count
    check_beginning(wanted.names, wanted.take, wanted.at)
    if not 1 <= count <= MOST_WAFERS:
        raise BadInput(
            Problem(
                what="the number of wafers",
                expected=f"1 to {MOST_WAFERS}",
                got=str(count),
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
    lot = new_lot(work, path, count, f"{note} Started by {who}.".strip(), now(), seed)
    came: tuple[Event, ...] = ()
    if wanted.take:
        lot, came = take_along(bench, lot, work.flow, wanted.take, at=wanted.at, who=who, seed=id)
    elif wanted.names:
        lot = replace(lot, wafers=wanted.names)
    bench.store.start_lot(lot, came)
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
