"""People who may read and write a shared record, their sign-ins, paired tablets and tokens of programs.

Only digests of secrets are kept; how a password becomes one is not known here. Rows of accounts change; every
change is also a line of the logbook ``accounts``, written in the same transaction.
"""

from __future__ import annotations

import re
import unicodedata
from abc import ABC, abstractmethod
from dataclasses import dataclass
from typing import Literal, get_args

from filmwright.errors import Problems, nearest
from filmwright.record.checks import SHA256, check_pattern, check_text, check_time, digest, refuse_part

Role = Literal["reader", "operator", "process owner", "administrator"]
ROLES: tuple[str, ...] = get_args(Role)
"""From the least rights to the most."""

_PERSON = re.compile(r"\S(.{0,58}\S)?")
_SECRET = re.compile(r"\$[!-~]{20,400}")
_SCOPE = re.compile(r"[a-z][a-z_:-]{0,30}")


@dataclass(frozen=True, kw_only=True)
class Account:
    """One person.

    Attributes
    ----------
    name : str
        As it stands beside entries; two names that differ only in capitals are one.
    role : Role
    created : str
        ISO time with offset.
    password_hash, pin_hash : str
        In the form ``$algorithm$…``; empty where there is none.
    active : bool
        An account is never removed, because entries name it; it is put out of use.
    """

    name: str
    role: Role
    created: str
    password_hash: str = ""
    pin_hash: str = ""
    active: bool = True

    def __post_init__(self) -> None:
        problems = Problems()
        _check_person(problems, "the name of an account", self.name)
        _check_role(problems, self.name, self.role)
        for what in ("password_hash", "pin_hash"):
            _check_secret(problems, self.name, what, getattr(self, what))
        check_time(problems, f"the time at which the account {self.name} was made", self.created)
        problems.raise_any()


@dataclass(frozen=True, kw_only=True)
class AccountChange:
    """What is to change of an account; None leaves a thing as it is, an empty digest takes the secret away."""

    role: Role | None = None
    password_hash: str | None = None
    pin_hash: str | None = None
    active: bool | None = None

    def __post_init__(self) -> None:
        problems = Problems()
        if self.role is not None:
            _check_role(problems, "an account", self.role)
        for what in ("password_hash", "pin_hash"):
            _check_secret(problems, "an account", what, getattr(self, what) or "")
        problems.raise_any()


@dataclass(frozen=True, kw_only=True)
class SignIn:
    """One sign-in of a person on a device.

    Attributes
    ----------
    token_hash : str
        SHA-256 of the token in the cookie.
    account : str
    created, expires : str
        ISO times with offset.
    tablet : str
        ``token_hash`` of the paired tablet; empty elsewhere.
    ended : str
        ISO time with offset; empty while it is open.
    """

    token_hash: str
    account: str
    created: str
    expires: str
    tablet: str = ""
    ended: str = ""

    def __post_init__(self) -> None:
        problems = Problems()
        check_pattern(problems, "the digest of a sign-in", self.token_hash, SHA256, digest(""))
        if self.tablet:
            check_pattern(problems, "the tablet of a sign-in", self.tablet, SHA256, digest(""))
        _check_times(problems, "a sign-in", self.created, self.expires, self.ended)
        problems.raise_any()


@dataclass(frozen=True, kw_only=True)
class Tablet:
    """A tablet on which people change over by their PIN.

    Attributes
    ----------
    token_hash : str
        SHA-256 of the token in its cookie.
    name : str
    paired_by : str
        Who paired it.
    paired : str
        ISO time with offset.
    ended : str
        ISO time with offset; empty while it is paired.
    """

    token_hash: str
    name: str
    paired_by: str
    paired: str
    ended: str = ""

    def __post_init__(self) -> None:
        problems = Problems()
        check_pattern(problems, "the digest of a tablet", self.token_hash, SHA256, digest(""))
        _check_person(problems, "the name of a tablet", self.name)
        _check_times(problems, "a tablet", self.paired, self.ended)
        problems.raise_any()


@dataclass(frozen=True, kw_only=True)
class ApiToken:
    """What lets a program in under somebody's account.

    Attributes
    ----------
    token_hash : str
        SHA-256 of the token.
    name : str
        What it is for.
    account : str
    scopes : tuple of str
        What it may do, such as ``read`` or ``log``.
    created, expires : str
        ISO times with offset.
    ended : str
        ISO time with offset; empty while it holds.
    """

    token_hash: str
    name: str
    account: str
    scopes: tuple[str, ...]
    created: str
    expires: str
    ended: str = ""

    def __post_init__(self) -> None:
        problems = Problems()
        check_pattern(problems, "the digest of a token", self.token_hash, SHA256, digest(""))
        _check_person(problems, "the name of a token", self.name)
        for scope in self.scopes:
            check_pattern(problems, f"what the token {self.name} may do", scope, _SCOPE, "read")
        _check_times(problems, "a token", self.created, self.expires, self.ended)
        problems.raise_any()
        object.__setattr__(self, "scopes", tuple(self.scopes))


