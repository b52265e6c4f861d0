"""A store over a database: every call is one transaction."""

from __future__ import annotations

import json
from collections.abc import Callable, Collection, Iterable, Mapping
from dataclasses import asdict, fields, replace
from datetime import datetime
from pathlib import Path
from typing import Any

from sqlalchemy import Connection, func, insert, select

from filmwright.errors import BadInput, Problem
from filmwright.record import copying, kept_files, tables
from filmwright.record.backend import Backend
from filmwright.record.book_rows import keep_lines, line_of, line_rows
from filmwright.record.chain import canonical, check_chain
from filmwright.record.checks import digest
from filmwright.record.ending_rows import endings_in, going_in, heads_of_all, keep_endings, newest_in
from filmwright.record.endings import Ending, Going
from filmwright.record.kept_files import KeptFile
from filmwright.record.logbook import LogbookEntry, check_book
from filmwright.record.lots import check_lot, keep_lot, known_lot, lot_of
from filmwright.record.objects import (
    AcceptedCalibration,
    ChainCheck,
    Event,
    Lot,
    MeasurementFile,
    wrong_reference,
)
from filmwright.record.people_rows import PeopleRows
from filmwright.record.place import files_folder
from filmwright.record.sqlite import SqliteFile
from filmwright.record.store import Store
from filmwright.record.writing import event_of, event_rows, keep_events, wafers_of

_FILE = tuple(each.name for each in fields(MeasurementFile))
_KEPT = tuple(each.name for each in fields(KeptFile))


