"""Random tokens of sign-ins, tablets and programs: shown once, only their digest is kept."""

from __future__ import annotations

import hashlib
import secrets
from collections.abc import Iterable
from typing import Literal, get_args

from filmwright.desk.bench.permissions import Action
from filmwright.errors import BadInput, Problem, nearest

Scope = Literal["read", "log"]
SCOPES: tuple[Scope, ...] = get_args(Scope)
_ALLOWED: dict[Scope, frozenset[Action]] = {
    "read": frozenset({"read"}),
    "log": frozenset({"log"}),
}

_BYTES = 32
"""256 random bits: nobody guesses them, so a plain digest keeps them safe (no slow hash is needed)."""

DAYS, LONGEST_DAYS = 90, 366
"""How long a program's token lasts unless said otherwise, and at most [days]."""


def drawn(kind: str) -> str:
    """A new token; its first letters say what it is for, so that one found in a log or a file is recognised."""
    return f"fw{kind}_{secrets.token_urlsafe(_BYTES)}"


def digest_of(token: str) -> str:
    """What is kept of a token: SHA-256, 64 hexadecimal digits."""
    return hashlib.sha256(token.encode("utf-8", "surrogatepass")).hexdigest()


def read_scopes(words: Iterable[str]) -> tuple[Scope, ...]:
    """The scopes of a token in their order; BadInput for one that there is not, and for none."""
    wanted = set(words)
    wrong = sorted(wanted - set(SCOPES))
    if wrong or not wanted:
        raise BadInput(
            Problem(
                what="the scopes of a token", expected="read, log or both", got=", ".join(wrong) or "none",
                why="a program should be able to do no more than it needs",
                remedy=nearest(wrong[0], SCOPES) if wrong else "choose read, log or both",
            )
        )  # fmt: skip
    return tuple(each for each in SCOPES if each in wanted)


def allowed(scopes: Iterable[Scope], action: Action) -> bool:
    """Whether a token with these scopes may do this; the role of its owner must allow it too."""
    return action == "anyone" or any(action in _ALLOWED[each] for each in scopes)
