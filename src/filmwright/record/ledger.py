"""The record in SQLite: write-ahead log, full sync, foreign keys on."""

from __future__ import annotations

import json
import sqlite3
import time
from collections.abc import Iterable, Iterator, Mapping
from contextlib import contextmanager
from dataclasses import asdict, fields, replace
from pathlib import Path
from typing import Any

from sqlalchemy import URL, Connection, Engine, create_engine, event, func, insert, select
from sqlalchemy.exc import DBAPIError

from filmwright.errors import BadInput, Problem, Problems
from filmwright.record import tables
from filmwright.record.chain import canonical, check_chain, event_digest, lot_digest
from filmwright.record.objects import (
    AcceptedCalibration,
    ChainCheck,
    Event,
    Lot,
    MeasurementFile,
    digest,
    wrong_reference,
)
from filmwright.record.opening import SCHEMAS, refuse, told
from filmwright.record.opening import tell as tell_sqlite
from filmwright.record.store import Store

_LOT = tuple(each.name for each in fields(Lot))
_EVENT = tuple(each.name for each in fields(Event))
_FILE = tuple(each.name for each in fields(MeasurementFile))
_IDS_AT_ONCE = 500


class Ledger(Store):
    """A store over one SQLite file."""

    def __init__(self, path: Path, engine: Engine) -> None:
        self._path = path
        self._engine = engine

    @classmethod
    def over(cls, path: Path, *, found: str, patience: float) -> Ledger:
        """Open the file and run what is missing of the revisions.

        Parameters
        ----------
        path : Path
        found : str
            The revision that was found in the file; empty for a new one.
        patience : float [s]
        """
        ledger = cls(path, _engine(path, patience))
        try:
            if found != SCHEMAS[-1]:
                with ledger._writing() as connection:
                    _bring_up_to_date(connection)
            else:
                with ledger._reading():
                    pass
        except BaseException:
            ledger.close()
            raise
        return ledger

    def close(self) -> None:
        """Let go of the file."""
        self._engine.dispose()

    @contextmanager
    def _transaction(self, engine: Engine) -> Iterator[Connection]:
        try:
            with told(self._path), engine.begin() as connection:
                yield connection
        except DBAPIError as trouble:
            if isinstance(trouble.orig, sqlite3.Error):
                tell_sqlite(self._path, trouble.orig)
            raise

    def _reading(self) -> Any:
        return self._transaction(self._engine)

    def _writing(self) -> Any:
        return self._transaction(self._engine.execution_options(writes=True))

    def start_lot(self, lot: Lot) -> None:
        """Keep a lot."""
        row = {
            **asdict(lot),
            "wafers": json.dumps(lot.wafers),
            "seed": str(lot.seed),
            "digest": lot_digest(lot),
        }
        with self._writing() as connection:
            kept = _lot_row(connection, lot.name)
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

    def append(self, events: Iterable[Event]) -> int:
        """Keep entries, all or none."""
        wanted = tuple(events)
        with self._writing() as connection:
            fresh = _fresh(connection, wanted)
            heads: dict[str, tuple[int, str]] = {}
            rows = []
            for each in fresh:
                position, previous = heads.get(each.lot) or _head(connection, each.lot)
                sealed = event_digest(previous, each)
                rows.append(
                    {**asdict(each), "position": position + 1, "previous": previous, "digest": sealed}
                )
                heads[each.lot] = (position + 1, sealed)
            if rows:
                connection.execute(insert(tables.events), rows)
        return len(fresh)

    def lots(self) -> tuple[Lot, ...]:
        """All lots in the order in which they were started."""
        with self._reading() as connection:
            rows = connection.execute(select(tables.lots).order_by(tables.lots.c.number)).mappings().all()
        return tuple(_lot(row) for row in rows)

    def heads(self) -> Mapping[str, int]:
        """For each lot the position of its last entry."""
        table = tables.events
        # One look at the end of the index per lot; a grouping would read the whole index.
        last = select(func.max(table.c.position)).where(table.c.lot == tables.lots.c.name).scalar_subquery()
        query = select(tables.lots.c.name, func.coalesce(last, 0)).order_by(tables.lots.c.number)
        with self._reading() as connection:
            return {str(name): int(position) for name, position in connection.execute(query)}

    def lot(self, name: str) -> Lot:
        """One lot."""
        with self._reading() as connection:
            return _lot(_known_lot(connection, name))

    def events(self, lot: str, *, after: int = 0) -> tuple[Event, ...]:
        """The entries of a lot in the order of writing."""
        with self._reading() as connection:
            _known_lot(connection, lot)
            rows = _event_rows(connection, lot, after)
        return tuple(_event(row) for row in rows)

    def verify(self, lot: str, *, head: str = "") -> ChainCheck:
        """Whether the entries are those that were written."""
        with self._reading() as connection:
            kept = _known_lot(connection, lot)
            rows = _event_rows(connection, lot, None)
        try:
            links = [(row["position"], _event(row), row["previous"], row["digest"]) for row in rows]
            checked = check_chain(_lot(kept), kept["digest"], links)
        except (BadInput, ValueError) as trouble:
            return ChainCheck(lot=lot, entries=len(rows), head="", sound=False, first_bad=0,
                              why=f"an entry can no longer be read: {trouble}")  # fmt: skip
        seen = {kept["digest"], *(row["digest"] for row in rows)}
        if checked.sound and head and not any(each.startswith(head) for each in seen):
            return replace(checked, sound=False, first_bad=checked.entries + 1,
                           why=f"the entry that ends in {head} is no longer there")  # fmt: skip
        return checked

    def accept(self, accepted: AcceptedCalibration) -> None:
        """Keep a calibration that a person accepted."""
        content = asdict(accepted)
        row = {
            "digest": digest(canonical(content)),
            "lot": accepted.lot,
            "calibration": canonical(content["calibration"]),
            "who": accepted.who,
            "accepted": accepted.when,
        }
        with self._writing() as connection:
            _known_lot(connection, accepted.lot)
            _insert_once(connection, tables.calibrations, row)

    def accepted(self, lot: str = "") -> tuple[AcceptedCalibration, ...]:
        """Accepted calibrations in the order of acceptance."""
        from filmwright.knowledge import Calibration

        query = select(tables.calibrations).order_by(tables.calibrations.c.number)
        if lot:
            query = query.where(tables.calibrations.c.lot == lot)
        with self._reading() as connection:
            rows = connection.execute(query).mappings().all()
        return tuple(
            AcceptedCalibration(
                calibration=Calibration(**json.loads(row["calibration"])),
                lot=row["lot"], who=row["who"], when=row["accepted"],
            )
            for row in rows
        )  # fmt: skip

    def keep_file(self, file: MeasurementFile, raw: bytes) -> None:
        """Keep a raw file with its hash."""
        if digest(raw) != file.sha256:
            raise BadInput(
                Problem(
                    what=f"the SHA-256 of {file.name}",
                    expected=digest(raw),
                    got=file.sha256,
                    why="the file was changed after it was read",
                    remedy="read the file again and keep it then",
                )
            )
        row = asdict(file)
        row["digest"] = digest(canonical({**row, "kept": ""}))
        with self._writing() as connection:
            lot = _lot(_known_lot(connection, file.lot))
            wafers = _wafers(connection, lot, ())
            if file.wafer and file.wafer not in wafers:
                raise wrong_reference(f"the wafer of {file.name}", file.wafer, wafers)
            known = connection.scalar(
                select(tables.raw_files.c.sha256).where(tables.raw_files.c.sha256 == file.sha256)
            )
            if known is None:
                connection.execute(insert(tables.raw_files), {"sha256": file.sha256, "raw": raw})
            newest = [
                each for each in _newest(_file_rows(connection, file.lot)) if _place(each) == _place(row)
            ]
            if not newest or newest[0]["digest"] != row["digest"]:
                _insert_once(connection, tables.files, row)

    def files(self, lot: str, *, every: bool = False) -> tuple[MeasurementFile, ...]:
        """The newest entry per file, wafer and device."""
        with self._reading() as connection:
            _known_lot(connection, lot)
            rows = _file_rows(connection, lot)
        return tuple(
            MeasurementFile(**{what: row[what] for what in _FILE})
            for row in (rows if every else _newest(rows))
        )

    def raw(self, sha256: str) -> bytes:
        """The bytes of a kept file."""
        with self._reading() as connection:
            found = connection.scalar(
                select(tables.raw_files.c.raw).where(tables.raw_files.c.sha256 == sha256)
            )
        if found is None:
            raise wrong_reference("the SHA-256 of a file", sha256, ())
        if digest(found) != sha256:
            refuse(
                self._path, "undamaged", f"changed bytes in file {sha256[:12]}",
                "its parameters no longer follow from it",
                "set the record aside unchanged and go on with a copy from before",
            )  # fmt: skip
        return bytes(found)


