"""One problem in one place, and the exception that carries all problems of an input."""

from __future__ import annotations

import difflib
from collections.abc import Iterable
from dataclasses import asdict, dataclass, field, replace


@dataclass(frozen=True, kw_only=True)
class Problem:
    """What is wrong, where, and what to do about it.

    Attributes
    ----------
    what : str
        The thing that is judged, e.g. ``the thickness of step "gate metal"``.
    expected, got : str
        What must be there and what was there, values with units.
    why : str
        Why it matters.
    remedy : str
        What to do, in words that work when followed literally.
    file : str
        The file as the person named it; empty when there is none.
    line, column : int or None
        Place in the file, counted from 1.
    """

    what: str
    expected: str
    got: str
    why: str
    remedy: str
    file: str = ""
    line: int | None = None
    column: int | None = None

    def __str__(self) -> str:
        place = self.file + (f":{self.line}" if self.line is not None else "")
        head = f"{place}: " if place else ""
        return f"{head}{self.what} must be {self.expected}, got {self.got} — {self.why}; {self.remedy}"

    def at(self, file: str, line: int | None = None, column: int | None = None) -> Problem:
        """The same problem with its place filled in."""
        return replace(self, file=file, line=line, column=column)

    def fields(self) -> dict[str, str | int | None]:
        """The problem as plain fields for programs."""
        return asdict(self)


class BadInput(Exception):  # noqa: N818 - the name says what it is; it is the only exception a person meets
    """An input that cannot be used, with every problem found in it."""

    def __init__(self, *problems: Problem) -> None:
        super().__init__("\n".join(str(problem) for problem in problems))
        self.problems = problems


class OutOfReach(BadInput):
    """Nothing is wrong with what was asked: a disk, a file or a server does not take it now. The same may be tried again."""


@dataclass
class Problems:
    """Collects problems while a file is read to its end."""

    found: list[Problem] = field(default_factory=list)

    def add(self, problem: Problem) -> None:
        """Keep one more problem."""
        self.found.append(problem)

    def raise_any(self) -> None:
        """Raise :class:`BadInput` with all problems, in order of place, if there is one."""
        if self.found:
            raise BadInput(*sorted(self.found, key=lambda p: (p.file, p.line or 0, p.column or 0)))


def nearest(word: str, words: Iterable[str]) -> str:
    """A hint with the nearest valid word, e.g. ``did you mean "titanium"?``, else the list of valid words.

    Parameters
    ----------
    word : str
        What was written.
    words : iterable of str
        What would have been valid.
    """
    valid = sorted(set(words))
    lowered = {each.lower(): each for each in valid}
    close = difflib.get_close_matches(word.lower(), lowered, n=1, cutoff=0.6)
    if close:
        return f'did you mean "{lowered[close[0]]}"?'
    shown = ", ".join(valid[:12]) + (", …" if len(valid) > 12 else "")
    return f"use one of: {shown}"
