"""Reading rules: what a person corrected once about tables of one shape, kept under a name.

A file of rules is TOML. Each rule has its name as heading::

    ["probe A, transfer"]
    shape = "3f9a1c07d2be"
    decimal = "comma"
    file-name = "{device}_vd{drain-voltage:V}"
    columns."I2" = "gate current, nA"
    columns."Remark" = "ignore"
"""

from __future__ import annotations

import functools
import re
import tomllib
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from pathlib import Path
from typing import Any

from filmwright.errors import BadInput, Problem, Problems, nearest
from filmwright.measure.columns import Column, read_name
from filmwright.measure.file_names import read_pattern
from filmwright.measure.headers import Meaning
from filmwright.measure.meanings import column_of, misread
from filmwright.measure.text import DECIMALS, SEPARATORS, Layout

KEYS = ("shape", "columns", "names", "separator", "decimal", "encoding", "skip", "file-name")
Place = Callable[[str], tuple[str, int | None]]
Bad = Callable[[str, str, str, object, str], None]
_WHY = "a rule that is half understood would change numbers in silence"


@dataclass(frozen=True, kw_only=True)
class Rule:
    """How tables of one shape are read.

    Attributes
    ----------
    name : str
    shape : str
        Digest of the line of names, as ``--explain`` tells it.
    columns : tuple of (name, meaning)
        E.g. ``("I2", "gate current, nA")``.
    names : tuple of str
        Meanings of the columns of a table without names, in their order.
    layout : Layout
        Encoding, separator and decimal sign; what is empty is found out.
    skip : int
        Lines at the top that are not looked at.
    file_name : str
        Pattern of the file's name.
    """

    name: str
    shape: str = ""
    columns: tuple[tuple[str, str], ...] = ()
    names: tuple[str, ...] = ()
    layout: Layout = field(default_factory=Layout)
    skip: int = 0
    file_name: str = ""


@functools.lru_cache(maxsize=256)
def meaning_of(rule: Rule) -> Meaning:
    """From a name to its column as the rule has it."""
    told = {_bare(name): text for name, text in rule.columns}

    @functools.lru_cache(maxsize=4096)
    def meaning(name: str) -> Column:
        text = told.get(_bare(name), name if name in rule.names else None)
        if text is None:
            return read_name(name)
        return replace(column_of(text), name=name.strip())

    return meaning


def with_corrections(rule: Rule, corrections: Sequence[str]) -> Rule:
    """The rule with corrections such as ``I2 = gate current, nA`` or ``decimal = comma``.

    Parameters
    ----------
    rule : Rule
    corrections : sequence of str

    Returns
    -------
    Rule

    Raises
    ------
    BadInput
        Naming each correction that is not understood.
    """
    problems = Problems()
    found: dict[str, Any] = {"columns": {}}
    for text in corrections:
        key, sign, value = (part.strip() for part in text.partition("="))
        if not sign or not key or not value:
            problems.add(
                _problem("the correction", "NAME = MEANING", f'"{text}"', 'write "I2 = gate current, nA"')
            )
        elif key in KEYS and key not in ("columns", "shape"):
            found[key] = [each.strip() for each in value.split(";")] if key == "names" else value
            if key == "skip" and value.isdigit():
                found[key] = int(value)
        else:
            found["columns"][key] = value
    read = _rule(rule.name, found, problems, lambda _key: ("", None))
    problems.raise_any()
    kept = dict(rule.columns) | dict(read.columns)
    layout = Layout(
        encoding=read.layout.encoding or rule.layout.encoding,
        separator=read.layout.separator or rule.layout.separator,
        decimal=read.layout.decimal or rule.layout.decimal,
    )
    return replace(
        rule,
        columns=tuple(kept.items()),
        names=read.names or rule.names,
        layout=layout,
        skip=read.skip or rule.skip,
        file_name=read.file_name or rule.file_name,
    )


def read_rules(path: str | Path) -> tuple[Rule, ...]:
    """The reading rules of a file.

    Parameters
    ----------
    path : str or Path

    Raises
    ------
    BadInput
        With the line of everything that is wrong.
    """
    try:
        text = Path(path).read_text("utf-8")
    except (OSError, UnicodeDecodeError) as trouble:
        said = getattr(trouble, "strerror", None) or "a text that is not UTF-8"
        raise BadInput(
            _problem("the reading rules", "a file that can be read", said, "check the path").at(str(path))
        ) from None
    return rules_from_text(text, str(path))


def rules_from_text(text: str, file: str) -> tuple[Rule, ...]:
    """The reading rules of a text; ``file`` is what problems name."""
    try:
        found = tomllib.loads(text)
    except tomllib.TOMLDecodeError as trouble:
        said = str(trouble)
        line = re.search(r"at line (\d+)", said)
        problem = _problem(
            "the reading rules",
            "TOML",
            re.sub(r" \(at .*", "", said),
            'write keys as in columns."I2" = "gate current, nA"',
        )
        raise BadInput(problem.at(file, int(line[1]) if line else None)) from None
    problems = Problems()
    rules = []
    for name, body in found.items():
        if not isinstance(body, dict):
            remedy = 'put it below a heading ["name of the rule"]'
            problems.add(
                _problem(f'"{name}"', "part of a rule", "a key outside every rule", remedy).at(
                    file, _line(text, "", name)
                )
            )
            continue
        rule = _rule(name, body, problems, functools.partial(_place, text, file, name))
        if not rule.shape:
            remedy = "copy it from filmwright extract FILE --explain"
            problems.add(
                _problem(f'the shape of rule "{name}"', "twelve characters", "nothing", remedy).at(
                    file, _line(text, name, "")
                )
            )
        rules.append(rule)
    shapes = [rule.shape for rule in rules if rule.shape]
    for rule in rules:
        if shapes.count(rule.shape) > 1:
            got = f'"{rule.shape}" at two rules'
            problems.add(
                _problem(
                    f'the shape of rule "{rule.name}"', "that of one rule alone", got, "delete one of them"
                ).at(file, _line(text, rule.name, "shape"))
            )
    problems.raise_any()
    return tuple(rules)


