"""Verbs on accounts, for the machine on which the record lies: the first administrator, and repairs when nobody can sign in."""

from __future__ import annotations

import getpass
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from filmwright.desk.bench.people import Added, People, Person
from filmwright.desk.files import record_place
from filmwright.record import Store


@dataclass(frozen=True, kw_only=True)
class PeopleAnswer:
    """Who there is, and a link that was drawn.

    Attributes
    ----------
    people : tuple of Person
    added : Added or None
        A new account or a new link.
    link : str
        Where the password is set; empty where there is no link.
    """

    people: tuple[Person, ...]
    added: Added | None = None
    link: str = ""

    def fields(self) -> dict[str, Any]:
        """For programs."""
        return {
            "people": [each.fields() for each in self.people],
            "added": None if self.added is None else {**self.added.fields(), "link": self.link or None},
        }


def people_list(record: str | Path | None = None) -> PeopleAnswer:
    """Everybody with an account."""
    with Store.open(record_place(record)) as store:
        return PeopleAnswer(people=People(store).everybody())


def people_add(
    name: str, role: str, password: str = "", at: str = "", record: str | Path | None = None
) -> PeopleAnswer:
    """Add an account; without a password a link is drawn that sets it, once.

    Parameters
    ----------
    name, role, password : str
    at : str
        Address of the bench, such as ``https://bench.example``, for the link.
    record : str, Path or None
        Made where there is none.
    """
    with Store.open(record_place(record), create=True) as store:
        people = People(store)
        added = people.add(name, role, by=_by(), password=password)
        return PeopleAnswer(people=people.everybody(), added=added, link=_link(at, added))


def people_link(name: str, at: str = "", record: str | Path | None = None) -> PeopleAnswer:
    """Draw a new link that sets the password of an account, once."""
    with Store.open(record_place(record)) as store:
        people = People(store)
        added = people.link(name, by=_by())
        return PeopleAnswer(people=people.everybody(), added=added, link=_link(at, added))


def people_change(
    name: str, role: str = "", active: bool | None = None, record: str | Path | None = None
) -> PeopleAnswer:
    """Give an account another role, close it or open it again."""
    with Store.open(record_place(record)) as store:
        people = People(store)
        if role:
            people.set_role(name, role, by=_by())
        if active is not None:
            people.set_active(name, active, by=_by())
        return PeopleAnswer(people=people.everybody())


def _by() -> str:
    """Who is at the machine, for the log of accounts."""
    try:
        return f"{getpass.getuser()} at the machine"[:60]
    except (OSError, KeyError):
        return "somebody at the machine"


def _link(at: str, added: Added) -> str:
    return f"{at.rstrip('/')}/first/{added.link}" if added.link else ""
