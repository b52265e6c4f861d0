"""Rows of accounts, sign-ins, tablets and tokens; every change is a line of the logbook ``accounts`` too."""

from __future__ import annotations

import json
import uuid
from abc import abstractmethod
from collections.abc import Callable, Mapping
from dataclasses import asdict, fields, replace
from typing import Any, TypeVar

from sqlalchemy import Connection, func, insert, select, update

from filmwright.errors import BadInput, Problem, nearest
from filmwright.record import tables
from filmwright.record.accounts import (
    Account,
    AccountChange,
    Accounts,
    ApiToken,
    SignIn,
    Tablet,
    key_of,
)
from filmwright.record.backend import Backend
from filmwright.record.book_rows import keep_lines
from filmwright.record.logbook import LogbookEntry, LogbookKind
from filmwright.record.writing import known_ids

_BOOK = "accounts"
Kept = TypeVar("Kept", Account, SignIn, Tablet, ApiToken)


class PeopleRows(Accounts):
    """The accounts of a store over a database."""

    @property
    @abstractmethod
    def backend(self) -> Backend:
        """The database."""

    def accounts(self) -> tuple[Account, ...]:
        """All accounts."""
        query = select(tables.accounts).order_by(tables.accounts.c.number)
        return self.backend.read(lambda connection: _all(connection, query, Account))

    def account(self, name: str) -> Account:
        """One account."""
        return self.backend.read(lambda connection: _account(connection, name))

    def add_account(self, account: Account, *, by: str) -> None:
        """Keep a new account."""

        def work(connection: Connection) -> None:
            if _find(connection, account.name) is not None:
                raise BadInput(
                    Problem(
                        what="the name of a new account", expected="one that is not taken",
                        got=f'"{account.name}"', why="entries name the person who wrote them",
                        remedy="add an initial, or change the account that is there",
                    )
                )  # fmt: skip
            connection.execute(insert(tables.accounts), {**asdict(account), "key": key_of(account.name)})

        line = _line("account", "added", f"{account.name} as {account.role}", by, account.created)
        self._change(work, line)

    def change_account(
        self, name: str, change: AccountChange, *, by: str, when: str, keep: str = ""
    ) -> Account:
        """Change what is given."""
        wanted = {what: value for what, value in asdict(change).items() if value is not None}
        named = {"password_hash": "password", "pin_hash": "PIN", "role": f"role {change.role}",
                 "active": "put into use" if change.active else "put out of use"}  # fmt: skip
        told = f"{name}: " + (", ".join(named[what] for what in wanted) or "nothing")

        def work(connection: Connection) -> None:
            kept = _account(connection, name)
            _check_administrators(connection, kept, replace(kept, **wanted))
            table = tables.accounts
            if wanted:
                connection.execute(update(table).where(table.c.name == kept.name).values(**wanted))
            if change.active is False or change.password_hash is not None:
                _end(connection, tables.sign_ins, when, {"account": kept.name}, keep=keep)
            if change.active is False:
                _end(connection, tables.api_tokens, when, {"account": kept.name})

        self._change(work, _line("account", "changed", told, by, when))
        return self.account(name)

    def add_sign_in(self, sign_in: SignIn) -> None:
        """Keep a sign-in."""
        account = self._insert_for(tables.sign_ins, sign_in.account, asdict(sign_in))
        where = " on a paired tablet" if sign_in.tablet else ""
        self._change(account, _line("access", "signed in", f"{sign_in.account}{where}", sign_in.account,
                                    sign_in.created))  # fmt: skip

    def sign_in(self, token_hash: str) -> SignIn | None:
        """One sign-in."""
        return self._one(tables.sign_ins, token_hash, SignIn)

    def sign_ins(self, account: str = "") -> tuple[SignIn, ...]:
        """Open sign-ins."""
        return self._open(tables.sign_ins, account, SignIn)

    def extend_sign_in(self, token_hash: str, *, expires: str) -> None:
        """Let an open sign-in hold until later."""
        table = tables.sign_ins
        query = update(table).where(table.c.token_hash == token_hash, table.c.ended == "")
        self.backend.write(
            lambda connection: connection.execute(query.values(expires=expires)), [f"logbook {_BOOK}"]
        )

    def end_sign_in(self, token_hash: str, *, by: str, when: str) -> None:
        """End a sign-in."""
        found = self.sign_in(token_hash)
        if found is not None and not found.ended:
            line = _line("access", "signed out", found.account, by, when)
            self._change(
                lambda connection: _end(connection, tables.sign_ins, when, {"token_hash": token_hash}), line
            )

    def end_sign_ins(self, account: str, *, by: str, when: str, keep: str = "") -> int:
        """End the open sign-ins of an account."""
        name = self.account(account).name
        ended = sum(each.token_hash != keep for each in self.sign_ins(name))
        if ended:
            line = _line("access", "signed out everywhere", name, by, when)
            self._change(
                lambda connection: _end(connection, tables.sign_ins, when, {"account": name}, keep=keep), line
            )
        return ended

    def pair_tablet(self, tablet: Tablet, *, by: str) -> None:
        """Keep a paired tablet."""
        line = _line("account", "tablet paired", tablet.name, by, tablet.paired)
        self._change(lambda connection: connection.execute(insert(tables.tablets), asdict(tablet)), line)

    def tablet(self, token_hash: str) -> Tablet | None:
        """One tablet."""
        return self._one(tables.tablets, token_hash, Tablet)

    def tablets(self) -> tuple[Tablet, ...]:
        """Paired tablets."""
        return self._open(tables.tablets, "", Tablet)

    def end_tablet(self, token_hash: str, *, by: str, when: str) -> None:
        """Part a tablet."""
        found = self.tablet(token_hash)
        if found is None or found.ended:
            return

        def work(connection: Connection) -> None:
            _end(connection, tables.tablets, when, {"token_hash": token_hash})
            _end(connection, tables.sign_ins, when, {"tablet": token_hash})

        self._change(work, _line("account", "tablet parted", found.name, by, when))

    def add_api_token(self, token: ApiToken, *, by: str) -> None:
        """Keep a token."""
        row = {**asdict(token), "scopes": json.dumps(token.scopes)}
        told = f"{token.name} of {token.account}, for {', '.join(token.scopes) or 'nothing'}"
        self._change(
            self._insert_for(tables.api_tokens, token.account, row),
            _line("account", "token made", told, by, token.created),
        )

    def api_token(self, token_hash: str) -> ApiToken | None:
        """One token."""
        return self._one(tables.api_tokens, token_hash, ApiToken)

    def api_tokens(self, account: str = "") -> tuple[ApiToken, ...]:
        """Tokens that hold."""
        return self._open(tables.api_tokens, account, ApiToken)

    def end_api_token(self, token_hash: str, *, by: str, when: str) -> None:
        """End a token."""
        found = self.api_token(token_hash)
        if found is not None and not found.ended:
            line = _line("account", "token ended", f"{found.name} of {found.account}", by, when)
            self._change(
                lambda connection: _end(connection, tables.api_tokens, when, {"token_hash": token_hash}), line
            )

    def _change(self, work: Callable[[Connection], Any], line: LogbookEntry) -> None:
        """Do some writing and its line in one transaction; done again after a lost connection, it counts once."""

        def whole(connection: Connection) -> None:
            if not known_ids(connection, tables.logbooks, {line.id}):
                work(connection)
                keep_lines(connection, [line])

        self.backend.write(whole, [f"logbook {_BOOK}"])

    def _insert_for(self, table: Any, account: str, row: Mapping[str, Any]) -> Callable[[Connection], None]:
        """Insert a row that belongs to an active account."""

        def work(connection: Connection) -> None:
            found = _account(connection, account)
            if not found.active:
                raise BadInput(
                    Problem(
                        what=f"the account {found.name}", expected="in use", got="put out of use",
                        why="it lets nobody in any more", remedy="ask an administrator to put it into use",
                    )
                )  # fmt: skip
            connection.execute(insert(table), {**row, "account": found.name})

        return work

    def _one(self, table: Any, token_hash: str, kind: type[Kept]) -> Kept | None:
        query = select(table).where(table.c.token_hash == token_hash)
        return next(iter(self.backend.read(lambda connection: _all(connection, query, kind))), None)

    def _open(self, table: Any, account: str, kind: type[Kept]) -> tuple[Kept, ...]:
        query = select(table).where(table.c.ended == "").order_by(table.c.number)
        if account:
            query = query.where(table.c.account == self.account(account).name)
        return self.backend.read(lambda connection: _all(connection, query, kind))


