"""YAML 1.2 read into a tree that keeps line and column of every key and value."""

from __future__ import annotations

from collections import OrderedDict
from collections.abc import Iterator
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from ruamel.yaml import YAML
from ruamel.yaml.error import MarkedYAMLError, YAMLError
from ruamel.yaml.nodes import MappingNode, ScalarNode, SequenceNode

from filmwright.errors import BadInput, Problem, Problems

_START = 'start one with "filmwright new"'

_KEPT = 32
_read_before: OrderedDict[str, Node] = OrderedDict()
"""Trees of the texts read last: plan and lab file are read by every part of an answer, and reading them is most of a short one."""


@dataclass(frozen=True)
class Node:
    """A piece of the text: ``kind`` is ``map``, ``list`` or ``text``; lines and columns count from 1."""

    kind: str
    line: int
    column: int
    text: str = ""
    items: tuple[Node, ...] = ()
    entries: tuple[Entry, ...] = ()

    def get(self, key: str) -> Node | None:
        """The value of a key of a map."""
        return next((entry.value for entry in self.entries if entry.key == key), None)

    def __iter__(self) -> Iterator[Entry]:
        return iter(self.entries)

    @property
    def shown(self) -> str:
        """What it is, in a few words, for a message."""
        if self.kind == "text":
            return f'"{self.text}"'
        return "a list" if self.kind == "list" else "a block of keys"


@dataclass(frozen=True)
class Entry:
    """One key of a map with its value and the place of the key."""

    key: str
    line: int
    column: int
    value: Node = field(repr=False)


def read_text(path: Path, what: str) -> str:
    """The text of a file, or a clear refusal.

    Parameters
    ----------
    path : Path
    what : str
        What the file should be, e.g. ``a plan``.
    """
    why = f"{what} is read as UTF-8 text"
    if not path.is_file():
        got = "a folder" if path.is_dir() else "no file"
        remedy = f"check the name, or {_START}"
        raise BadInput(
            Problem(what=what, expected="a readable file", got=got, why=why, remedy=remedy, file=str(path))
        )
    try:
        text = path.read_bytes().decode("utf-8-sig")
    except OSError as trouble:
        got = trouble.strerror or "an unreadable file"
        remedy = "check that the file may be read"
        raise BadInput(
            Problem(what=what, expected="a readable file", got=got, why=why, remedy=remedy, file=str(path))
        ) from None
    except UnicodeDecodeError as trouble:
        got = f"bytes that are not UTF-8 (at byte {trouble.start})"
        remedy = "save it as UTF-8 text; a drawing or a table of measurements goes to another command"
        raise BadInput(
            Problem(what=what, expected="UTF-8 text", got=got, why=why, remedy=remedy, file=str(path), line=1)
        ) from None
    if not text.strip():
        raise _refusal(
            what,
            "not empty",
            "an empty file",
            why,
            'write it, or start one with "filmwright new"',
            (str(path), 1),
        )
    return text


def parse(text: str, file: str) -> Node:
    """The tree of a text; duplicate keys and broken YAML are refused with their line.

    A tree says nothing of the file and never changes, so a text without a problem is read once, whatever its file.
    """
    try:
        return _read_before[text]
    except KeyError:
        pass
    tree = _parsed(text, file)
    _read_before[text] = tree
    if len(_read_before) > _KEPT:
        _read_before.popitem(last=False)
    return tree


def _parsed(text: str, file: str) -> Node:
    problems = Problems()
    try:
        tree = _composed(text, file, problems)
    except RecursionError:
        got = "a block that contains itself, or some hundred blocks within each other"
        remedy = 'remove the reference (such as "*name") that leads back to its own block, or the brackets'
        raise _refusal("the text", "blocks within blocks", got, "it has no end", remedy, (file, 1)) from None
    problems.raise_any()
    if tree.kind != "map":
        expected, why = 'a block of keys such as "steps:"', "every part of it has a name"
        raise _refusal("the text", expected, tree.shown, why, f"{_START} and change it", (file, tree.line))
    return tree


def _composed(text: str, file: str, problems: Problems) -> Node:
    try:
        root = YAML(typ="rt", pure=True).compose(text)
    except MarkedYAMLError as trouble:
        raise BadInput(_broken(trouble, file)) from None
    except (YAMLError, ValueError) as trouble:
        got = str(trouble).splitlines()[0] if str(trouble) else "text that is not YAML"
        remedy = "remove control characters and write plain text"
        raise _refusal("the text", "YAML 1.2", got, "it cannot be read", remedy, (file, 1)) from None
    if root is None:
        why = "there is nothing to read"
        raise _refusal("the text", "a block of keys", "only comments", why, _START, (file, 1))
    return _Trees(file, problems).of(root)


def _refusal(what: str, expected: str, got: str, why: str, remedy: str, place: tuple[str, int]) -> BadInput:
    file, line = place
    return BadInput(
        Problem(what=what, expected=expected, got=got, why=why, remedy=remedy, file=file, line=line)
    )


def _broken(trouble: MarkedYAMLError, file: str) -> Problem:
    mark = trouble.problem_mark or trouble.context_mark
    line = None if mark is None else mark.line + 1
    column = None if mark is None else mark.column + 1
    return Problem(
        what="the text",
        expected="complete YAML 1.2",
        got=(trouble.problem or trouble.context or "broken text").strip(),
        why="from this line on it cannot be read" + (f" ({trouble.context})" if trouble.context else ""),
        remedy="look for a cut-off line, an unclosed bracket or quote, or a wrong indent at or just before this line",
        file=file,
        line=line,
        column=column,
    )


class _Trees:
    """Turns composed YAML into nodes; a block that is referred to again and again is turned once."""

    def __init__(self, file: str, problems: Problems) -> None:
        self.file, self.problems = file, problems
        self.known: dict[int, Node] = {}

    def of(self, node: Any) -> Node:
        if id(node) not in self.known:
            self.known[id(node)] = self._turned(node)
        return self.known[id(node)]

    def _turned(self, node: Any) -> Node:
        line, column = node.start_mark.line + 1, node.start_mark.column + 1
        if isinstance(node, MappingNode):
            return Node("map", line, column, entries=self._entries(node))
        if isinstance(node, SequenceNode):
            return Node("list", line, column, items=tuple(self.of(item) for item in node.value))
        text = str(node.value).strip() if isinstance(node, ScalarNode) else ""
        return Node("text", line, column, text=text)

    def _entries(self, node: Any) -> tuple[Entry, ...]:
        entries: dict[str, Entry] = {}
        for key, value in node.value:
            name = str(key.value) if isinstance(key, ScalarNode) else "?"
            line, column = key.start_mark.line + 1, key.start_mark.column + 1
            if name in entries:
                self._twice(name, entries[name].line, line)
            entries.setdefault(name, Entry(name, line, column, self.of(value)))
        return tuple(entries.values())

    def _twice(self, name: str, first: int, line: int) -> None:
        self.problems.add(
            Problem(
                what=f'the key "{name}"',
                expected="written once in a block",
                got=f"a second one (the first is on line {first})",
                why="one of the two would be lost",
                remedy="remove or rename one of them",
                file=self.file,
                line=line,
            )
        )