def rule_text(rule: Rule) -> str:
    """The rule as it stands in a file of rules.

    Parameters
    ----------
    rule : Rule

    Returns
    -------
    str
    """
    separators = {sign: name for name, sign in SEPARATORS.items()}
    decimals = {sign: name for name, sign in DECIMALS.items()}
    lines = [f"[{_quoted(rule.name)}]", f"shape = {_quoted(rule.shape)}"]
    lines += [f"skip = {rule.skip}"] if rule.skip else []
    lines += [f"encoding = {_quoted(rule.layout.encoding)}"] if rule.layout.encoding else []
    lines += [f"separator = {_quoted(separators[rule.layout.separator])}"] if rule.layout.separator else []
    lines += [f"decimal = {_quoted(decimals[rule.layout.decimal])}"] if rule.layout.decimal else []
    lines += [f"names = [{', '.join(map(_quoted, rule.names))}]"] if rule.names else []
    lines += [f"file-name = {_quoted(rule.file_name)}"] if rule.file_name else []
    lines += [f"columns.{_quoted(name)} = {_quoted(meaning)}" for name, meaning in rule.columns]
    return "\n".join(lines) + "\n"


def _quoted(text: str) -> str:
    escaped = text.replace("\\", "\\\\").replace('"', '\\"')
    return '"' + "".join(each if each >= " " else f"\\u{ord(each):04x}" for each in escaped) + '"'


def _bare(name: str) -> str:
    return re.sub(r"\s+", " ", name.strip().strip("\"'#%").strip()).casefold()


def _line(text: str, rule: str, key: str) -> int | None:
    """Where a key of a rule stands; its heading when the key is not found."""
    inside, heading = not rule, None
    for number, line in enumerate(text.splitlines(), 1):
        bare = line.strip()
        if bare.startswith("["):
            inside = bare.strip("[] ").strip("\"'").split('".')[0] == rule or not rule
            heading = number if inside and rule and heading is None else heading
        elif inside and key and re.match(rf"(?:columns\s*\.\s*)?[\"']?{re.escape(key)}[\"']?\s*[=.]", bare):
            return number
    return heading


def _place(text: str, file: str, rule: str, key: str) -> tuple[str, int | None]:
    return file, _line(text, rule, key)


def _problem(what: str, expected: str, got: str, remedy: str) -> Problem:
    return Problem(what=what, expected=expected, got=got, why=_WHY, remedy=remedy)


def _rule(name: str, body: Mapping[str, Any], problems: Problems, place: Place) -> Rule:
    """A rule from its keys; what is wrong with them goes to ``problems`` with its line."""

    def bad(key: str, what: str, expected: str, got: object, remedy: str) -> None:
        problems.add(_problem(f'{what} of rule "{name}"', expected, f'"{got}"', remedy).at(*place(key)))

    for key in body:
        if key not in KEYS:
            bad(key, "a key", "one of " + ", ".join(KEYS), key, nearest(key, KEYS))
    columns, names = _meanings(body, bad)
    skip = body.get("skip", 0)
    if not isinstance(skip, int) or skip < 0:
        bad("skip", "the lines skipped", "a whole number", skip, "write skip = 12")
        skip = 0
    pattern = str(body.get("file-name", ""))
    try:
        read_pattern(pattern) if pattern else None
    except BadInput as trouble:
        for each in trouble.problems:
            problems.add(each.at(*place("file-name")))
    return Rule(
        name=name,
        shape=str(body.get("shape", "")),
        columns=columns,
        names=names,
        layout=_layout(body, bad),
        skip=skip,
        file_name=pattern,
    )


def _meanings(body: Mapping[str, Any], bad: Bad) -> tuple[tuple[tuple[str, str], ...], tuple[str, ...]]:
    columns, names = body.get("columns", {}), body.get("names", [])
    if not isinstance(columns, dict) or not isinstance(names, list):
        bad("names", "columns and names", "meanings", names, 'write names = ["gate voltage, V"]')
        return (), ()
    for key, text in [*columns.items(), *(("names", text) for text in names)]:
        if why := misread(str(text)):
            bad(key, f'the meaning of "{key}"', why[0], text, why[1])
    return tuple((key, str(text)) for key, text in columns.items()), tuple(map(str, names))


def _layout(body: Mapping[str, Any], bad: Bad) -> Layout:
    texts = {key: str(body.get(key, "")) for key in ("separator", "decimal", "encoding")}
    for key, valid in (("separator", SEPARATORS), ("decimal", DECIMALS)):
        if texts[key] and texts[key] not in valid:
            bad(key, f"the {key}", "one of " + ", ".join(valid), texts[key], nearest(texts[key], valid))
    if texts["encoding"] and not _encoding(texts["encoding"]):
        bad("encoding", "the encoding", "one of text", texts["encoding"], "write utf-8, utf-16 or cp1252")
    return Layout(
        encoding=texts["encoding"],
        separator=SEPARATORS.get(texts["separator"], ""),
        decimal=DECIMALS.get(texts["decimal"], ""),
    )


def _encoding(name: str) -> bool:
    try:
        "".encode(name)
    except LookupError:
        return False
    return True