def _engine(path: Path, patience: float) -> Engine:
    engine = create_engine(
        URL.create("sqlite+pysqlite", database=str(path)), connect_args={"timeout": patience}
    )

    @event.listens_for(engine, "connect")
    def _settle(connection: Any, _: Any) -> None:
        connection.isolation_level = None
        _switch_to_log(path, connection, patience)
        for pragma in (
            "synchronous = FULL",
            "fullfsync = ON",
            "foreign_keys = ON",
            "recursive_triggers = ON",
        ):
            connection.execute(f"PRAGMA {pragma}")

    @event.listens_for(engine, "begin")
    def _begin(connection: Connection) -> None:
        writes = connection.get_execution_options().get("writes", False)
        connection.exec_driver_sql("BEGIN IMMEDIATE" if writes else "BEGIN")

    return engine


def _switch_to_log(path: Path, connection: sqlite3.Connection, patience: float) -> None:
    """Turn the write-ahead log on; SQLite itself does not wait when two processes make a record at once."""
    until = time.monotonic() + patience
    while True:
        try:
            mode = str(connection.execute("PRAGMA journal_mode = WAL").fetchone()[0])
            break
        except sqlite3.OperationalError as trouble:
            if trouble.sqlite_errorcode & 0xFF != sqlite3.SQLITE_BUSY or time.monotonic() > until:
                raise
            time.sleep(0.02)
    if mode != "wal":
        refuse(
            path, "on a disk that allows a write-ahead log", f"journal mode {mode}",
            "without it an entry could be lost when the power fails", "put the record on a local disk",
        )  # fmt: skip


