"""Signing in: by password, by PIN at a paired tablet, by a program's token. Tokens are shown once and kept as digests."""

from __future__ import annotations

import datetime
from dataclasses import asdict, dataclass
from typing import Any

from filmwright.desk.bench.passwords import check_pin, fits, hidden, out_of_date
from filmwright.desk.bench.people import LINK, People
from filmwright.desk.bench.permissions import Way
from filmwright.desk.bench.tokens import DAYS, LONGEST_DAYS, digest_of, drawn, read_scopes
from filmwright.desk.bench.visitors import Visitor
from filmwright.errors import BadInput, Problem
from filmwright.record import Account, AccountChange, ApiToken, SignIn, Tablet


@dataclass(frozen=True, kw_only=True)
class Lifetime:
    """How long a sign-in lasts without a request, and at most."""

    idle: datetime.timedelta
    whole: datetime.timedelta


LIFETIMES: dict[Way, Lifetime] = {
    "password": Lifetime(idle=datetime.timedelta(minutes=30), whole=datetime.timedelta(hours=12)),
    "pin": Lifetime(idle=datetime.timedelta(minutes=15), whole=datetime.timedelta(hours=4)),
}
"""OWASP ASVS 4.0.3, 3.3.2: 12 hours or 30 minutes without a request at level 2; a PIN lasts shorter."""

_EXTENDED_EVERY = datetime.timedelta(minutes=1)
"""How finely the end of a sign-in follows its last request: a tap need not cost a write."""


@dataclass(frozen=True, kw_only=True)
class Begun:
    """A sign-in that has just begun; the token goes to the browser and nowhere else."""

    token: str
    visitor: Visitor


@dataclass(frozen=True, kw_only=True)
class Shown:
    """A sign-in, tablet or program's token as it may be listed.

    Attributes
    ----------
    id : str
        Its digest, by which it is ended; nobody gets in with it.
    name : str
        What a person recognises it by.
    what : str
        How one came in, or the scopes.
    began, ends : str
        ISO times; empty where there is none.
    own : bool
        Whether it is the one that asks.
    """

    id: str
    name: str
    what: str = ""
    began: str = ""
    ends: str = ""
    own: bool = False

    def fields(self) -> dict[str, Any]:
        """For programs."""
        return asdict(self)


