"""What the two databases have in common: one unit of work, as a whole or not at all."""

from __future__ import annotations

from abc import ABC, abstractmethod
from collections.abc import Callable, Iterable
from pathlib import Path
from typing import NoReturn, TypeVar

from sqlalchemy import Connection

from filmwright.errors import OutOfReach, Problem
from filmwright.record.opening import SCHEMAS

Result = TypeVar("Result")


class Backend(ABC):
    """A database that holds a record.

    Attributes
    ----------
    place : str
        As it may be printed.
    folder : Path
        Where the kept files lie.
    """

    place: str
    folder: Path

    @abstractmethod
    def read(self, work: Callable[[Connection], Result]) -> Result:
        """Do some reading in one transaction."""

    @abstractmethod
    def write(self, work: Callable[[Connection], Result], topics: Iterable[str]) -> Result:
        """Do some writing in one transaction that is alone on its topics.

        Parameters
        ----------
        work : callable
            May be called again when the connection was lost, so it must find out itself what is already kept.
        topics : iterable of str
            Such as ``lot K7M-4H7``; two writers of one topic follow one another.
        """

    @abstractmethod
    def close(self) -> None:
        """Let go of the database."""

    def refuse(self, expected: str, got: str, why: str, remedy: str) -> NoReturn:
        """Raise the refusal of this record."""
        raise OutOfReach(
            Problem(what="the record", expected=expected, got=got, why=why, remedy=remedy, file=self.place)
        )


def bring_up_to_date(connection: Connection) -> None:
    """Run the revisions that are missing; the caller's transaction makes it all or nothing."""
    revise(connection, SCHEMAS[-1])


def revise(connection: Connection, revision: str) -> None:
    """Run the revisions up to one."""
    from alembic import command
    from alembic.config import Config

    config = Config()
    place = str(Path(__file__).parent / "migrations")
    config.set_main_option("script_location", place.replace("%", "%%"))
    config.attributes["connection"] = connection
    command.upgrade(config, revision)