def _bring_up_to_date(connection: Connection) -> None:
    """Run the revisions that are missing; the caller's transaction makes it all or nothing."""
    from alembic import command
    from alembic.config import Config

    config = Config()
    place = str(Path(__file__).parent / "migrations")
    config.set_main_option("script_location", place.replace("%", "%%"))
    config.attributes["connection"] = connection
    command.upgrade(config, SCHEMAS[-1])


def _insert_once(connection: Connection, table: Any, row: Mapping[str, Any]) -> None:
    if connection.scalar(select(table.c.number).where(table.c.digest == row["digest"])) is None:
        connection.execute(insert(table), row)


def _lot_row(connection: Connection, name: str) -> Mapping[str, Any] | None:
    found: Any = connection.execute(select(tables.lots).where(tables.lots.c.name == name)).mappings().first()
    return None if found is None else dict(found)


def _known_lot(connection: Connection, name: str) -> Mapping[str, Any]:
    row = _lot_row(connection, name)
    if row is None:
        raise wrong_reference(
            "the name of a lot", name, tuple(connection.scalars(select(tables.lots.c.name)))
        )
    return row


def _lot(row: Mapping[str, Any]) -> Lot:
    content = {what: row[what] for what in _LOT}
    return Lot(**{**content, "wafers": tuple(json.loads(row["wafers"])), "seed": int(row["seed"])})


def _event(row: Mapping[str, Any]) -> Event:
    return Event(**{what: row[what] for what in _EVENT})


