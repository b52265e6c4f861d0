"""Take the keys of one block by its grammar; every problem is kept with its line."""

from __future__ import annotations

import datetime
from collections.abc import Callable, Mapping
from dataclasses import dataclass

from filmwright.errors import Problem, Problems, nearest
from filmwright.flow.grammar import Key
from filmwright.flow.text import Node
from filmwright.knowledge import UnknownName
from filmwright.units import Quantity, UnitProblem, read

_LONGEST = 10
"""A count of more digits counts nothing that is on a wafer."""

_YES = {"yes": True, "true": True, "on": True, "no": False, "false": False, "off": False}


@dataclass
class Reading:
    """A file while it is read: where problems and assumptions go."""

    file: str
    problems: Problems
    readings: list[str]

    def refuse(self, what: str, expected: str, got: str, why: str, remedy: str, line: int | None) -> None:
        """Keep one problem of this file."""
        self.problems.add(
            Problem(what=what, expected=expected, got=got, why=why, remedy=remedy, file=self.file, line=line)
        )

    def name(self, resolve: Callable[[str], str], node: Node, what: str) -> str:
        """A name resolved by the facts, or a problem with the nearest valid word."""
        if node.kind != "text" or not node.text:
            self.refuse(
                what, "a name", node.shown, "it is looked up among the facts", "write one name", node.line
            )
            return ""
        try:
            return resolve(node.text)
        except UnknownName as trouble:
            self.refuse(
                what,
                "a known name",
                f'"{node.text}"',
                "nothing is known about any other",
                trouble.hint,
                node.line,
            )
            return ""


class Block:
    """The keys of one map, checked against their grammar and taken one by one."""

    def __init__(self, reading: Reading, node: Node, grammar: Mapping[str, Key], where: str) -> None:
        self.reading = reading
        self.grammar = grammar
        self.where = where
        self.node = node
        self.found: dict[str, Node] = {}
        if node.kind != "map":
            reading.refuse(
                where,
                "a block of keys",
                node.shown,
                "each part has a name",
                f"write {next(iter(grammar))}: … under it",
                node.line,
            )
            return
        for entry in node:
            if entry.key in grammar:
                self.found[entry.key] = entry.value
            else:
                reading.refuse(
                    f'the key "{entry.key}" in {where}',
                    "a known key",
                    f'"{entry.key}"',
                    "a key that is not known would silently do nothing",
                    nearest(entry.key, grammar),
                    entry.line,
                )
        for key, rule in grammar.items():
            if rule.required and key not in self.found:
                reading.refuse(
                    f'the key "{key}" in {where}',
                    f"given: {rule.means}",
                    "nothing",
                    "it cannot be guessed",
                    f'add "{key}: …"',
                    node.line,
                )

    def has(self, key: str) -> bool:
        """Whether the key was written."""
        return key in self.found

    def line(self, key: str) -> int:
        """Line of a key's value, or of the block."""
        return self.found[key].line if key in self.found else self.node.line

    def what(self, key: str) -> str:
        """How the key is called in a message."""
        return f"{key} of {self.where}"

    def text(self, key: str, default: str = "") -> str:
        """A text."""
        node = self.found.get(key)
        if node is None:
            return default
        if node.kind != "text":
            self.reading.refuse(
                self.what(key),
                "one text",
                node.shown,
                "one value is wanted",
                "write it on one line",
                node.line,
            )
            return default
        return node.text

    def texts(self, key: str) -> tuple[str, ...]:
        """One text or a list of texts."""
        node = self.found.get(key)
        if node is None:
            return ()
        if node.kind == "text":
            return (node.text,)
        if node.kind == "list" and all(item.kind == "text" for item in node.items):
            return tuple(item.text for item in node.items)
        self.reading.refuse(
            self.what(key),
            "a list of texts",
            node.shown,
            "several names are wanted",
            "write [one, another]",
            node.line,
        )
        return ()

    def flag(self, key: str, default: bool) -> bool:
        """Yes or no."""
        text = self.text(key)
        if not text:
            return default
        if text.lower() not in _YES:
            self.reading.refuse(
                self.what(key),
                "yes or no",
                f'"{text}"',
                "it is one or the other",
                "write yes or no",
                self.line(key),
            )
            return default
        return _YES[text.lower()]

    def count(self, key: str) -> int:
        """A whole number."""
        text = self.text(key)
        if not text:
            return 0
        if not (text.isascii() and text.isdigit() and len(text) < _LONGEST):
            self.reading.refuse(
                self.what(key),
                "a whole number",
                f'"{text}"',
                "things are counted",
                "write it in digits",
                self.line(key),
            )
            return 0
        return int(text)

    def date(self, key: str) -> str:
        """An ISO date."""
        text = self.text(key)
        if not text:
            return ""
        try:
            return datetime.date.fromisoformat(text).isoformat()
        except ValueError:
            self.reading.refuse(
                self.what(key),
                "a date like 2026-03-31",
                f'"{text}"',
                "the age of a number decides how far it is trusted",
                "write year-month-day",
                self.line(key),
            )
            return ""

    def quantity(self, key: str) -> Quantity | None:
        """A quantity of the dimension that the grammar names; above zero unless it may be signed."""
        node = self.found.get(key)
        if node is None:
            return None
        rule = self.grammar[key]
        return quantity(self.reading, node, rule.dimension, self.what(key), signed=rule.signed)


def quantity(
    reading: Reading, node: Node, dimension: str, what: str, *, signed: bool = False
) -> Quantity | None:
    """Read one quantity at its line; keep a problem or an assumption."""
    if node.kind != "text":
        reading.refuse(
            what,
            f"a {dimension}",
            node.shown,
            "one value is wanted",
            "write a number with its unit",
            node.line,
        )
        return None
    try:
        found = read(node.text, dimension, what)
    except UnitProblem as trouble:
        reading.problems.add(trouble.problem.at(reading.file, node.line, node.column))
        return None
    if found.reading:
        reading.readings.append(f"line {node.line}: {found.reading} in {what} ({node.text})")
    if found.value <= 0 and not signed:
        reading.refuse(
            what,
            "more than zero",
            f'"{node.text}"',
            "nothing happens otherwise",
            "write a positive value",
            node.line,
        )
        return None
    return found