class Accounts(ABC):
    """The part of a store that knows people. ``by`` is who asks for a change, ``when`` an ISO time with offset."""

    @abstractmethod
    def accounts(self) -> tuple[Account, ...]:
        """All accounts in the order in which they were made, also those out of use."""

    @abstractmethod
    def account(self, name: str) -> Account:
        """One account, capitals of the name aside; BadInput when there is none."""

    @abstractmethod
    def add_account(self, account: Account, *, by: str) -> None:
        """Keep a new account; BadInput when the name is taken."""

    @abstractmethod
    def change_account(
        self, name: str, change: AccountChange, *, by: str, when: str, keep: str = ""
    ) -> Account:
        """Change what is given and leave the rest as it is.

        A new password, or being put out of use, ends the open sign-ins (but the one whose digest is ``keep``);
        being put out of use also ends the tokens.

        Raises
        ------
        BadInput
            When there is no such account, or no active administrator would be left.
        """

    @abstractmethod
    def add_sign_in(self, sign_in: SignIn) -> None:
        """Keep a sign-in of an active account."""

    @abstractmethod
    def sign_in(self, token_hash: str) -> SignIn | None:
        """The sign-in with this digest, ended or not; None when there is none."""

    @abstractmethod
    def sign_ins(self, account: str = "") -> tuple[SignIn, ...]:
        """Sign-ins that have not been ended, of one account or of all."""

    @abstractmethod
    def extend_sign_in(self, token_hash: str, *, expires: str) -> None:
        """Let an open sign-in hold until later; no right changes, so no line is written."""

    @abstractmethod
    def end_sign_in(self, token_hash: str, *, by: str, when: str) -> None:
        """End a sign-in; one that is not open stays as it is."""

    @abstractmethod
    def end_sign_ins(self, account: str, *, by: str, when: str, keep: str = "") -> int:
        """End all open sign-ins of an account but ``keep``; gives how many."""

    @abstractmethod
    def pair_tablet(self, tablet: Tablet, *, by: str) -> None:
        """Keep a paired tablet."""

    @abstractmethod
    def tablet(self, token_hash: str) -> Tablet | None:
        """The tablet with this digest, ended or not; None when there is none."""

    @abstractmethod
    def tablets(self) -> tuple[Tablet, ...]:
        """Tablets that are paired, in the order of pairing."""

    @abstractmethod
    def end_tablet(self, token_hash: str, *, by: str, when: str) -> None:
        """Part a tablet and end the sign-ins on it."""

    @abstractmethod
    def add_api_token(self, token: ApiToken, *, by: str) -> None:
        """Keep a token of an active account."""

    @abstractmethod
    def api_token(self, token_hash: str) -> ApiToken | None:
        """The token with this digest, ended or not; None when there is none."""

    @abstractmethod
    def api_tokens(self, account: str = "") -> tuple[ApiToken, ...]:
        """Tokens that have not been ended, of one account or of all."""

    @abstractmethod
    def end_api_token(self, token_hash: str, *, by: str, when: str) -> None:
        """End a token; one that does not hold stays as it is."""


def key_of(name: str) -> str:
    """What makes two names one: capitals and forms of the same letter aside."""
    return unicodedata.normalize("NFKC", name).casefold()


def _check_role(problems: Problems, name: str, role: str) -> None:
    """Judge a role."""
    if role not in ROLES:
        refuse_part(
            problems, f"the role of {name}", "one of " + ", ".join(ROLES), role,
            "rights follow from it", nearest(str(role), ROLES),
        )  # fmt: skip


def _check_secret(problems: Problems, name: str, what: str, text: str) -> None:
    """Judge what is kept of a secret: a digest, never the secret itself."""
    if text and _SECRET.fullmatch(text) is None:
        refuse_part(
            problems, f"the {what.replace('_', ' ')} of {name}", 'a digest of the form "$algorithm$…"',
            "something else", "a secret itself is never kept", "digest it first",
        )  # fmt: skip


def _check_person(problems: Problems, what: str, text: str) -> None:
    check_text(problems, what, text)
    check_pattern(problems, what, text, _PERSON, "M. Sample")
    if any(unicodedata.category(letter).startswith("C") for letter in str(text)):
        refuse_part(
            problems, what, "of letters that can be seen", repr(text), "two names must not look alike",
            "write it without control signs",
        )  # fmt: skip


def _check_times(problems: Problems, what: str, *times: str) -> None:
    for number, moment in enumerate(times):
        if moment or number == 0:
            check_time(problems, f"a time of {what}", moment)
