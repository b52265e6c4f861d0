"""YAML 1.2 read into a tree that keeps line and column of every key and value."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from ruamel.yaml import YAML
from ruamel.yaml.error import MarkedYAMLError, YAMLError
from ruamel.yaml.nodes import MappingNode, ScalarNode, SequenceNode

from filmwright.errors import BadInput, Problem, Problems


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
        remedy = 'check the name, or start one with "filmwright new"'
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
        remedy = 'write it, or start one with "filmwright new"'
        raise BadInput(
            Problem(
                what=what,
                expected="not empty",
                got="an empty file",
                why=why,
                remedy=remedy,
                file=str(path),
                line=1,
            )
        )
    return text


def parse(text: str, file: str) -> Node:
    """The tree of a text; duplicate keys and broken YAML are refused with their line."""
    problems = Problems()
    try:
        root = YAML(typ="rt", pure=True).compose(text)
    except MarkedYAMLError as trouble:
        raise BadInput(_broken(trouble, file)) from None
    except (YAMLError, ValueError, RecursionError) as trouble:
        got = str(trouble).splitlines()[0] if str(trouble) else "text that is not YAML"
        raise BadInput(
            Problem(
                what="the text",
                expected="YAML 1.2",
                got=got,
                why="it cannot be read",
                remedy="remove control characters and write plain text",
                file=file,
                line=1,
            )
        ) from None
    if root is None:
        raise BadInput(
            Problem(
                what="the text",
                expected="a block of keys",
                got="only comments",
                why="there is nothing to read",
                remedy='start one with "filmwright new"',
                file=file,
                line=1,
            )
        )
    try:
        tree = _tree(root, file, problems)
    except RecursionError:
        raise BadInput(
            Problem(
                what="the text",
                expected="blocks within blocks",
                got="a block that contains itself, or some hundred blocks within each other",
                why="it has no end",
                remedy='remove the reference (such as "*name") that leads back to its own block',
                file=file,
                line=root.start_mark.line + 1,
            )
        ) from None
    problems.raise_any()
    if tree.kind != "map":
        raise BadInput(
            Problem(
                what="the text",
                expected='a block of keys such as "steps:"',
                got=tree.shown,
                why="every part of it has a name",
                remedy='start one with "filmwright new" and change it',
                file=file,
                line=tree.line,
            )
        )
    return tree


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


def _tree(node: Any, file: str, problems: Problems) -> Node:
    line, column = node.start_mark.line + 1, node.start_mark.column + 1
    if isinstance(node, MappingNode):
        entries: list[Entry] = []
        for key, value in node.value:
            name = str(key.value) if isinstance(key, ScalarNode) else "?"
            place = key.start_mark
            earlier = next((entry for entry in entries if entry.key == name), None)
            if earlier is not None:
                problems.add(
                    Problem(
                        what=f'the key "{name}"',
                        expected="written once in a block",
                        got=f"a second one (the first is on line {earlier.line})",
                        why="one of the two would be lost",
                        remedy="remove or rename one of them",
                        file=file,
                        line=place.line + 1,
                    )
                )
            entries.append(Entry(name, place.line + 1, place.column + 1, _tree(value, file, problems)))
        return Node("map", line, column, entries=tuple(entries))
    if isinstance(node, SequenceNode):
        return Node("list", line, column, items=tuple(_tree(item, file, problems) for item in node.value))
    if isinstance(node, ScalarNode):
        return Node("text", line, column, text=str(node.value).strip())
    return Node("text", line, column)