def _line(kind: LogbookKind, name: str, text: str, by: str, when: str) -> LogbookEntry:
    return LogbookEntry(
        id=str(uuid.uuid4()), book=_BOOK, kind=kind, name=name, text=text, who=by, happened=when, written=when
    )


def _all(connection: Connection, query: Any, kind: type[Kept]) -> tuple[Kept, ...]:
    names = [each.name for each in fields(kind)]
    found = []
    for row in connection.execute(query).mappings():
        content = {name: row[name] for name in names}
        if "scopes" in content:
            content["scopes"] = tuple(json.loads(content["scopes"]))
        found.append(kind(**content))
    return tuple(found)


def _find(connection: Connection, name: str) -> Account | None:
    query = select(tables.accounts).where(tables.accounts.c.key == key_of(name))
    return next(iter(_all(connection, query, Account)), None)


def _account(connection: Connection, name: str) -> Account:
    found = _find(connection, name)
    if found is None:
        known = tuple(connection.scalars(select(tables.accounts.c.name)))
        raise BadInput(
            Problem(
                what="the name of an account", expected="one that there is", got=f'"{name}"',
                why="rights follow from it",
                remedy=nearest(name, known) if known else "make the first account",
            )
        )  # fmt: skip
    return found


def _end(connection: Connection, table: Any, when: str, of: Mapping[str, str], *, keep: str = "") -> None:
    """End the open rows whose columns have these values, but the one whose digest is ``keep``."""
    query = update(table).where(table.c.ended == "").values(ended=when)
    for column, value in of.items():
        query = query.where(table.c[column] == value)
    connection.execute(query.where(table.c.token_hash != keep) if keep else query)


def _check_administrators(connection: Connection, before: Account, after: Account) -> None:
    """Refuse a change after which nobody could make changes."""
    was, stays = (each.active and each.role == "administrator" for each in (before, after))
    table = tables.accounts
    query = select(func.count()).where(table.c.active.is_(True), table.c.role == "administrator")
    if was and not stays and connection.scalar(query) == 1:
        raise BadInput(
            Problem(
                what=f"the account {before.name}", expected="an active administrator",
                got="about to be the last one no longer", why="nobody could let anybody in again",
                remedy="make another administrator first",
            )
        )  # fmt: skip
