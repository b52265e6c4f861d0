"""Passwords and PINs: how they are kept, and which are refused. Only what cannot be turned back is ever stored."""

from __future__ import annotations

import functools
import re
import threading
import unicodedata
from collections.abc import Iterable
from typing import TYPE_CHECKING, Any

from filmwright.errors import BadInput, Problem, Problems

if TYPE_CHECKING:
    from argon2 import PasswordHasher

SHORTEST, LONGEST = 12, 128
"""Of a password [characters]: NIST SP 800-63B (2017) 5.1.1.2 wants at least 8 and asks for no other rule; a
clean room's tablets are seen by many, so it is 12 here, and 128 at most (OWASP ASVS 4.0.3, 2.1.1 and 2.1.2)."""

PIN_DIGITS = 6
"""Of a PIN: NIST SP 800-63B (2017) 5.1.1.1 for secrets that are short because tries are limited."""

ARGON2: dict[str, Any] = {
    "time_cost": 3,
    "memory_cost": 65536,
    "parallelism": 4,
    "hash_len": 32,
    "salt_len": 16,
}
"""Argon2id: the second recommended option of RFC 9106, section 4 (3 passes over 64 MiB, 4 lanes, salt of 128 and tag
of 256 bit), above the least that the OWASP Password Storage Cheat Sheet asks for (2 passes over 19 MiB, 1 lane)."""

_AT_ONCE = threading.BoundedSemaphore(2)
"""Each hash takes 64 MiB: many people who sign in together wait for each other instead of filling the memory."""

_OBVIOUS = (
    "password", "passwort", "passphrase", "letmein", "welcome", "qwerty", "qwertz", "azerty", "abcdef",
    "iloveyou", "admin", "administrator", "changeme", "secret", "cleanroom", "clean", "room", "wafer",
    "silicon", "resist", "transistor", "filmwright", "operator", "tablet", "summer", "winter", "spring",
    "autumn", "monday", "dragon", "football", "baseball", "monkey", "sunshine", "princess", "master",
    "shadow", "superman", "trustno", "login", "access", "hello",
)  # fmt: skip
_ROWS = (
    "abcdefghijklmnopqrstuvwxyz",
    "01234567890",
    "qwertyuiop",
    "qwertzuiop",
    "asdfghjkl",
    "zxcvbnm",
    "yxcvbnm",
)
_LOOKALIKES = str.maketrans("@430157$!", "aaeoistsi")
_OWN_LEAST, _OWN_GOOD = 6, 16
"""Characters of a password that must be left when obvious words and runs are taken out, and when it is called hard to guess."""


@functools.cache
def _hasher() -> PasswordHasher:
    from argon2 import PasswordHasher, Type

    return PasswordHasher(type=Type.ID, **ARGON2)


@functools.cache
def _of_nobody() -> str:
    import secrets

    return hidden(secrets.token_urlsafe(32))


def _same_letters(secret: str) -> str:
    """The same password from every keyboard: NFKC, as NIST SP 800-63B 5.1.1.2 asks."""
    return unicodedata.normalize("NFKC", secret)


def hidden(secret: str) -> str:
    """What is kept of a password or PIN: its Argon2id hash with salt and parameters in one text."""
    with _AT_ONCE:
        return _hasher().hash(_same_letters(secret))


def fits(secret: str, kept: str) -> bool:
    """Whether a secret is the one that was kept.

    Parameters
    ----------
    secret : str
    kept : str
        As from :func:`hidden`; empty: there is none, and the answer takes as long as if there were.
    """
    from argon2.exceptions import InvalidHashError, VerificationError

    sound = len(secret) <= 4 * LONGEST
    try:
        with _AT_ONCE:
            _hasher().verify(kept or _of_nobody(), _same_letters(secret) if sound else "")
    except (VerificationError, InvalidHashError):
        return False
    return bool(kept) and sound


def out_of_date(kept: str) -> bool:
    """Whether a hash was made with other parameters than those of today, so that it is renewed at the next sign-in."""
    return bool(kept) and _hasher().check_needs_rehash(kept)