class Ledger(PeopleRows, Store):
    """A store over one database and the folder of its kept files."""

    def __init__(self, backend: Backend) -> None:
        self._backend = backend

    @property
    def backend(self) -> Backend:
        """The database."""
        return self._backend

    @property
    def place(self) -> str:
        """Where the record is, as it may be printed."""
        return self._backend.place

    def close(self) -> None:
        """Let go of the database."""
        self._backend.close()

    def start_lot(self, lot: Lot, events: Iterable[Event] = ()) -> None:
        """Keep a lot, and entries with which it begins."""
        wanted = tuple(events)

        def kept(connection: Connection) -> None:
            keep_lot(connection, lot)
            if wanted:
                keep_events(connection, wanted, {})

        self._backend.write(kept, [f"lot {name}" for name in {lot.name, *(each.lot for each in wanted)}])

    def append(self, events: Iterable[Event], *, seen: Mapping[tuple[str, str], int] | None = None) -> int:
        """Keep entries, all or none."""
        wanted = tuple(events)
        topics = [f"lot {name}" for name in {each.lot for each in wanted}]
        return self._backend.write(lambda connection: keep_events(connection, wanted, seen or {}), topics)

    def lots(self) -> tuple[Lot, ...]:
        """All lots in the order in which they were started."""
        rows = self._backend.read(_rows_of(select(tables.lots).order_by(tables.lots.c.number)))
        return tuple(lot_of(row) for row in rows)

    def heads(self) -> Mapping[str, int]:
        """For each lot the position of its last entry."""
        query = heads_of_all()
        rows = self._backend.read(lambda connection: connection.execute(query).all())
        return {str(name): int(position) for name, position in rows}

    def newest(self, count: int, *, skip: int = 0, with_lab: bool = False) -> tuple[str, ...]:
        """The lots started last."""
        return self._backend.read(lambda connection: newest_in(connection, count, skip, with_lab))

    def going(self, rules: str) -> Going:
        """The lots that may have steps left."""
        return self._backend.read(lambda connection: going_in(connection, rules))

    def endings(
        self, rules: str, *, after: int = 0, lots: Collection[str] | None = None
    ) -> tuple[Ending, ...]:
        """What finished lots came to."""
        return self._backend.read(lambda connection: endings_in(connection, rules, after, lots))

    def keep_endings(self, endings: Iterable[Ending]) -> None:
        """Keep what finished lots came to."""
        wanted = tuple(endings)
        topics = ["endings", *(f"lot {each.lot}" for each in wanted)]
        # One topic is for all: a number that is seen is never followed by a smaller one that comes later.
        self._backend.write(lambda connection: keep_endings(connection, wanted), topics)

    def lot(self, name: str) -> Lot:
        """One lot."""
        return lot_of(self._backend.read(lambda connection: known_lot(connection, name)))

    def events(self, lot: str, *, after: int = 0) -> tuple[Event, ...]:
        """The entries of a lot in the order of writing."""

        def work(connection: Connection) -> list[Mapping[str, Any]]:
            rows = event_rows(connection, lot, after)
            if not rows and not after:
                check_lot(connection, lot)
            return rows

        return tuple(event_of(row) for row in self._backend.read(work))

    def verify(self, lot: str, *, head: str = "") -> ChainCheck:
        """Whether the entries are those that were written."""
        kept, rows = self._backend.read(
            lambda connection: (known_lot(connection, lot), event_rows(connection, lot, None))
        )
        try:
            links = [(row["position"], event_of(row), row["previous"], row["digest"]) for row in rows]
            checked = check_chain(lot_of(kept), kept["digest"], links)
        except (BadInput, ValueError) as trouble:
            return _unreadable(lot, len(rows), trouble)
        return _with_head(checked, head, {kept["digest"], *(row["digest"] for row in rows)})

    def enter(self, entries: Iterable[LogbookEntry]) -> int:
        """Keep lines of logbooks, all or none."""
        wanted = tuple(entries)
        topics = [f"logbook {name}" for name in {each.book for each in wanted}]
        return self._backend.write(lambda connection: keep_lines(connection, wanted), topics)

    def logbook(self, book: str, *, after: int = 0) -> tuple[LogbookEntry, ...]:
        """The lines of a logbook in the order of writing."""
        return tuple(
            line_of(row) for row in self._backend.read(lambda connection: line_rows(connection, book, after))
        )

    def books(self) -> tuple[str, ...]:
        """Names of the logbooks that have lines, sorted."""
        rows = self._backend.read(_rows_of(select(tables.logbooks.c.book).distinct()))
        return tuple(sorted(row["book"] for row in rows))

    def book_heads(self) -> Mapping[str, int]:
        """For each logbook that has lines, in the order of names, the position of its last one."""
        table = tables.logbooks
        query = select(table.c.book, func.max(table.c.position)).group_by(table.c.book)
        rows = self._backend.read(lambda connection: connection.execute(query).all())
        return {str(book): int(position) for book, position in sorted(rows)}

    def verify_book(self, book: str, *, head: str = "") -> ChainCheck:
        """Whether the lines are those that were written."""
        rows = self._backend.read(lambda connection: line_rows(connection, book, None))
        try:
            links = [(row["position"], line_of(row), row["previous"], row["digest"]) for row in rows]
            checked = check_book(book, links)
        except (BadInput, ValueError) as trouble:
            return _unreadable(book, len(rows), trouble)
        return _with_head(checked, head, {row["digest"] for row in rows})

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

        def work(connection: Connection) -> None:
            check_lot(connection, accepted.lot)
            _insert_once(connection, tables.calibrations, row)

        self._backend.write(work, [f"lot {accepted.lot}"])

    def accepted(self, lot: str = "") -> tuple[AcceptedCalibration, ...]:
        """Accepted calibrations in the order of acceptance."""
        from filmwright.knowledge import Calibration

        query = select(tables.calibrations).order_by(tables.calibrations.c.number)
        if lot:
            query = query.where(tables.calibrations.c.lot == lot)
        return tuple(
            AcceptedCalibration(
                calibration=Calibration(**json.loads(row["calibration"])),
                lot=row["lot"], who=row["who"], when=row["accepted"],
            )
            for row in self._backend.read(_rows_of(query))
        )  # fmt: skip

    def keep_blob(self, raw: bytes, media: str = "", name: str = "") -> str:
        """Keep bytes under their SHA-256."""
        moment = datetime.now().astimezone().isoformat(timespec="seconds")
        kept = KeptFile(sha256=digest(raw), media=media, name=name, size=len(raw), kept=moment)
        self._put(kept, raw)
        self._backend.write(lambda connection: _keep_row(connection, kept), [f"file {kept.sha256}"])
        return kept.sha256

    def kept(self) -> tuple[KeptFile, ...]:
        """All kept files in the order of keeping."""
        query = select(tables.kept_files).order_by(tables.kept_files.c.number)
        return tuple(
            KeptFile(**{what: row[what] for what in _KEPT}) for row in self._backend.read(_rows_of(query))
        )

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
        self._put(KeptFile(sha256=file.sha256, name=file.name, size=len(raw), kept=file.kept), raw)

        def work(connection: Connection) -> None:
            check_lot(connection, file.lot)
            wafers = wafers_of(connection, {file.lot})[file.lot]
            if file.wafer and file.wafer not in wafers:
                raise wrong_reference(f"the wafer of {file.name}", file.wafer, tuple(wafers))
            _keep_row(connection, KeptFile(sha256=file.sha256, name=file.name, size=len(raw), kept=file.kept))
            newest = [
                each for each in _newest(_file_rows(connection, file.lot)) if _place(each) == _place(row)
            ]
            if not newest or newest[0]["digest"] != row["digest"]:
                _insert_once(connection, tables.files, row)

        self._backend.write(work, [f"lot {file.lot}", f"file {file.sha256}"])

    def files(self, lot: str, *, every: bool = False) -> tuple[MeasurementFile, ...]:
        """The newest entry per file, wafer and device."""

        def work(connection: Connection) -> list[Mapping[str, Any]]:
            check_lot(connection, lot)
            return _file_rows(connection, lot)

        rows = self._backend.read(work)
        return tuple(
            MeasurementFile(**{what: row[what] for what in _FILE})
            for row in (rows if every else _newest(rows))
        )

    def raw(self, sha256: str) -> bytes:
        """The bytes of a kept file."""
        table, older = tables.kept_files, tables.raw_files
        listed, inside = self._backend.read(
            lambda connection: (
                connection.scalar(select(table.c.sha256).where(table.c.sha256 == sha256)),
                connection.scalar(select(older.c.raw).where(older.c.sha256 == sha256)),
            )
        )
        if listed is None:
            raise wrong_reference("the SHA-256 of a file", sha256, ())
        found = kept_files.get(self._backend.folder, sha256) if inside is None else bytes(inside)
        if found is None:
            self._backend.refuse(
                f"with its files in {self._backend.folder}", f"no file {sha256[:12]} there",
                "entries point to it", "bring the folder back from the backup, or name the right one",
            )  # fmt: skip
        if digest(found) != sha256:
            self._backend.refuse(
                "undamaged", f"changed bytes in file {sha256[:12]}",
                "its parameters no longer follow from it",
                "set the record aside unchanged and go on with a copy from before",
            )  # fmt: skip
        return found

    def verify_rest(self) -> tuple[str, ...]:
        """What is wrong with accepted calibrations and entries of files."""
        calibrations, files = self._backend.read(
            lambda connection: (
                _rows_of(select(tables.calibrations))(connection),
                _rows_of(select(tables.files))(connection),
            )
        )
        found = []
        for row in calibrations:
            content = {"calibration": json.loads(row["calibration"]), "lot": row["lot"], "who": row["who"],
                       "when": row["accepted"]}  # fmt: skip
            if digest(canonical(content)) != row["digest"]:
                found.append(f"calibration {row['number']} of lot {row['lot']} was changed")
        for row in files:
            content = {what: row[what] for what in _FILE}
            if digest(canonical({**content, "kept": ""})) != row["digest"]:
                found.append(f"the entry of file {row['name']} of lot {row['lot']} was changed")
        return tuple(found)

    def is_empty(self) -> bool:
        """Whether nothing was ever kept."""
        return copying.is_empty(self._backend)

    def copy_into(self, target: Store, tell: copying.Tell) -> None:
        """Copy everything of one moment into an empty record."""
        if not isinstance(target, Ledger):
            raise TypeError("a record is copied into a record")
        if not target.is_empty():
            target.backend.refuse(
                "empty", "lots, logbooks or accounts in it", "two histories cannot be made one",
                "name a new file or a new database",
            )  # fmt: skip
        # Files first, so that no row ever points to what is not there; then those that were kept meanwhile.
        there = copying.copy_files(self._backend, target.backend.folder, tell)
        copying.copy_rows(self._backend, target.backend, tell)
        copying.copy_files(self._backend, target.backend.folder, tell, there)

    def back_up(self, target: Path, tell: copying.Tell) -> None:
        """Make an SQLite file as this record is at one moment."""
        if isinstance(self._backend, SqliteFile):
            copying.copy_database(self._backend.path, target, self._backend.patience, tell)
            copying.copy_files(self._backend, files_folder(target), tell)
            return
        with Store.open(target, create=True) as copied:
            self.copy_into(copied, tell)

    def _put(self, kept: KeptFile, raw: bytes) -> None:
        try:
            kept_files.put(self._backend.folder, kept.sha256, raw)
        except OSError as trouble:
            self._backend.refuse(
                f"able to keep {kept.name or 'a file'} in {self._backend.folder}",
                trouble.strerror or "an error of the disk", "nothing was kept",
                "make room, or ask for the right to write there, then repeat",
            )  # fmt: skip


