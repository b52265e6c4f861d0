"""Lot names that are hard to misread, each with a check character.

Alphabet: the 19 characters that stay distinct in handwriting and on a smeared label (left out are 0 O Q D,
1 I L, 2 Z, 5 S, 6 G, 8 B, U V). Check: with the characters numbered 0 to 18 and the places 1 to n, the sum of
place × number must be divisible by 19. Because 19 is prime and a name has fewer than 19 places, one wrong
character changes the sum by place × difference, which 19 cannot divide, and two swapped characters change it
by (difference of places) × (difference of numbers), which 19 cannot divide either: every single substitution
and every swap of two places is noticed.
"""

from __future__ import annotations

import random
import re
from collections.abc import Iterable

from filmwright.errors import BadInput, Problem

ALPHABET = "ACEFHJKMNPRTWXY3479"
_PRIME = len(ALPHABET)
_PLACES = 5
NAMES = _PRIME**_PLACES
"""How many lot names there are: 2 476 099."""

# Any factor without 19 in it visits every name once; this one puts neighbours far apart.
_STRIDE = 1_530_313
_START = 777_013


def check_character(body: str) -> str:
    """The character that completes a name.

    Parameters
    ----------
    body : str
        The name without its last character, in upper case and without dashes.
    """
    total = sum(place * ALPHABET.index(letter) for place, letter in enumerate(body, start=1))
    place = len(body) + 1
    return ALPHABET[(-total * pow(place, -1, _PRIME)) % _PRIME]


def lot_name(number: int | None = None) -> str:
    """The name of lot ``number``, e.g. ``K7M-4H7``; different for each of the first 2 476 099 numbers.

    Parameters
    ----------
    number : int or None
        Running number or seed, taken modulo the number of names; None draws one.
    """
    drawn = random.SystemRandom().randrange(NAMES) if number is None else number
    rest = (drawn * _STRIDE + _START) % NAMES
    letters = []
    for _ in range(_PLACES):
        rest, digit = divmod(rest, _PRIME)
        letters.append(ALPHABET[digit])
    body = "".join(letters)
    whole = body + check_character(body)
    return f"{whole[:3]}-{whole[3:]}"


def is_lot_name(text: str) -> bool:
    """Whether the check character fits; case, blanks and dashes do not matter."""
    letters = _letters(text)
    if len(letters) != _PLACES + 1 or any(letter not in ALPHABET for letter in letters):
        return False
    return check_character(letters[:-1]) == letters[-1]


def read_lot_name(text: str) -> str:
    """A name as it was typed or read out, in its usual form.

    Parameters
    ----------
    text : str

    Raises
    ------
    BadInput
        When a character is not in the alphabet or the check character does not fit.
    """
    letters = _letters(text)
    strange = sorted({letter for letter in letters if letter not in ALPHABET})
    if is_lot_name(text):
        return f"{letters[:3]}-{letters[3:]}"
    why = f"{', '.join(strange)} is never used in a name" if strange else "its check character does not fit"
    raise BadInput(
        Problem(
            what="the name of a lot",
            expected=f"six characters as on the label, such as {lot_name(0)}",
            got=f'"{text}"',
            why=why,
            remedy="read it from the label again, character by character",
        )
    )


def _letters(text: str) -> str:
    return "".join(letter for letter in text.upper() if letter not in " -\t")


_LABEL = re.compile(r"(?P<lot>\S+?)[\s/]+(?P<piece>[A-Za-z0-9][A-Za-z0-9._-]*)-(?P<check>[A-Za-z0-9])")
_PLACES_THAT_COUNT = _PRIME - 1
"""Weights 1 to 18: a place with weight 19 would not count."""


def label_of(lot: str, piece: str) -> str:
    """What stands on the carrier of a wafer or piece: lot, name, and a check character over both, ``K7M-4H7 W1.a-F``.

    The sum of weight × number over all characters with the check must be divisible by 19. Characters of a lot's name, digits
    of a wafer's number and letters of a piece are each numbered below 19, so that a character that is misread for another
    of its kind is noticed, and so is a wafer that is taken for another of the same lot.

    Parameters
    ----------
    lot, piece : str
    """
    return f"{lot} {piece}-{_check(lot, piece)}"


def read_label(text: str) -> tuple[str, str]:
    """Lot and wafer or piece of a label as typed or scanned.

    Parameters
    ----------
    text : str

    Raises
    ------
    BadInput
        When it is no label or its check character does not fit.
    """
    found = _LABEL.fullmatch(text.strip())
    if found is None or _check(found["lot"], found["piece"]) != found["check"].upper():
        why = "it is no label" if found is None else "its check character does not fit"
        raise BadInput(
            Problem(
                what="the label of a wafer",
                expected=f"lot, wafer and check character, such as {label_of(lot_name(0), 'W1')}",
                got=f'"{text}"',
                why=why,
                remedy="read it again, character by character",
            )
        )
    lot = found["lot"]
    return (read_lot_name(lot) if is_lot_name(lot) else lot), found["piece"]


def _check(lot: str, piece: str) -> str:
    numbers = [ALPHABET.index(each) if each in ALPHABET else _number(each) for each in _letters(lot)]
    numbers += [_number(letter) for letter in piece if letter not in ".-_"]
    total = sum((k % _PLACES_THAT_COUNT + 1) * number for k, number in enumerate(numbers))
    weight = len(numbers) % _PLACES_THAT_COUNT + 1
    return ALPHABET[(-total * pow(weight, -1, _PRIME)) % _PRIME]


def _number(letter: str) -> int:
    """Digits by their value; letters of the alphabet by their place; others below 19 too, where two may share a number."""
    if letter.isdigit():
        return int(letter)
    place = ALPHABET.find(letter.upper())
    return (place if place >= 0 else ord(letter)) % _PRIME


def piece_name(parent: str, taken: Iterable[str]) -> str:
    """The next free name of a piece that is cleaved off a wafer: ``W1.a``, ``W1.c`` and so on, without look-alike letters.

    Parameters
    ----------
    parent : str
    taken : iterable of str
        Names that are in use.
    """
    used = set(taken)
    letters = [letter.lower() for letter in ALPHABET if letter.isalpha()]
    names = (f"{parent}.{a}{b}" for a in ("", *letters) for b in letters)
    return next(name for name in names if name not in used)
