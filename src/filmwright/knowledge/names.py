"""Names as people type them, and what to say when one is not known."""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping
from functools import lru_cache
from typing import Generic, TypeVar

from filmwright.errors import nearest

Thing = TypeVar("Thing")

_TWINS = str.maketrans("₀₁₂₃₄₅₆₇₈₉–—‑_", "0123456789--- ")
_MICRO = re.compile("[\N{MICRO SIGN}\N{GREEK SMALL LETTER MU}]")


class UnknownName(KeyError):  # noqa: N818 - it is a question of a name, placed in a file by whoever read it
    """A name that nothing is known about.

    Attributes
    ----------
    name : str
        As written.
    kind : str
        What it should have named, e.g. ``material``.
    hint : str
        The nearest valid word, or a list of valid words.
    """

    def __init__(self, name: str, kind: str, hint: str) -> None:
        super().__init__(name)
        self.name = name
        self.kind = kind
        self.hint = hint

    def __str__(self) -> str:
        return f'no {self.kind} is known as "{self.name}"; {self.hint}'


@lru_cache(maxsize=4096)
def spelling(name: str) -> str:
    """A name with everything taken off that people write in different ways: case, spaces, subscripts, µ or
    u."""
    return " ".join(_MICRO.sub("u", name).translate(_TWINS).casefold().split())


class Index(Generic[Thing]):
    """Things by any of their names.

    Parameters
    ----------
    kind : str
        What they are, for messages.
    things : mapping from name to thing
    aliases : mapping from name to its other names
    """

    def __init__(self, kind: str, things: Mapping[str, Thing], aliases: Mapping[str, Iterable[str]]) -> None:
        self._kind = kind
        self._things = things
        self._names: dict[str, str] = {}
        for name in things:
            for written in (name, *aliases.get(name, ())):
                known = self._names.setdefault(spelling(written), name)
                if known != name:
                    raise ValueError(f'{kind}: "{written}" names both {known} and {name}')

    def __getitem__(self, name: str) -> Thing:
        known = self._names.get(spelling(name))
        if known is None:
            raise UnknownName(name, self._kind, self._hint(name))
        return self._things[known]

    def _hint(self, name: str) -> str:
        close = nearest(spelling(name), self._names)
        return close if close.startswith("did you mean") else nearest(name, self._things)
