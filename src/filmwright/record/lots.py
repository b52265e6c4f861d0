"""Rows of lots."""

from __future__ import annotations

import json
from collections.abc import Mapping
from dataclasses import asdict, fields
from typing import Any

from sqlalchemy import Connection, insert, select

from filmwright.errors import BadInput, Problem
from filmwright.record import tables
from filmwright.record.chain import lot_digest
from filmwright.record.objects import Lot, wrong_reference

_LOT = tuple(each.name for each in fields(Lot))


def lot_row(connection: Connection, name: str) -> Mapping[str, Any] | None:
    """The row of a lot; None when there is none of this name."""
    found: Any = connection.execute(select(tables.lots).where(tables.lots.c.name == name)).mappings().first()
    return None if found is None else dict(found)


def known_lot(connection: Connection, name: str) -> Mapping[str, Any]:
    """The row of a lot, or the refusal of a name that is not there."""
    row = lot_row(connection, name)
    if row is None:
        raise wrong_reference(
            "the name of a lot", name, tuple(connection.scalars(select(tables.lots.c.name)))
        )
    return row


def check_lot(connection: Connection, name: str) -> None:
    """Refuse a name that is not there; its texts are not read for that."""
    if connection.scalar(select(tables.lots.c.number).where(tables.lots.c.name == name)) is None:
        known_lot(connection, name)


def lot_of(row: Mapping[str, Any]) -> Lot:
    """The lot in a row."""
    content = {what: row[what] for what in _LOT}
    return Lot(**{**content, "wafers": tuple(json.loads(row["wafers"])), "seed": int(row["seed"])})


def keep_lot(connection: Connection, lot: Lot) -> None:
    """Keep a lot once; another one of the same name is refused."""
    row = {
        **asdict(lot), "wafers": json.dumps(lot.wafers), "seed": str(lot.seed), "digest": lot_digest(lot),
    }  # fmt: skip
    kept = lot_row(connection, lot.name)
    if kept is None:
        connection.execute(insert(tables.lots), row)
    elif kept["digest"] != row["digest"]:
        raise BadInput(
            Problem(
                what="the name of a new lot",
                expected="one that is not in the record yet",
                got=f'"{lot.name}", started {kept["started"]}',
                why="the flow of a lot is frozen when it starts",
                remedy="give the lot another name, or add entries to the one that is there",
            )
        )