def _event_rows(connection: Connection, lot: str, after: int | None) -> list[Mapping[str, Any]]:
    """The rows of a lot, those after a position or all that there are."""
    table = tables.events
    query = select(table).where(table.c.lot == lot).order_by(table.c.position)
    if after is not None:
        query = query.where(table.c.position > after)
    return [dict(row) for row in connection.execute(query).mappings()]


def _file_rows(connection: Connection, lot: str) -> list[Mapping[str, Any]]:
    query = select(tables.files).where(tables.files.c.lot == lot).order_by(tables.files.c.number)
    return [dict(row) for row in connection.execute(query).mappings()]


def _place(row: Mapping[str, Any]) -> tuple[str, str, str]:
    return row["sha256"], row["wafer"], row["device"]


def _newest(rows: Iterable[Mapping[str, Any]]) -> list[Mapping[str, Any]]:
    return list({_place(row): row for row in rows}.values())


def _head(connection: Connection, lot: str) -> tuple[int, str]:
    """Position and digest of the last entry; 0 and the digest of the lot when there is none."""
    table = tables.events
    last = select(func.max(table.c.position)).where(table.c.lot == lot).scalar_subquery()
    row = connection.execute(
        select(table.c.position, table.c.digest).where(table.c.lot == lot, table.c.position == last)
    ).first()
    if row is None:
        return 0, str(_known_lot(connection, lot)["digest"])
    return int(row[0]), str(row[1])


def _fresh(connection: Connection, wanted: tuple[Event, ...]) -> tuple[Event, ...]:
    """The entries that are not kept yet, each once; refuses those that cannot be kept."""
    ids = sorted({each.id for each in wanted})
    known: dict[str, Event] = {}
    for start in range(0, len(ids), _IDS_AT_ONCE):
        some = ids[start : start + _IDS_AT_ONCE]
        rows = connection.execute(select(tables.events).where(tables.events.c.id.in_(some))).mappings()
        known.update({row["id"]: _event(dict(row)) for row in rows})
    wafers = {
        name: _wafers(connection, _lot(row), wanted)
        for name in {each.lot for each in wanted}
        if (row := _lot_row(connection, name))
    }
    problems = Problems()
    fresh: list[Event] = []
    for each in wanted:
        kept = known.get(each.id)
        if kept is None:
            known[each.id] = each
            problems.found.extend(_misplaced(each, wafers))
            fresh.append(each)
        elif replace(kept, written=each.written) != each:
            problems.add(_contradiction(each))
    problems.raise_any()
    return tuple(fresh)


def _wafers(connection: Connection, lot: Lot, wanted: Iterable[Event]) -> tuple[str, ...]:
    """Wafers with which a lot began, those that entered it, and pieces that were cleaved, also by what is being written."""
    table = tables.events
    later = connection.execute(
        select(table.c.kind, table.c.wafer, table.c.name).where(
            table.c.lot == lot.name, table.c.kind.in_(("cleave", "enter"))
        )
    ).all()
    told = [(str(kind), str(wafer), str(name)) for kind, wafer, name in later]
    told += [(each.kind, each.wafer, each.name) for each in wanted if each.lot == lot.name]
    more = [name if kind == "cleave" else wafer for kind, wafer, name in told if kind in {"cleave", "enter"}]
    return tuple(dict.fromkeys((*lot.wafers, *more)))


def _misplaced(each: Event, wafers: Mapping[str, tuple[str, ...]]) -> tuple[Problem, ...]:
    if each.lot not in wafers:
        return wrong_reference("the lot of an entry", each.lot, tuple(wafers)).problems
    if each.wafer and each.wafer not in wafers[each.lot]:
        return wrong_reference(
            f"the wafer of an entry of lot {each.lot}", each.wafer, wafers[each.lot]
        ).problems
    return ()


def _contradiction(each: Event) -> Problem:
    return Problem(
        what=f"entry {each.id} of lot {each.lot}",
        expected="the same as the one that is kept under this id",
        got=f"another one ({each.kind} {each.name})".replace(" )", ")"),
        why="what was written is never changed",
        remedy="write the correction as a new entry with an id of its own",
    )