def _rows_of(query: Any) -> Callable[[Connection], list[Mapping[str, Any]]]:
    return lambda connection: [dict(row) for row in connection.execute(query).mappings()]


def _unreadable(chain: str, entries: int, trouble: Exception) -> ChainCheck:
    return ChainCheck(lot=chain, entries=entries, head="", sound=False, first_bad=0,
                      why=f"an entry can no longer be read: {trouble}")  # fmt: skip


def _with_head(checked: ChainCheck, head: str, digests: set[str]) -> ChainCheck:
    """The same check, not sound when a printed digest is no longer in the chain."""
    if checked.sound and head and not any(each.startswith(head) for each in digests):
        return replace(checked, sound=False, first_bad=checked.entries + 1,
                       why=f"the entry that ends in {head} is no longer there")  # fmt: skip
    return checked


def _insert_once(connection: Connection, table: Any, row: Mapping[str, Any]) -> None:
    if connection.scalar(select(table.c.number).where(table.c.digest == row["digest"])) is None:
        connection.execute(insert(table), row)


def _keep_row(connection: Connection, kept: KeptFile) -> None:
    table = tables.kept_files
    if connection.scalar(select(table.c.sha256).where(table.c.sha256 == kept.sha256)) is None:
        connection.execute(insert(table), asdict(kept))


def _file_rows(connection: Connection, lot: str) -> list[Mapping[str, Any]]:
    query = select(tables.files).where(tables.files.c.lot == lot).order_by(tables.files.c.number)
    return [dict(row) for row in connection.execute(query).mappings()]


def _place(row: Mapping[str, Any]) -> tuple[str, str, str]:
    return row["sha256"], row["wafer"], row["device"]


def _newest(rows: Iterable[Mapping[str, Any]]) -> list[Mapping[str, Any]]:
    return list({_place(row): row for row in rows}.values())
