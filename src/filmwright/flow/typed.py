"""Where in a plan text something is being typed: read line by line, because a text is seldom complete while it is written."""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field

ITEM = "-"
"""In a path: an item of a list."""

_KEY = re.compile(r"""^(?P<key>"[^"]*"|'[^']*'|[^:#{}\[\],]+?)\s*:(?:\s+(?P<value>.*))?$""")
_DASHES = re.compile(r"^(?:-\s+)+|^-$")
_OPENERS = {"{": "}", "[": "]"}


@dataclass(frozen=True, kw_only=True)
class Line:
    """One line of a text: where its first key or word stands, whether it begins an item, and what is written.

    Attributes
    ----------
    indent : int
        Columns before the key or word, those of dashes included.
    dash : int
        Columns before the first dash; −1 where there is none.
    key, value : str
        Empty where there is none.
    """

    indent: int
    dash: int
    key: str
    value: str


@dataclass(frozen=True, kw_only=True)
class Typed:
    """What is being typed, and where.

    Attributes
    ----------
    path : tuple of str
        Keys of the blocks around it, outermost first; an item of a list is ``-``.
    key : str
        Whose value is being typed; empty where a key is.
    word : str
        What stands of it before the cursor.
    start : int
        Column at which it begins, counted from 1.
    beside : mapping from key to value
        What stands in the same block, the line itself not among it.
    item : bool
        Whether it begins an item of a list.
    """

    path: tuple[str, ...]
    key: str
    word: str
    start: int
    beside: Mapping[str, str] = field(default_factory=dict)
    item: bool = False


def typed_at(text: str, line: int, column: int) -> Typed | None:
    """What is being typed at a place; None within a comment or beyond the text.

    Parameters
    ----------
    text : str
    line, column : int
        Counted from 1; the column is that of the cursor, so 1 is before the first letter.
    """
    lines = text.splitlines() or [""]
    if text.endswith("\n"):
        lines.append("")
    if not 1 <= line <= len(lines) or not 1 <= column <= len(lines[line - 1]) + 1:
        return None
    before = lines[line - 1][: column - 1]
    if _in_comment(before):
        return None
    own = _line(before)
    read = [None if _blank(each) else _line(each) for each in lines]
    path, beside = _around(read, line - 1, own)
    opened = _open_bracket(before)
    if opened >= 0:
        return _within_brackets(before, opened, own, path)
    start = own.indent + 1
    if own.key:
        word = before[before.index(":", own.indent) + 1 :].lstrip()
        return Typed(
            path=path, key=own.key, word=word, start=column - len(word), beside=beside, item=own.dash >= 0
        )
    if before[own.indent :].rstrip().endswith(":"):
        key = before[own.indent :].rstrip()[:-1].strip()
        return Typed(path=path, key=key, word="", start=column, beside=beside, item=own.dash >= 0)
    return Typed(path=path, key="", word=before[own.indent :], start=start, beside=beside, item=own.dash >= 0)


def keys_under(text: str, *path: str) -> tuple[str, ...]:
    """The keys of a block by its path, as far as they can be told of a text that is not complete."""
    read = [None if _blank(each) else _line(each) for each in text.splitlines()]
    indent, place = -1, 0
    for name in path:
        found = next(
            (
                k
                for k in range(place, len(read))
                if (each := read[k]) is not None and each.key == name and each.indent > indent
            ),
            None,
        )
        if found is None:
            return ()
        at = read[found]
        assert at is not None
        indent, place = at.indent, found + 1
    keys, inner = [], None
    for each in read[place:]:
        if each is None:
            continue
        if each.indent <= indent:
            break
        inner = each.indent if inner is None else inner
        if each.key and each.indent == inner:
            keys.append(each.key)
    return tuple(keys)


def _blank(text: str) -> bool:
    return not text.strip() or text.lstrip().startswith("#")


def _in_comment(before: str) -> bool:
    return before.lstrip().startswith("#") or " #" in before


