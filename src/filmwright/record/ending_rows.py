"""Rows of endings, and lots by number."""

from __future__ import annotations

from collections.abc import Collection, Iterable
from dataclasses import fields
from typing import Any

from sqlalchemy import ColumnElement, Connection, Select, func, insert, select

from filmwright.record import tables
from filmwright.record.endings import Ending, Going

_NAMES_AT_ONCE = 500


def _head() -> ColumnElement[int]:
    table = tables.events
    # One look at the end of the index per lot; a grouping would read the whole index.
    last = select(func.max(table.c.position)).where(table.c.lot == tables.lots.c.name).scalar_subquery()
    return func.coalesce(last, 0)


def heads_of_all() -> Select[Any]:
    """Name and last position of every lot."""
    return select(tables.lots.c.name, _head()).order_by(tables.lots.c.number)


def going_in(connection: Connection, rules: str) -> Going:
    """The lots that may have steps left."""
    table, other = tables.endings, tables.endings.alias()
    # Answered by the small table alone: a look at the entries of every lot would grow with the record.
    newest = (
        select(func.max(other.c.head)).where(other.c.lot == table.c.lot).correlate(table).scalar_subquery()
    )
    ended = (
        select(table.c.lot)
        .where(table.c.lot == tables.lots.c.name, table.c.head == newest, table.c.rules == rules)
        .exists()
    )
    rows = connection.execute(heads_of_all().where(~ended)).all()
    count = connection.scalar(select(func.count()).select_from(tables.lots))
    return Going(heads={str(name): int(head) for name, head in rows}, lots=int(count or 0))


def endings_in(
    connection: Connection, rules: str, after: int, lots: Collection[str] | None
) -> tuple[Ending, ...]:
    """The endings kept after another one, oldest first, or those of some lots."""
    table = tables.endings
    query = select(table).where(table.c.rules == rules, table.c.number > after).order_by(table.c.number)
    if lots is None:
        return tuple(_ending(row) for row in connection.execute(query).mappings())
    names, found = sorted(lots), []
    for start in range(0, len(names), _NAMES_AT_ONCE):
        some = query.where(table.c.lot.in_(names[start : start + _NAMES_AT_ONCE]))
        found += [_ending(row) for row in connection.execute(some).mappings()]
    return tuple(found)


def _ending(row: Any) -> Ending:
    return Ending(**{each.name: row[each.name] for each in fields(Ending)})


def keep_endings(connection: Connection, endings: Iterable[Ending]) -> None:
    """Keep endings that are not there yet, of lots that nobody has written to since.

    Parameters
    ----------
    connection : Connection
        In a transaction that is alone on the lots and on the endings.
    endings : iterable of Ending
    """
    table, written = tables.endings, tables.events
    for each in endings:
        last = select(func.max(written.c.position)).where(written.c.lot == each.lot)
        if (connection.scalar(last) or 0) != each.head:
            continue
        known = select(table.c.number).where(
            table.c.lot == each.lot, table.c.rules == each.rules, table.c.head == each.head
        )
        if connection.scalar(known) is None:
            row = {"lot": each.lot, "head": each.head, "rules": each.rules, "told": each.told}
            connection.execute(insert(table), row)


def newest_in(connection: Connection, count: int, skip: int, with_lab: bool) -> tuple[str, ...]:
    """Names of the lots started last, the newest first, leaving some out; of all, or of those with a lab file."""
    table = tables.lots
    query = select(table.c.name).order_by(table.c.number.desc()).limit(count).offset(skip)
    if with_lab:
        query = query.where(table.c.lab_text != "")
    return tuple(str(name) for name in connection.scalars(query))
