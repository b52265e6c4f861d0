"""Accounts: who there is, with which role, and how the first password comes about. The record logs every change itself."""

from __future__ import annotations

import datetime
import unicodedata
import uuid
from collections.abc import Callable, Iterable
from dataclasses import asdict, dataclass
from typing import Any

from filmwright.desk.bench.passwords import check_password, hidden
from filmwright.desk.bench.permissions import Role, read_role
from filmwright.desk.bench.tokens import digest_of, drawn
from filmwright.errors import BadInput, Problem
from filmwright.record import Account, AccountChange, ApiToken, LogbookEntry, Store

BOOK = "accounts"
LINK, LINK_LASTS = "password", datetime.timedelta(hours=48)
"""What a link for a first or forgotten password may do, once, and how long it can be used."""

Clock = Callable[[], datetime.datetime]


def local_clock() -> datetime.datetime:
    """Now, with the offset of this machine."""
    return datetime.datetime.now().astimezone()


@dataclass(frozen=True, kw_only=True)
class Person:
    """One account as it may be shown.

    Attributes
    ----------
    name : str
    role : Role
    active : bool
    has_password, has_pin : bool
    made : str
        ISO time with offset.
    """

    name: str
    role: Role
    active: bool
    has_password: bool
    has_pin: bool
    made: str

    def fields(self) -> dict[str, Any]:
        """For programs."""
        return asdict(self)


@dataclass(frozen=True, kw_only=True)
class Added:
    """A new account, or a new link for one.

    Attributes
    ----------
    name : str
    role : Role
    link : str
        The secret of a link that sets the password, once; empty where a password was given.
    ends : str
        Until when the link can be used.
    """

    name: str
    role: Role
    link: str = ""
    ends: str = ""

    def fields(self) -> dict[str, Any]:
        """For programs."""
        return asdict(self)


def _key(name: str) -> str:
    """What makes two names one: capitals, blanks and forms of the same letter aside."""
    return unicodedata.normalize("NFKC", " ".join(name.split())[:60]).casefold()


