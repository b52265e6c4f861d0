"""The door to a record: what can be kept and read, without any SQL."""

from __future__ import annotations

from abc import ABC, abstractmethod
from collections.abc import Iterable, Mapping
from pathlib import Path
from types import TracebackType

from filmwright.record.objects import AcceptedCalibration, ChainCheck, Event, Lot, MeasurementFile

PATIENCE = 4.0
"""How long another process may hold the record before an entry is refused [s]."""


class Store(ABC):
    """A record of lots: one file, append-only. What a call has returned from is on the disk."""

    @staticmethod
    def open(path: str | Path, *, create: bool = False, patience: float = PATIENCE) -> Store:
        """Open a record and bring its tables to the form of this version.

        Parameters
        ----------
        path : str or Path
        create : bool
            Make a new record where there is no file yet.
        patience : float [s]
            How long to wait for another process that writes.

        Raises
        ------
        BadInput
            When the file is missing, no record, damaged, newer than this version, held by another process,
            or cannot be written.
        """
        from filmwright.record.opening import look

        place = Path(path)
        found = look(place, create=create, patience=patience)
        from filmwright.record.ledger import Ledger

        return Ledger.over(place, found=found, patience=patience)

    def __enter__(self) -> Store:
        return self

    def __exit__(
        self, kind: type[BaseException] | None, trouble: BaseException | None, trace: TracebackType | None
    ) -> None:
        self.close()

    @abstractmethod
    def close(self) -> None:
        """Let go of the file."""

    @abstractmethod
    def start_lot(self, lot: Lot) -> None:
        """Keep a lot; the same again is no change, another one of the same name is refused."""

    @abstractmethod
    def append(self, events: Iterable[Event]) -> int:
        """Keep entries, all or none, in one transaction.

        An entry whose id is already there is kept once, whatever its time of writing; one that says
        something else under a known id is refused, because corrections are new entries.

        Returns
        -------
        int
            How many were new.

        Raises
        ------
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
    def accept(self, accepted: AcceptedCalibration) -> None:
        """Keep a calibration that a person accepted; the same again is no change."""

    @abstractmethod
    def accepted(self, lot: str = "") -> tuple[AcceptedCalibration, ...]:
        """Accepted calibrations in the order of acceptance, of one lot or of all."""

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
