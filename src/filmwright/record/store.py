"""The door to a record: what can be kept and read, without any SQL."""

from __future__ import annotations

from abc import abstractmethod
from collections.abc import Callable, Collection, Iterable, Mapping
from pathlib import Path
from types import TracebackType
from typing import TYPE_CHECKING

from filmwright.record.accounts import Accounts
from filmwright.record.kept_files import KeptFile
from filmwright.record.logbook import LogbookEntry
from filmwright.record.objects import AcceptedCalibration, ChainCheck, Event, Lot, MeasurementFile
from filmwright.record.place import settle

if TYPE_CHECKING:
    from filmwright.record.backend import Backend
    from filmwright.record.endings import Ending, Going

PATIENCE = 4.0
"""How long another process may hold the record before an entry is refused [s]."""


class Store(Accounts):
    """A record of lots and logbooks: append-only. What a call has returned from is on the disk."""

    @staticmethod
    def open(place: str | Path, *, create: bool = False, patience: float = PATIENCE) -> Store:
        """Open a record and bring its tables to the form of this version.

        Parameters
        ----------
        place : str or Path
            An SQLite file, or ``postgresql://user@host/database``.
        create : bool
            Make a new record where there is none yet; the database itself must be there.
        patience : float [s]
            How long to wait for another process that writes.

        Raises
        ------
        BadInput
            When it is missing, no record, damaged, newer than this version, held by another process, not
            reachable, or cannot be written.
        """
        settled = settle(place)
        if isinstance(settled, str):
            from filmwright.record.postgres import PostgresDatabase

            backend: Backend = PostgresDatabase.opened(settled, create=create, patience=patience)
        else:
            from filmwright.record.opening import look

            found = look(settled, create=create, patience=patience)
            from filmwright.record.sqlite import SqliteFile

            backend = SqliteFile.opened(settled, found=found, patience=patience)
        from filmwright.record.ledger import Ledger

        return Ledger(backend)

    def __enter__(self) -> Store:
        return self

    def __exit__(
        self, kind: type[BaseException] | None, trouble: BaseException | None, trace: TracebackType | None
    ) -> None:
        self.close()

    @property
    @abstractmethod
    def place(self) -> str:
        """Where the record is, as it may be printed: without a password."""

    @abstractmethod
    def close(self) -> None:
        """Let go of the database."""

    @abstractmethod
    def start_lot(self, lot: Lot, events: Iterable[Event] = ()) -> None:
        """Keep a lot, and entries with which it begins, in one transaction.

        The same lot again is no change, another one of the same name is refused.
        """

    @abstractmethod
    def append(self, events: Iterable[Event], *, seen: Mapping[tuple[str, str], int] | None = None) -> int:
        """Keep entries, all or none, in one transaction.

        An entry whose id is already there is kept once, whatever its time of writing; one that says
        something else under a known id is refused, because corrections are new entries.

        Parameters
        ----------
        events : iterable of Event
        seen : mapping of (lot, step) to int, optional
            Position, counted from 1 within the lot, of the last entry of that step that the writer had seen
            (0: none). When a newer one is there, nothing is kept; entries that are all there already are no
            conflict, so that a retry is safe.

        Returns
        -------
        int
            How many were new.

        Raises
        ------
        Conflict
            With the newer entries.
        BadInput
            With every entry that cannot be kept.
        """

    @abstractmethod
    def lots(self) -> tuple[Lot, ...]:
        """All lots in the order in which they were started."""

    @abstractmethod
    def heads(self) -> Mapping[str, int]:
        """For each lot, in the order of their starts, the position of its last entry; 0 when it has none."""

    @abstractmethod
    def newest(self, count: int, *, skip: int = 0, with_lab: bool = False) -> tuple[str, ...]:
        """Names of the lots that were started last, the newest first, leaving out the first ``skip``; of those with a lab file."""

    @abstractmethod
    def going(self, rules: str) -> Going:
        """The lots for which no ending by these rules holds at their last entry, and how many there are in all."""

    @abstractmethod
    def endings(
        self, rules: str, *, after: int = 0, lots: Collection[str] | None = None
    ) -> tuple[Ending, ...]:
        """Endings by these rules in the order of keeping, older ones of a lot too; those after a number, or of some lots."""

    @abstractmethod
    def keep_endings(self, endings: Iterable[Ending]) -> None:
        """Keep what finished lots came to, each once; the numbers grow in the order in which endings can be seen."""

    @abstractmethod
    def lot(self, name: str) -> Lot:
        """One lot; BadInput when there is none of this name."""

    @abstractmethod
    def events(self, lot: str, *, after: int = 0) -> tuple[Event, ...]:
        """The entries of a lot in the order of writing, leaving out the first ``after``."""

    @abstractmethod
    def verify(self, lot: str, *, head: str = "") -> ChainCheck:
        """Whether the entries are those that were written.

        Parameters
        ----------
        lot : str
        head : str
            Digest of the last entry as printed on a sheet or report; it must still be in the chain, which
            shows an end that was cut off. Its first characters are enough.
        """

    @abstractmethod
    def enter(self, entries: Iterable[LogbookEntry]) -> int:
        """Keep lines of logbooks, all or none; a line whose id is already there is kept once.

        Returns
        -------
        int
            How many were new.
        """

    @abstractmethod
    def logbook(self, book: str, *, after: int = 0) -> tuple[LogbookEntry, ...]:
        """The lines of a logbook in the order of writing, leaving out the first ``after``; empty when none."""

    @abstractmethod
    def books(self) -> tuple[str, ...]:
        """Names of the logbooks that have lines, sorted."""

    @abstractmethod
    def book_heads(self) -> Mapping[str, int]:
        """For each logbook that has lines, in the order of names, the position of its last one."""

    @abstractmethod
    def verify_book(self, book: str, *, head: str = "") -> ChainCheck:
        """Whether the lines of a logbook are those that were written; ``head`` as in :meth:`verify`."""

    @abstractmethod
    def accept(self, accepted: AcceptedCalibration) -> None:
        """Keep a calibration that a person accepted; the same again is no change."""

    @abstractmethod
    def accepted(self, lot: str = "") -> tuple[AcceptedCalibration, ...]:
        """Accepted calibrations in the order of acceptance, of one lot or of all."""

    @abstractmethod
    def keep_blob(self, raw: bytes, media: str = "", name: str = "") -> str:
        """Keep bytes, e.g. of a photo or of a new version of a flow, and give their SHA-256.

        The same bytes are kept once; their bytes lie in a folder beside the record.

        Parameters
        ----------
        raw : bytes
        media : str
            Media type, e.g. ``image/jpeg``.
        name : str
            As the person named it.
        """

    @abstractmethod
    def kept(self) -> tuple[KeptFile, ...]:
        """All kept files in the order of keeping."""

    @abstractmethod
    def keep_file(self, file: MeasurementFile, raw: bytes) -> None:
        """Keep a raw file with its hash; the same bytes are stored once.

        A file that is kept again for the same wafer and device, e.g. after a new extraction, is
        a further entry.

        Raises
        ------
        BadInput
            When the hash is not that of the bytes, or the lot or wafer is not in the record.
        """

    @abstractmethod
    def files(self, lot: str, *, every: bool = False) -> tuple[MeasurementFile, ...]:
        """The newest entry per file, wafer and device; with ``every`` the older ones too."""

    @abstractmethod
    def raw(self, sha256: str) -> bytes:
        """The bytes of a kept file, their hash checked."""

    @abstractmethod
    def verify_rest(self) -> tuple[str, ...]:
        """What is wrong with accepted calibrations and with the entries of measurement files, in words."""

    @abstractmethod
    def is_empty(self) -> bool:
        """Whether nothing was ever kept."""

    @abstractmethod
    def copy_into(self, target: Store, tell: Callable[[int, int, str], None]) -> None:
        """Copy everything of one moment, with its digests, into an empty record, while others go on writing.

        Parameters
        ----------
        target : Store
        tell : callable
            Called with how much is done, how much there is and of what; what it raises stops the copy.

        Raises
        ------
        BadInput
            When the target is not empty, or a kept file is missing or damaged.
        """

    @abstractmethod
    def back_up(self, target: Path, tell: Callable[[int, int, str], None]) -> None:
        """Make an SQLite file, and its folder of files beside it, as this record is at one moment.

        Parameters
        ----------
        target : Path
            Of the file; it must not be there yet.
        tell : callable
            As in :meth:`copy_into`.
        """