def _without_runs(text: str) -> str:
    """The text with runs of a keyboard row or of the alphabet, either way, and repeated characters taken out."""
    for row in _ROWS:
        for way in (row, row[::-1]):
            for start in range(len(way) - 3):
                end = next((e for e in range(len(way), start + 3, -1) if way[start:e] in text), 0)
                if end:
                    text = text.replace(way[start:end], " ")
    text = re.sub(r"(.+?)\1{2,}", r"\1", text)
    return re.sub(r"(.{3,}?)\1+", r"\1", text)


def _own_part(password: str, words: Iterable[str]) -> int:
    """How many characters are left when obvious words, given words, years and runs are taken out."""
    plain = _same_letters(password).casefold()
    least = len(plain)
    for text in (plain, plain.translate(_LOOKALIKES)):
        for word in sorted({each.casefold() for each in words if len(each) >= 3}, key=len, reverse=True):
            text = text.replace(word, " ")
        text = re.sub(r"(19|20)\d\d", " ", _without_runs(text))
        least = min(least, len(re.sub(r"[\W_]", "", text)))
    return least


def check_password(password: str, *, about: Iterable[str] = ()) -> None:
    """Refuse a password that is too short, too long, or made of what everybody would try first.

    Which kinds of characters it has does not matter, and it never has to be changed for its age (NIST SP 800-63B 5.1.1.2).

    Parameters
    ----------
    password : str
    about : iterable of str
        Names of the person and of the place.

    Raises
    ------
    BadInput
        The password itself is never repeated in it.
    """
    problems = Problems()
    length = _length(password)
    if length < SHORTEST or length > LONGEST:
        problems.add(
            Problem(
                what="the password", expected=f"{SHORTEST} to {LONGEST} characters", got=f"{length}",
                why="length is what makes it hard to guess", remedy="take four words that have nothing to do with each other",
            )
        )  # fmt: skip
    if length >= SHORTEST and _own_part(password, _words(about)) < _OWN_LEAST:
        problems.add(
            Problem(
                what="the password", expected="more than names, common words and runs of keys",
                got="one that would be among the first tries", why="lists of such passwords are public",
                remedy="take four words that have nothing to do with you, the lab or each other",
            )
        )  # fmt: skip
    problems.raise_any()


def password_words(password: str, *, about: Iterable[str] = ()) -> tuple[bool, str]:
    """How good a password is, in words for who types it, by the rules of :func:`check_password`.

    Parameters
    ----------
    password : str
    about : iterable of str

    Returns
    -------
    taken : bool
        Whether it would be taken.
    said : str
        Never repeats it.
    """
    length = _length(password)
    if length < SHORTEST:
        return False, f"{length} of at least {SHORTEST} characters"
    if length > LONGEST:
        return False, f"{length} characters: at most {LONGEST}"
    own = _own_part(password, _words(about))
    if own < _OWN_LEAST:
        return (
            False,
            "Easy to guess: made of names, common words or runs of keys. Take words that have nothing to do with you.",
        )
    return (True, "Hard to guess") if own >= _OWN_GOOD else (True, "Will do; longer is better")


def _length(password: str) -> int:
    """Characters; blanks in a row count once (OWASP ASVS 4.0.3, 2.1.1): they are easy to guess and hard to count."""
    return len(re.sub(" +", " ", _same_letters(password)))


def _words(about: Iterable[str]) -> list[str]:
    """Words that make no password: names, parts of names, and what everybody tries."""
    names = list(about)
    return [*names, *(part for each in names for part in re.split(r"[\W_]+", each)), *_OBVIOUS]


def check_pin(pin: str) -> None:
    """Refuse a PIN that is not six digits or is among those that everybody tries; it is never repeated in the refusal."""
    if not (len(pin) == PIN_DIGITS and pin.isascii() and pin.isdigit()):
        expected, got = f"{PIN_DIGITS} digits", "something else"
    elif len(set(pin)) < 3 or pin in "01234567890" or pin in "09876543210" or pin[:3] == pin[3:]:
        expected, got = "no row and no repetition", "one that would be among the first tries"
    else:
        return
    raise BadInput(
        Problem(
            what="the PIN", expected=expected, got=got, why="it is all that keeps your name apart at a shared tablet",
            remedy=f"take {PIN_DIGITS} digits that are no date and no pattern",
        )
    )  # fmt: skip