class People:
    """The accounts of one record.

    Parameters
    ----------
    store : Store
    clock : callable
        Tells the time with its offset.
    site : iterable of str
        Words of the place that make no good password.
    """

    def __init__(self, store: Store, *, clock: Clock = local_clock, site: Iterable[str] = ()) -> None:
        self.store, self.clock, self.site = store, clock, tuple(site)

    def everybody(self) -> tuple[Person, ...]:
        """All accounts by name, also those that are closed."""
        return tuple(
            Person(
                name=each.name, role=each.role, active=each.active, has_password=bool(each.password_hash),
                has_pin=bool(each.pin_hash), made=each.created,
            )
            for each in sorted(self.store.accounts(), key=lambda each: each.name.casefold())
        )  # fmt: skip

    def lacks_administrator(self) -> bool:
        """Whether nobody can administer yet."""
        return not any(each.role == "administrator" and each.active for each in self.store.accounts())

    def find(self, name: str) -> Account | None:
        """One account by its name, capitals aside; None when there is none."""
        # All are looked at, so that a name that is there and one that is not take the same time.
        wanted, found = _key(name), None
        for each in self.store.accounts():
            if _key(each.name) == wanted:
                found = each
        return found

    def add(self, name: str, role: str, *, by: str, password: str = "") -> Added:
        """Add an account, with a password or with a link by which the person sets one.

        Parameters
        ----------
        name, role : str
        by : str
            Who adds it.
        password : str
            Empty: a link is drawn.
        """
        wanted, held = " ".join(name.split()), read_role(role)
        if password:
            check_password(password, about=(wanted, *self.site))
        account = Account(
            name=wanted, role=held, created=self.now(), password_hash=hidden(password) if password else ""
        )
        self.store.add_account(account, by=by)
        return Added(name=wanted, role=held) if password else self.link(wanted, by=by)

    def link(self, name: str, *, by: str) -> Added:
        """Draw a link by which a person sets a password, once; links drawn before end."""
        account = self.store.account(name)
        self._end_links(account.name, by)
        token, ends = drawn("l"), (self.clock() + LINK_LASTS).isoformat(timespec="seconds")
        self.store.add_api_token(
            ApiToken(
                token_hash=digest_of(token), name="link for a password", account=account.name, scopes=(LINK,),
                created=self.now(), expires=ends,
            ),
            by=by,
        )  # fmt: skip
        return Added(name=account.name, role=account.role, link=token, ends=ends)

    def name_of_link(self, token: str) -> str:
        """Whose password a link sets; empty when it was used, replaced or is too old."""
        found = self.store.api_token(digest_of(token))
        if found is None or found.scopes != (LINK,) or found.ended or self.passed(found.expires):
            return ""
        account = self.find(found.account)
        return account.name if account is not None and account.active else ""

    def use_link(self, token: str, password: str) -> str:
        """Set the password by a link; the name of the account. All earlier sign-ins end."""
        name = self.name_of_link(token)
        if not name:
            raise BadInput(
                Problem(
                    what="the link", expected="new and unused", got="one that was used, replaced or is too old",
                    why="whoever finds it later must not get in", remedy="ask an administrator for a new one",
                )
            )  # fmt: skip
        self.set_password(name, password, by=name)
        self._end_links(name, name)
        return name

    def set_password(self, name: str, password: str, *, by: str) -> None:
        """Set a password; every sign-in of the account ends, so that who knew the old one is out."""
        check_password(password, about=(name, *self.site))
        self.store.change_account(name, AccountChange(password_hash=hidden(password)), by=by, when=self.now())

    def set_role(self, name: str, role: str, *, by: str) -> None:
        """Give an account another role, which counts from the next request on."""
        self.store.change_account(name, AccountChange(role=read_role(role)), by=by, when=self.now())

    def set_active(self, name: str, active: bool, *, by: str) -> None:
        """Close an account, which ends its sign-ins and tokens, or open it again; it is never removed: entries name it."""
        self.store.change_account(name, AccountChange(active=active), by=by, when=self.now())

    def forget_pin(self, name: str, *, by: str, why: str = "") -> None:
        """Take the PIN away: until a new one is set, only the password opens."""
        if self.store.account(name).pin_hash:
            self.store.change_account(name, AccountChange(pin_hash=""), by=by, when=self.now())
            if why:
                self.note(by, "PIN", f"{name}: taken away after {why}", "account")
        self.end_pin_sign_ins(name, by=by)

    def end_pin_sign_ins(self, name: str, *, by: str) -> None:
        """End the sign-ins of an account that came in by PIN."""
        for each in self.store.sign_ins(name):
            if each.tablet:
                self.store.end_sign_in(each.token_hash, by=by, when=self.now())

    def note(self, by: str, what: str, text: str, kind: str) -> None:
        """A line in the log of accounts about something that changed nothing."""
        line = LogbookEntry(
            id=str(uuid.uuid4()), book=BOOK, kind=kind, name=what, text=text, happened=self.now(), written=self.now(), who=by  # type: ignore[arg-type]
        )  # fmt: skip
        self.store.enter([line])

    def lines(self, most: int = 200) -> tuple[LogbookEntry, ...]:
        """The newest lines of the log of accounts, newest first."""
        behind = max(self.store.book_heads().get(BOOK, 0) - most, 0)
        return tuple(self.store.logbook(BOOK, after=behind))[::-1][:most]

    def now(self) -> str:
        """ISO time with offset."""
        return self.clock().isoformat(timespec="seconds")

    def passed(self, moment: str) -> bool:
        """Whether a moment lies behind us."""
        return self.clock() >= datetime.datetime.fromisoformat(moment)

    def _end_links(self, name: str, by: str) -> None:
        for each in self.store.api_tokens(name):
            if each.scopes == (LINK,):
                self.store.end_api_token(each.token_hash, by=by, when=self.now())