def _line(text: str) -> Line:
    spaces = len(text) - len(text.lstrip(" "))
    rest = text[spaces:]
    dashes = _DASHES.match(rest)
    indent = spaces + (len(dashes[0]) if dashes else 0)
    if dashes and not text[indent:].strip() and rest.rstrip() == "-":
        indent = spaces + 2
    found = _KEY.match(text[indent:].rstrip())
    return Line(
        indent=indent,
        dash=spaces if dashes else -1,
        key=found["key"].strip("\"' ") if found else "",
        value=(found["value"] or "").split(" #")[0].strip() if found else "",
    )


def _around(read: Sequence[Line | None], at: int, own: Line) -> tuple[tuple[str, ...], dict[str, str]]:
    """The path of the blocks around a line, and the keys beside it."""
    path: list[str] = []
    beside: dict[str, str] = {}
    listed = own.dash >= 0
    sought = own.dash if listed else own.indent
    if listed:
        path.append(ITEM)
    for each in _upwards(read, at):
        if listed:
            owns = each.key and each.dash < sought and each.indent <= sought
        else:
            owns = each.key and each.indent < sought
            if each.indent == sought and not path and each.key:
                beside.setdefault(each.key, each.value)
        if owns:
            path.append(each.key)
        if owns or (not listed and each.indent == sought and each.dash >= 0):
            listed = each.dash >= 0
            sought = each.dash if listed else each.indent
            if listed:
                path.append(ITEM)
    beside.update(_downwards(read, at, own.indent, own.dash))
    return tuple(reversed(path)), beside


def _upwards(read: Sequence[Line | None], at: int) -> Iterator[Line]:
    return (each for each in reversed(read[:at]) if each is not None)


def _downwards(read: Sequence[Line | None], at: int, indent: int, inside: int) -> dict[str, str]:
    """The keys of the same block below a line."""
    found: dict[str, str] = {}
    for each in read[at + 1 :]:
        if each is None:
            continue
        if each.indent < indent or (each.dash >= 0 and (each.indent == indent or each.dash <= inside)):
            break
        if each.indent == indent and each.key:
            found.setdefault(each.key, each.value)
    return found


def _open_bracket(before: str) -> int:
    """Where the innermost bracket begins that is open at the end; −1 where none is."""
    stack: list[int] = []
    quote = ""
    for place, letter in enumerate(before):
        if quote:
            quote = "" if letter == quote else quote
        elif letter in "\"'":
            quote = letter
        elif letter in _OPENERS:
            stack.append(place)
        elif letter in _OPENERS.values() and stack:
            stack.pop()
    return stack[-1] if stack else -1


def _within_brackets(before: str, opened: int, own: Line, path: tuple[str, ...]) -> Typed:
    """Within braces a block, within square brackets a list, on one line."""
    inner = before[opened + 1 :]
    pieces = _pieces(inner)
    last = pieces[-1]
    word = last.lstrip()
    whole = path
    outer = before[:opened].rstrip()
    if outer.endswith(":"):
        name = re.split(r"[{\[,]", outer[own.indent : -1])[-1].strip().removeprefix("- ").strip("\"' ")
        whole = (*path, name)
    column = len(before) + 1 - len(word)
    if before[opened] == "[":
        return Typed(path=whole[:-1], key=whole[-1] if whole else "", word=word, start=column)
    beside = {}
    for each in pieces[:-1]:
        key, colon, value = each.partition(":")
        if colon:
            beside[key.strip("\"' ")] = value.strip()
    key, colon, value = last.partition(":")
    if colon:
        typed = value.lstrip()
        return Typed(
            path=whole, key=key.strip("\"' "), word=typed, start=len(before) + 1 - len(typed), beside=beside
        )
    return Typed(path=whole, key="", word=word, start=column, beside=beside)


def _pieces(text: str) -> list[str]:
    """Split at the commas that stand in no further bracket."""
    found, depth = [""], 0
    for letter in text:
        depth += letter in _OPENERS
        depth -= letter in _OPENERS.values()
        if letter == "," and depth == 0:
            found.append("")
        else:
            found[-1] += letter
    return found
