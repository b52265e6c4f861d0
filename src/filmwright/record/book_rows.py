"""Rows of logbooks."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import asdict, fields, replace
from typing import Any

from sqlalchemy import Connection, insert, select

from filmwright.errors import Problem, Problems
from filmwright.record import tables
from filmwright.record.logbook import LogbookEntry, book_digest, line_digest
from filmwright.record.writing import contradiction, known_ids, unknown_about, without_file

_LINE = tuple(each.name for each in fields(LogbookEntry))


def line_of(row: Mapping[str, Any]) -> LogbookEntry:
    """The line in a row."""
    return LogbookEntry(**{what: row[what] for what in _LINE})


def line_rows(connection: Connection, book: str, after: int | None) -> list[Mapping[str, Any]]:
    """The rows of a logbook, those after a position or all that there are."""
    table = tables.logbooks
    query = select(table).where(table.c.book == book).order_by(table.c.position)
    if after is not None:
        query = query.where(table.c.position > after)
    return [dict(row) for row in connection.execute(query).mappings()]


def keep_lines(connection: Connection, wanted: Iterable[LogbookEntry]) -> int:
    """Keep those lines that are new; refuses all when one cannot be kept."""
    wanted = tuple(wanted)
    ids = {each.id for each in wanted} | {each.about for each in wanted if each.about}
    known = {row["id"]: line_of(row) for row in known_ids(connection, tables.logbooks, ids)}
    problems = Problems()
    fresh: list[LogbookEntry] = []
    for each in wanted:
        kept = known.get(each.id)
        if kept is None:
            problems.found.extend(_misplaced(connection, each, known))
            known[each.id] = each
            fresh.append(each)
        elif replace(kept, written=each.written) != each:
            problems.add(contradiction(f"line {each.id} of logbook {each.book}", each.kind, each.name))
    problems.raise_any()
    heads: dict[str, tuple[int, str]] = {}
    rows = []
    for each in fresh:
        position, previous = heads.get(each.book) or _head(connection, each.book)
        sealed = line_digest(previous, each)
        rows.append({**asdict(each), "position": position + 1, "previous": previous, "digest": sealed})
        heads[each.book] = (position + 1, sealed)
    if rows:
        connection.execute(insert(tables.logbooks), rows)
    return len(fresh)


def _misplaced(
    connection: Connection, each: LogbookEntry, known: Mapping[str, LogbookEntry]
) -> list[Problem]:
    what = f"a line of logbook {each.book}"
    problems = list(without_file(connection, what, each.sha256))
    if each.about and (each.about not in known or known[each.about].book != each.book):
        problems.append(unknown_about(what, each.about))
    return problems


def _head(connection: Connection, book: str) -> tuple[int, str]:
    table = tables.logbooks
    row = connection.execute(
        select(table.c.position, table.c.digest)
        .where(table.c.book == book)
        .order_by(table.c.position.desc())
        .limit(1)
    ).first()
    return (0, book_digest(book)) if row is None else (int(row[0]), str(row[1]))
