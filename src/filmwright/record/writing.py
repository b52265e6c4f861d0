"""Entries of lots on their way into the record: which are new, which contradict, which came too late."""

from __future__ import annotations

import json
from collections.abc import Mapping
from dataclasses import fields, replace
from typing import Any

from sqlalchemy import Connection, insert, select

from filmwright.errors import Problem, Problems
from filmwright.record import tables
from filmwright.record.chain import event_digest
from filmwright.record.checks import NAME
from filmwright.record.conflict import conflict
from filmwright.record.lots import known_lot
from filmwright.record.objects import Event, wrong_reference

_EVENT = tuple(each.name for each in fields(Event))
_IDS_AT_ONCE = 500
_NEW_NAMES = {"cleave": "name", "enter": "wafer"}
"""Kinds of entry after which a lot knows one more wafer or piece, and where its name is."""

Seen = Mapping[tuple[str, str], int]


def event_of(row: Mapping[str, Any]) -> Event:
    """The entry in a row."""
    return Event(**{what: row[what] for what in _EVENT})


def event_rows(connection: Connection, lot: str, after: int | None) -> list[Mapping[str, Any]]:
    """The rows of a lot, those after a position or all that there are."""
    table = tables.events
    query = select(table).where(table.c.lot == lot).order_by(table.c.position)
    if after is not None:
        query = query.where(table.c.position > after)
    return [dict(row) for row in connection.execute(query).mappings()]


def keep_events(connection: Connection, wanted: tuple[Event, ...], seen: Seen) -> int:
    """Keep those entries that are new; refuses all when one cannot be kept.

    Parameters
    ----------
    connection : Connection
        In a transaction that is alone on the lots.
    wanted : tuple of Event
    seen : mapping
        Per lot and step the position of the last entry that the writer had seen of it.
    """
    fresh = _fresh(connection, wanted)
    if fresh:
        _check_seen(connection, wanted, seen)
    heads: dict[str, tuple[int, str]] = {}
    rows = []
    for each in fresh:
        position, previous = heads.get(each.lot) or _head(connection, each.lot)
        sealed = event_digest(previous, each)
        rows.append({**vars(each), "position": position + 1, "previous": previous, "digest": sealed})
        heads[each.lot] = (position + 1, sealed)
    if rows:
        connection.execute(insert(tables.events), rows)
    return len(fresh)


def known_ids(connection: Connection, table: Any, ids: set[str]) -> list[Mapping[str, Any]]:
    """The rows of a table that have one of these ids."""
    found: list[Mapping[str, Any]] = []
    ordered = sorted(ids)
    for start in range(0, len(ordered), _IDS_AT_ONCE):
        some = ordered[start : start + _IDS_AT_ONCE]
        rows = connection.execute(select(table).where(table.c.id.in_(some))).mappings()
        found.extend(dict(row) for row in rows)
    return found


def without_file(connection: Connection, what: str, sha256: str) -> tuple[Problem, ...]:
    """The problem of an entry whose file is not kept yet."""
    table = tables.kept_files
    if not sha256 or connection.scalar(select(table.c.sha256).where(table.c.sha256 == sha256)):
        return ()
    return (
        Problem(
            what=f"the file of {what}", expected="kept before the entry", got=f"no file {sha256[:12]}…",
            why="an entry must not point to what is not there", remedy="keep the file, then the entry",
        ),
    )  # fmt: skip


def contradiction(what: str, kind: str, name: str) -> Problem:
    """The problem of an entry that says something else under an id that is already there."""
    return Problem(
        what=what,
        expected="the same as the one that is kept under this id",
        got=f"another one ({kind} {name})".replace(" )", ")"),
        why="what was written is never changed",
        remedy="write the correction as a new entry with an id of its own",
    )


def unknown_about(what: str, about: str) -> Problem:
    """The problem of an entry about one that is not there."""
    return Problem(
        what=f"what {what} is about", expected="an earlier entry there", got=f'"{about}"',
        why="a correction stands in the place of what it corrects", remedy="take the id from the log",
    )  # fmt: skip


def _head(connection: Connection, lot: str) -> tuple[int, str]:
    """Position and digest of the last entry; 0 and the digest of the lot when there is none."""
    table = tables.events
    row = connection.execute(
        select(table.c.position, table.c.digest)
        .where(table.c.lot == lot)
        .order_by(table.c.position.desc())
        .limit(1)
    ).first()
    if row is None:
        return 0, str(known_lot(connection, lot)["digest"])
    return int(row[0]), str(row[1])


