"""Data files cut at their headers, so that what a command does not ask for is never parsed.

A file holds entries, ``[titanium]``, with parts, ``[titanium.values]``. The entries themselves are read when the
book is opened, because names resolve there; a part is read when somebody looks into it. Line numbers of the
file are kept.
"""

from __future__ import annotations

import re
import tomllib
from collections.abc import Callable, Iterator, Mapping
from typing import Any, Generic, TypeVar

Kept = TypeVar("Kept")

_HEADER = re.compile(
    r'^\[(?:"(?P<quoted>[^"\n]+)"|(?P<bare>[\w-]+))(?:\.(?P<part>[\w-]+))?\][^\S\n]*$', re.MULTILINE
)


class Later(Mapping[str, Kept], Generic[Kept]):
    """A mapping that is made when it is first looked into; it cannot be changed in place.

    Parameters
    ----------
    make : callable
        Gives the mapping; called once.
    """

    __slots__ = ("_made", "_make")

    def __init__(self, make: Callable[[], Mapping[str, Kept]]) -> None:
        self._make = make
        self._made: Mapping[str, Kept] | None = None

    def _now(self) -> Mapping[str, Kept]:
        if self._made is None:
            self._made = self._make()
        return self._made

    def __getitem__(self, key: str) -> Kept:
        return self._now()[key]

    def __iter__(self) -> Iterator[str]:
        return iter(self._now())

    def __len__(self) -> int:
        return len(self._now())

    def __repr__(self) -> str:
        return repr(dict(self._now()))


class Sections:
    """One data file, cut at its headers.

    Parameters
    ----------
    text : str
    file : str
        Name for messages.

    Attributes
    ----------
    entries : mapping from name to what stands directly below its header
    """

    def __init__(self, text: str, file: str) -> None:
        self.file = file
        self._text = text
        self._parts: dict[tuple[str, str], tuple[int, int]] = {}
        self.entries: Mapping[str, Mapping[str, Any]] = self._parsed(self._cut())

    def _cut(self) -> str:
        """The text with the parts blanked, line for line; where each part stands is noted."""
        headers = list(_HEADER.finditer(self._text))
        ends = [*(header.start() for header in headers[1:]), len(self._text)]
        kept, at = [], 0
        for header, end in zip(headers, ends, strict=False):
            if header["part"] is None:
                continue
            place = (header["quoted"] or header["bare"], header["part"])
            if place in self._parts:
                raise ValueError(f"{self.file}: {place[0]} has two parts {place[1]}")
            self._parts[place] = (header.end(), end)
            kept += [self._text[at : header.start()], "\n" * self._text.count("\n", header.start(), end)]
            at = end
        return "".join([*kept, self._text[at:]])

    def _parsed(self, text: str) -> dict[str, Any]:
        try:
            return tomllib.loads(text)
        except tomllib.TOMLDecodeError as trouble:
            raise ValueError(f"{self.file}: {trouble}") from trouble

    def part(self, name: str, part: str) -> Mapping[str, Any]:
        """What stands in a part of an entry; empty when it has none."""
        if (name, part) not in self._parts:
            return {}
        start, end = self._parts[name, part]
        return self._parsed("\n" * self._text.count("\n", 0, start) + self._text[start:end])

    def line(self, name: str, key: str = "") -> int | None:
        """Line, counted from 1, of a key of an entry or of its parts; of its header when the key is not there."""
        at, within = None, False
        for number, text in enumerate(self._text.splitlines(), 1):
            header = _HEADER.match(text)
            if header:
                within = name in (header["quoted"], header["bare"])
                at = number if within and at is None else at
            elif within and key and text.lstrip("\"'").startswith(key) and "=" in text:
                return number
        return at

    def orphans(self) -> list[str]:
        """Parts whose entry has no header of its own."""
        return sorted({name for name, _ in self._parts} - set(self.entries))

    def parts(self) -> set[str]:
        """Names of parts that occur in this file."""
        return {part for _, part in self._parts}
