"""What is wrong with a folder of facts: all of it at once, each at its line."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable, Iterator, Mapping
from typing import TypeVar

from filmwright.errors import Problem
from filmwright.knowledge.facts import Absence, Substance
from filmwright.knowledge.shipped import Book, Property
from filmwright.knowledge.types import Hazard, Material, Medium, Method, Resist
from filmwright.sources import Source, Value
from filmwright.units import UnitProblem, read, write

Thing = TypeVar("Thing")
_Told = tuple[str, Problem]
"""The key at which it stands, and the problem."""
_SHIPPED = ("published", "published, read in a transcription", "common practice", "from memory")
_PARTS = {
    "materials": {"values", "vapour", "sputtering", "composition"},
    "media": {"rates"},
    "resists": {"values"},
}
_TABLES: Mapping[str, Callable[[Material], Mapping[str, object]]] = {
    "vapour pressure": lambda material: material.vapour,
    "sputtering coefficients": lambda material: material.sputtering,
}
_FASTEST = "100000 nm/min"
_PHRASE = re.compile(r"(?:H|EUH)\d{3}[A-Za-z]{0,2}")


def problems(book: Book) -> tuple[Problem, ...]:
    """Everything that a fact must be and is not: source, dimension, plausible size, an answer to each question.

    Parameters
    ----------
    book : Book
    """
    unread = tuple(_unread(book))
    return unread or (
        *_group(book, "materials", book.materials, _material),
        *_group(book, "resists", book.resists, _resist),
        *_group(book, "media", book.media, _medium),
        *_group(book, "substances", book.substances, _substance),
        *_group(book, "hazards", book.hazards, _hazard),
        *_group(book, "methods", book.methods, _method),
        *_group(book, "models", book.models, _constants),
        *_group(book, "drift", {"drift": book.drifts}, _constants),
        *_group(book, "maintenance", {"maintenance": book.jumps}, _constants),
        *_group(book, "use", {"use": book.wears}, _constants),
    )


def _unread(book: Book) -> Iterator[Problem]:
    """Files that are read when they are asked for, and cannot be: nothing that names them can be judged before."""
    for what in ("sources", "properties", "substances", "hazards", "models", "drifts", "jumps", "wears"):
        try:
            getattr(book, what)
        except ValueError as trouble:
            yield _unreadable(what, trouble)


def _group(
    book: Book, group: str, things: Mapping[str, Thing], judge: Callable[[Book, Thing], Iterator[_Told]]
) -> Iterator[Problem]:
    yield from _parts(book, group)
    for name, thing in things.items():
        try:
            told = list(judge(book, thing))
        except ValueError as trouble:
            told = [("", _unreadable(name, trouble))]
        yield from (_placed(book, group, name, key, problem) for key, problem in told)


def _placed(book: Book, group: str, name: str, key: str, problem: Problem) -> Problem:
    for file in book.files(group):
        if name in file.entries:
            return problem.at(file.file, file.line(name, key))
    return problem


def _unreadable(name: str, trouble: ValueError) -> Problem:
    return Problem(
        what=f'what is written about "{name}"',
        expected="in the form that docs/adding-facts.md shows",
        got=str(trouble),
        why="a fact that cannot be read is no fact",
        remedy="write it like its neighbours in the file",
    )


def _parts(book: Book, group: str) -> Iterator[Problem]:
    allowed = _PARTS.get(group, set())
    for file in book.files(group):
        lost = [f'a part of "{name}"' for name in file.orphans()]
        strange = [f'a part named "{part}"' for part in sorted(file.parts() - allowed)]
        for each in lost + strange:
            yield Problem(
                what=each,
                expected=f"below a header of its own, and one of {', '.join(sorted(allowed)) or 'none'}",
                got="neither",
                why="nobody would read it",
                remedy="correct the header",
                file=file.file,
            )


def _material(book: Book, material: Material) -> Iterator[_Told]:
    yield from _values(book, material.name, material.values, material.missing)
    yield from _silent(book, material, material.kind)
    sources = [curve.source for curve in material.vapour.values()]
    sources += [fit.source for fit in material.sputtering.values()]
    sources += [part.source for part in material.composition.values()]
    for source in sources:
        yield from _source(material.name, "", source)


def _resist(book: Book, resist: Resist) -> Iterator[_Told]:
    yield from _values(book, resist.name, resist.values, resist.missing)
    yield from _silent(book, resist, "resist")
    yield from _unknown(resist.name, "material", [resist.material], book.materials)
    yield from _unknown(resist.name, "medium", [resist.developer, *resist.strippers], book.media)


def _values(
    book: Book, name: str, values: Mapping[str, Value], missing: Mapping[str, Absence]
) -> Iterator[_Told]:
    yield from _unknown(name, "property", [*values, *missing], book.properties)
    for key, value in values.items():
        yield from _source(name, key, value.source)
        if key in book.properties:
            yield from _size(name, book.properties[key], value)


def _size(name: str, asked: Property, value: Value) -> Iterator[_Told]:
    what = f'the {asked.name} of "{name}"'
    try:
        read(f"1 {value.unit}".strip(), asked.dimension)
    except UnitProblem as trouble:
        yield asked.name, trouble.problem
        return
    if not asked.low <= value.low <= value.high <= asked.high:
        yield (
            asked.name,
            Problem(
                what=what,
                expected=f"from {write(asked.low, value.unit)} to {write(asked.high, value.unit)}",
                got=f"{write(value.low, value.unit)} to {write(value.high, value.unit)}",
                why="nothing that is known lies outside",
                remedy="look for a slipped digit or unit; if it is right, widen the range in properties.toml",
            ),
        )


def _source(name: str, key: str, source: Source) -> Iterator[_Told]:
    if len(source.citation) < 10 or source.kind not in _SHIPPED:
        yield (
            key,
            Problem(
                what=f'the source of {key or "a value"} of "{name}"',
                expected=f"a citation with one of the kinds {', '.join(_SHIPPED)}",
                got=f'"{source.citation}", {source.kind}',
                why="a number that cannot be looked up cannot be corrected",
                remedy="enter the source in sources.toml",
            ),
        )


def _silent(book: Book, thing: Material | Resist, kind: str) -> Iterator[_Told]:
    """Questions that nobody answered: neither with a value nor with one of the two kinds of nothing."""
    for name, asked in book.properties.items():
        if kind not in asked.asked_of or name in thing.values or name in thing.missing:
            continue
        if isinstance(thing, Material) and name in _TABLES and _TABLES[name](thing):
            continue
        yield (
            name,
            Problem(
                what=f'the {name} of "{thing.name}"',
                expected='a value, "does not apply | why" or "not known | why"',
                got="nothing",
                why="a hole that nobody mentions is taken for knowledge",
                remedy=f"add '{name}' = 'not known | not looked up yet' to its values, or the value with its source",
            ),
        )


def _unknown(name: str, kind: str, words: Iterable[str], known: Mapping[str, object]) -> Iterator[_Told]:
    for word in words:
        if word not in known:
            yield (
                word,
                Problem(
                    what=f'a {kind} that "{name}" names',
                    expected=f"a {kind} on file",
                    got=f'"{word}"',
                    why="a name that leads nowhere is a slip of the pen",
                    remedy="correct the name, or enter it first",
                ),
            )


def _medium(book: Book, medium: Medium) -> Iterator[_Told]:
    yield from _unknown(medium.name, "material", [*medium.rates, *medium.dissolves], book.materials)
    yield from _unknown(medium.name, "hazard", [medium.hazard], book.hazards)
    yield from _unknown(medium.name, "substance", [*medium.contains, *medium.gases], book.substances)
    if not medium.contains and not medium.gases:
        yield "", _without_contents(medium.name)
    fastest = read(_FASTEST, "rate").value
    rate_property = Property(name="", dimension="rate", low=0.0, high=fastest, what="")
    energy_property = Property(
        name="", dimension="energy", low=0.0, high=read("3 eV", "energy").value, what=""
    )
    for material, rate in medium.rates.items():
        told: list[_Told] = []
        if rate.source is not None:
            told += _source(medium.name, material, rate.source)
        if rate.value is not None:
            told += _size(f"{material} in {medium.name}", rate_property, rate.value)
        if rate.activation_energy is not None:
            told += _size(f"{material} in {medium.name}", energy_property, rate.activation_energy)
        yield from ((material, problem) for _, problem in told)


def _without_contents(name: str) -> Problem:
    return Problem(
        what=f'what "{name}" is made of',
        expected="substances on file, under contains or gases",
        got="nothing",
        why="classes, limits and alarms are told by substance",
        remedy="list them; enter a new one in substances.toml first",
    )


def _substance(_: Book, substance: Substance) -> Iterator[_Told]:
    wrong = [phrase for phrase in substance.phrases if not _PHRASE.fullmatch(phrase)]
    if not _checksum(substance.registry_number):
        wrong.append(substance.registry_number)
    if substance.state == "gas" and isinstance(substance.alarm, Absence) and "no gas" in substance.alarm.why:
        wrong.append("a gas without a word about its alarm")
    for word in wrong:
        yield (
            "",
            Problem(
                what=f'what is said of "{substance.name}"',
                expected="H-numbers such as H314, a registry number with the right check digit, an alarm for a gas",
                got=word,
                why="people protect themselves by it",
                remedy="look it up again",
            ),
        )
    yield from _source(substance.name, "classified_by", substance.classified_by)
    for key, told in (("limits", substance.limits), ("flammable", substance.flammable)):
        for each in () if isinstance(told, Absence) else told:
            yield from _source(substance.name, key, each.source)
    for key, one in (("alarm", substance.alarm), ("warming", substance.warming)):
        if not isinstance(one, Absence):
            yield from _source(substance.name, key, one.source)


def _hazard(book: Book, hazard: Hazard) -> Iterator[_Told]:
    yield from _unknown(hazard.key, "substance", hazard.substances, book.substances)
    for source in hazard.sources:
        yield from _source(hazard.key, "sources", source)


def _method(book: Book, method: Method) -> Iterator[_Told]:
    yield from _unknown(method.name, "hazard", [method.hazard], book.hazards)
    for key, value in (
        ("side_wall", method.side_wall),
        ("non_uniformity", method.non_uniformity),
        ("temperature", method.temperature),
    ):
        yield from _source(method.name, key, value.source)


def _constants(_: Book, constants: Mapping[str, Value]) -> Iterator[_Told]:
    for name, value in constants.items():
        yield from _source(name, name, value.source)


def _checksum(number: str) -> bool:
    """Whether the last digit of a registry number is the weighted sum of the others, modulo ten."""
    match = re.fullmatch(r"(\d{2,7})-(\d{2})-(\d)", number)
    if match is None:
        return False
    digits = (match[1] + match[2])[::-1]
    return sum(place * int(digit) for place, digit in enumerate(digits, 1)) % 10 == int(match[3])