class SignIns:
    """Everything that begins, proves and ends a sign-in.

    Parameters
    ----------
    people : People
    """

    def __init__(self, people: People) -> None:
        self.people, self.store = people, people.store

    def by_password(self, name: str, password: str, *, address: str = "") -> Begun | None:
        """Begin a sign-in by password; None for a wrong one, a closed account and an unknown name alike, after equal work."""
        account = self.people.find(name)
        right = fits(password, account.password_hash if account is not None else "")
        if account is None or not right or not account.active:
            self._refused(account, "password", address)
            return None
        if out_of_date(account.password_hash):
            self.store.change_account(
                account.name,
                AccountChange(password_hash=hidden(password)),
                by=account.name,
                when=self.people.now(),
            )
        return self._begin(account, "password")

    def by_pin(self, tablet_token: str, name: str, pin: str, *, address: str = "") -> Begun | None:
        """Begin a sign-in by PIN at a paired tablet; None when PIN, name or tablet is not right, after equal work."""
        tablet, account = self.tablet(tablet_token), self.people.find(name)
        right = fits(pin, account.pin_hash if account is not None else "")
        if tablet is None or account is None or not right or not account.active:
            self._refused(account, "PIN", address)
            return None
        return self._begin(account, "pin", tablet.token_hash)

    def visitor(self, token: str) -> Visitor | None:
        """Who holds the token of a sign-in that goes on; the role is that of now, not that of the sign-in."""
        found = self.store.sign_in(digest_of(token))
        if found is None or found.ended or self.people.passed(found.expires):
            return None
        account = self.people.find(found.account)
        if account is None or not account.active:
            return None
        if found.tablet and not self._paired(found.tablet):
            return None
        ends = self._ends(_way(found), datetime.datetime.fromisoformat(found.created))
        if ends >= datetime.datetime.fromisoformat(found.expires) + _EXTENDED_EVERY:
            self.store.extend_sign_in(found.token_hash, expires=ends.isoformat(timespec="seconds"))
        return _visitor(account, found)

    def end(self, token: str) -> None:
        """Sign out."""
        found = self.store.sign_in(digest_of(token))
        if found is not None:
            self.store.end_sign_in(found.token_hash, by=found.account, when=self.people.now())

    def end_own(self, visitor: Visitor, password: str, sign_in: str) -> None:
        """End one of the own sign-ins, or all ``others``; the password is asked, so that a thief does not turn the owner out."""
        visitor.must("own things")
        self._again(visitor, password)
        for each in self.own(visitor):
            if each.id == sign_in or (sign_in == "others" and not each.own):
                self.store.end_sign_in(each.id, by=visitor.name, when=self.people.now())

    def own(self, visitor: Visitor) -> tuple[Shown, ...]:
        """The sign-ins of a person that go on, newest first."""
        names = {each.token_hash: each.name for each in self.store.tablets()}
        going = [each for each in self.store.sign_ins(visitor.name) if not self.people.passed(each.expires)]
        return tuple(
            Shown(
                id=each.token_hash, name=names.get(each.tablet, "a browser"), what=_way(each), began=each.created,
                ends=each.expires, own=each.token_hash == visitor.sign_in,
            )
            for each in sorted(going, key=lambda each: each.created, reverse=True)
        )  # fmt: skip

    def change_password(self, visitor: Visitor, old: str, new: str) -> None:
        """Change the own password, for which the old one is asked; every sign-in ends, this one too."""
        visitor.must("own things")
        self._again(visitor, old)
        self.people.set_password(visitor.name, new, by=visitor.name)

    def set_pin(self, visitor: Visitor, password: str, pin: str) -> None:
        """Set the own PIN, for which the password is asked; an empty one takes it away."""
        visitor.must("own things")
        account = self._again(visitor, password)
        if not pin:
            self.people.forget_pin(account.name, by=account.name)
            return
        check_pin(pin)
        self.store.change_account(
            account.name, AccountChange(pin_hash=hidden(pin)), by=account.name, when=self.people.now()
        )
        self.people.end_pin_sign_ins(account.name, by=account.name)

    def pair(self, visitor: Visitor, name: str) -> str:
        """Pair the tablet on which an administrator is signed in; its secret, which stays on it."""
        visitor.must("administer")
        called = " ".join(name.split())[:60]
        if not called:
            raise BadInput(
                Problem(
                    what="the name of the tablet", expected="a word that says where it is", got="nothing",
                    why="a lost tablet must be found in the list", remedy='write it like "wet bench 2"',
                )
            )  # fmt: skip
        token, by = drawn("t"), visitor.name or "alone at the machine"
        tablet = Tablet(token_hash=digest_of(token), name=called, paired_by=by, paired=self.people.now())
        self.store.pair_tablet(tablet, by=by)
        return token

    def unpair(self, visitor: Visitor, tablet: str) -> None:
        """End the pairing of a tablet and every sign-in by PIN at it."""
        visitor.must("administer")
        if self._paired(tablet):
            by = visitor.name or "alone at the machine"
            self.store.end_tablet(tablet, by=by, when=self.people.now())

    def tablets(self) -> tuple[Shown, ...]:
        """The paired tablets."""
        return tuple(
            Shown(id=each.token_hash, name=each.name, what=f"paired by {each.paired_by}", began=each.paired)
            for each in self.store.tablets()
        )

    def tablet(self, token: str) -> Tablet | None:
        """The paired tablet that holds this secret."""
        found = self.store.tablet(digest_of(token))
        return found if found is not None and not found.ended else None

    def at_tablet(self, token: str) -> tuple[str, ...]:
        """The names to choose from at a paired tablet: everybody who has a PIN; none at a tablet that is not paired."""
        if self.tablet(token) is None:
            return ()
        return tuple(each.name for each in self.people.everybody() if each.has_pin and each.active)

    def make_token(self, visitor: Visitor, name: str, scopes: tuple[str, ...], days: int = DAYS) -> str:
        """Make a token for a program; it is shown this once."""
        visitor.must("own things")
        wanted, called = read_scopes(scopes), " ".join(name.split())[:60]
        if not called or not 1 <= days <= LONGEST_DAYS:
            raise BadInput(
                Problem(
                    what="a token", expected=f"a name and 1 to {LONGEST_DAYS} days", got=f'"{called}", {days} days',
                    why="one that nobody recognises or that never ends is found by the wrong person",
                    remedy='write what it is for, such as "furnace logger"',
                )
            )  # fmt: skip
        token = drawn("a")
        ends = self.people.clock() + datetime.timedelta(days=days)
        self.store.add_api_token(
            ApiToken(
                token_hash=digest_of(token), name=called, account=visitor.name, scopes=wanted,
                created=self.people.now(), expires=ends.isoformat(timespec="seconds"),
            ),
            by=visitor.name,
        )  # fmt: skip
        return token

    def revoke_token(self, visitor: Visitor, token: str) -> None:
        """End one of the own tokens."""
        if any(each.id == token for each in self.own_tokens(visitor)):
            self.store.end_api_token(token, by=visitor.name, when=self.people.now())

    def own_tokens(self, visitor: Visitor) -> tuple[Shown, ...]:
        """The tokens of a person that still work."""
        return tuple(
            Shown(
                id=each.token_hash, name=each.name, what=" and ".join(each.scopes), began=each.created, ends=each.expires
            )
            for each in self.store.api_tokens(visitor.name)
            if each.scopes != (LINK,) and not self.people.passed(each.expires)
        )  # fmt: skip

    def program(self, token: str) -> Visitor | None:
        """Whose program holds a token that still works; it may no more than its owner and its scopes."""
        found = self.store.api_token(digest_of(token))
        if found is None or found.ended or found.scopes == (LINK,) or self.people.passed(found.expires):
            return None
        account = self.people.find(found.account)
        if account is None or not account.active:
            return None
        return Visitor(
            name=account.name, role=account.role, way="token", sign_in=found.token_hash, scopes=read_scopes(found.scopes)
        )  # fmt: skip

    def _paired(self, tablet: str) -> bool:
        return any(each.token_hash == tablet for each in self.store.tablets())

    def _again(self, visitor: Visitor, password: str) -> Account:
        account = self.store.account(visitor.name)
        if not fits(password, account.password_hash):
            self._refused(account, "password, asked again", "")
            raise BadInput(
                Problem(
                    what="your password", expected="the one of now", got="another one",
                    why="who finds an open page must not take over the account", remedy="type the password of now again",
                )
            )  # fmt: skip
        return account

    def _refused(self, account: Account | None, way: str, address: str) -> None:
        # Somebody in a hurry types the password where the name goes: an unknown name is not written down.
        name = account.name if account is not None else "an unknown name"
        self.people.note(name, "refused", f"wrong {way}" + (f", from {address}" if address else ""), "access")

    def _ends(self, way: Way, began: datetime.datetime) -> datetime.datetime:
        life = LIFETIMES[way]
        return min(self.people.clock() + life.idle, began + life.whole)

    def _begin(self, account: Account, way: Way, tablet: str = "") -> Begun:
        token, began = drawn("s"), self.people.clock()
        begun = SignIn(
            token_hash=digest_of(token), account=account.name, created=began.isoformat(timespec="seconds"),
            expires=self._ends(way, began).isoformat(timespec="seconds"), tablet=tablet,
        )  # fmt: skip
        self.store.add_sign_in(begun)
        return Begun(token=token, visitor=_visitor(account, begun))


def _way(begun: SignIn) -> Way:
    return "pin" if begun.tablet else "password"


def _visitor(account: Account, begun: SignIn) -> Visitor:
    return Visitor(
        name=account.name, role=account.role, way=_way(begun), sign_in=begun.token_hash, tablet=begun.tablet
    )