def _fresh(connection: Connection, wanted: tuple[Event, ...]) -> tuple[Event, ...]:
    """The entries that are not kept yet, each once; refuses those that cannot be kept."""
    ids = {each.id for each in wanted} | {each.about for each in wanted if each.about}
    known = {row["id"]: event_of(row) for row in known_ids(connection, tables.events, ids)}
    wafers = wafers_of(connection, {each.lot for each in wanted})
    problems = Problems()
    fresh: list[Event] = []
    for each in wanted:
        kept = known.get(each.id)
        if kept is None:
            problems.found.extend(_misplaced(connection, each, wafers, known))
            known[each.id] = each
            fresh.append(each)
        elif replace(kept, written=each.written) != each:
            problems.add(contradiction(f"entry {each.id} of lot {each.lot}", each.kind, each.name))
    problems.raise_any()
    return tuple(fresh)


def wafers_of(connection: Connection, lots: set[str]) -> dict[str, list[str]]:
    """Per lot that is there: its wafers, the pieces cut off them and wafers that came from other lots."""
    table = tables.lots
    begun = connection.execute(select(table.c.name, table.c.wafers).where(table.c.name.in_(sorted(lots))))
    found = {str(name): list(json.loads(wafers)) for name, wafers in begun}
    table = tables.events
    rows = connection.execute(
        select(table.c.lot, table.c.kind, table.c.name, table.c.wafer)
        .where(table.c.lot.in_(sorted(found)), table.c.kind.in_(sorted(_NEW_NAMES)))
        .order_by(table.c.position)
    )
    for each in rows.mappings():
        found[each["lot"]].append(each[_NEW_NAMES[each["kind"]]])
    return found


def _misplaced(
    connection: Connection, each: Event, wafers: Mapping[str, list[str]], known: Mapping[str, Event]
) -> list[Problem]:
    if each.lot not in wafers:
        return list(wrong_reference("the lot of an entry", each.lot, tuple(wafers)).problems)
    problems: list[Problem] = []
    there = wafers[each.lot]
    if not (_comes_back(connection, each) or _begins_it(connection, each, there)):
        problems.extend(_misnamed(each, there))
    if each.kind in _NEW_NAMES:
        there.append(getattr(each, _NEW_NAMES[each.kind]))
    if each.wafer and each.wafer not in there:
        what = f"the wafer of an entry of lot {each.lot}"
        problems.extend(wrong_reference(what, each.wafer, tuple(there)).problems)
    what = f"an entry of kind {each.kind} of lot {each.lot}"
    about = known.get(each.about)
    # A wafer that enters names the entry with which it left another lot; all else stays within its lot.
    if each.about and (about is None or about.lot != (each.name if each.kind == "enter" else each.lot)):
        problems.append(unknown_about(what, each.about))
    problems.extend(without_file(connection, what, each.sha256))
    return problems


def _comes_back(connection: Connection, each: Event) -> bool:
    """Whether a wafer enters again under the name with which it left."""
    if each.kind != "enter":
        return False
    table = tables.events
    gone = connection.scalar(
        select(table.c.kind)
        .where(table.c.lot == each.lot, table.c.wafer == each.wafer, table.c.kind.in_(("leave", "enter")))
        .order_by(table.c.position.desc())
        .limit(1)
    )
    return gone == "leave"


def _begins_it(connection: Connection, each: Event, there: list[str]) -> bool:
    """Whether a wafer with which a lot is started comes from another lot: before anything else is written about the lot."""
    if each.kind != "enter" or there.count(each.wafer) != 1:
        return False
    table = tables.events
    other = select(table.c.id).where(table.c.lot == each.lot, table.c.kind != "enter").limit(1)
    own = select(table.c.id).where(table.c.lot == each.lot, table.c.wafer == each.wafer).limit(1)
    return connection.scalar(other) is None and connection.scalar(own) is None


def _misnamed(each: Event, there: list[str]) -> tuple[Problem, ...]:
    """A new wafer or piece whose name is missing, unfit for a label or taken."""
    if each.kind not in _NEW_NAMES:
        return ()
    name = getattr(each, _NEW_NAMES[each.kind])
    if NAME.fullmatch(name) and name not in there:
        return ()
    what = "the piece" if each.kind == "cleave" else "the wafer that came"
    return (
        Problem(
            what=f"the name of {what} in lot {each.lot}", expected='a new one, such as "A1"', got=f'"{name}"',
            why="each has a history of its own", remedy="give it a name of its own",
        ),
    )  # fmt: skip


def _check_seen(connection: Connection, wanted: tuple[Event, ...], seen: Seen) -> None:
    """Refuse when there are newer entries of a step than the writer had seen, other than those sent."""
    own = {each.id for each in wanted}
    table = tables.events
    newer: list[Event] = []
    for (lot, step), position in seen.items():
        query = (
            select(table)
            .where(table.c.lot == lot, table.c.step == step, table.c.position > position)
            .order_by(table.c.position)
        )
        newer.extend(
            event_of(dict(row)) for row in connection.execute(query).mappings() if row["id"] not in own
        )
    if newer:
        raise conflict(tuple(newer), wanted)
