"""The site's own admission rules: axes with their classes of wafers, and what each tool says of them."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping

from filmwright.errors import nearest
from filmwright.flow.fields import Block, Reading
from filmwright.flow.grammar import ADMISSION_CLASS
from filmwright.flow.text import Entry, Node
from filmwright.knowledge import FAMILY_AXIS, AdmissionClass, UnknownName, book

Axes = Mapping[str, tuple[AdmissionClass, ...]]


def read_axes(node: Node | None, reading: Reading) -> dict[str, tuple[AdmissionClass, ...]]:
    """The axes of a lab file, each with its classes in the order of the text."""
    axes: dict[str, tuple[AdmissionClass, ...]] = {}
    for entry in _entries(node, "the admission rules", "write metals: {gold: {families: [gold]}}", reading):
        if entry.key == FAMILY_AXIS:
            reading.refuse(
                "the name of an axis",
                "one of your own",
                f'"{FAMILY_AXIS}"',
                'it is what "refuses:" speaks of',
                "choose another name",
                entry.line,
            )
            continue
        remedy = f"write {entry.key}: {{none: {{otherwise: yes}}, …}}"
        classes = tuple(
            _class(each.value, entry.key, each.key, reading)
            for each in _entries(entry.value, f'the axis "{entry.key}"', remedy, reading)
        )
        _one_for_the_rest(classes, reading)
        axes[entry.key] = classes
    return axes


def _entries(node: Node | None, what: str, remedy: str, reading: Reading) -> tuple[Entry, ...]:
    if node is None:
        return ()
    if node.kind != "map" or not node.entries:
        got = node.shown if node.kind != "map" else "an empty one"
        reading.refuse(what, "a block with names", got, "each is found by its name", remedy, node.line)
        return ()
    return node.entries


def _class(node: Node, axis: str, name: str, reading: Reading) -> AdmissionClass:
    block = Block(reading, node, ADMISSION_CLASS, f'the class "{name}" of {axis}')
    facts = book()
    families = {family for material in facts.materials.values() for family in material.families} | {"organic"}
    found = AdmissionClass(
        axis=axis,
        name=name,
        materials=frozenset(_known(block, "materials", lambda word: facts.material(word).name)),
        families=frozenset(_known(block, "families", _one_of(families))),
        baths=frozenset(_baths(block, "baths")),
        cleared_by=frozenset(_baths(block, "cleared by")),
        also_covered=block.flag("also covered", False),
        otherwise=block.flag("otherwise", False),
        line=node.line,
    )
    if found.otherwise and len(block.found) > 1:
        reading.refuse(
            block.what("otherwise"),
            "the only key of its class",
            "also " + ", ".join(key for key in block.found if key != "otherwise"),
            "it is the class of what is in no other",
            "take the other keys away, or the word otherwise",
            block.line("otherwise"),
        )
    return found


def _one_for_the_rest(classes: tuple[AdmissionClass, ...], reading: Reading) -> None:
    for more in [each for each in classes if each.otherwise][1:]:
        reading.refuse(
            f'the class "{more.name}" of {more.axis}',
            "the only one with otherwise: yes",
            "a second one",
            "a wafer that is in no other class can be in one of them only",
            "say of one of them what puts a wafer into it",
            more.line,
        )


def _one_of(words: Iterable[str]) -> Callable[[str], str]:
    known = frozenset(words)

    def resolve(word: str) -> str:
        if word not in known:
            raise UnknownName(word, "family", nearest(word, known))
        return word

    return resolve


def _known(block: Block, key: str, resolve: Callable[[str], str]) -> Iterator[str]:
    """Names of a list, resolved; each that is not known is a problem."""
    for word in block.texts(key):
        node = Node("text", block.line(key), 1, text=word)
        name = block.reading.name(resolve, node, f"{word} in {block.what(key)}")
        if name:
            yield name


def _baths(block: Block, key: str) -> Iterator[str]:
    """Names of media; a family stands for all that are of it."""
    media = book().media.values()
    families = {family for medium in media for family in medium.families}
    for word in block.texts(key):
        if word in families:
            yield from (medium.name for medium in media if word in medium.families)
            continue
        node = Node("text", block.line(key), 1, text=word)
        name = block.reading.name(lambda each: book().medium(each).name, node, f"{word} in {block.what(key)}")
        if name:
            yield name


def admits_of(block: Block, axes: Axes) -> dict[str, frozenset[str]]:
    """Axis → classes that a tool admits."""
    found = {}
    for axis, node, of in _of_axes(block, "admits", axes):
        words = node.items if node.kind == "list" else (node,)
        named = [each.text for each in words if _is_class(block, "admits", axis, each, of)]
        found[axis] = frozenset(named)
    return found


def leaves_of(block: Block, axes: Axes) -> dict[str, str]:
    """Axis → class that a wafer is in after it was in a tool."""
    return {
        axis: node.text
        for axis, node, of in _of_axes(block, "leaves", axes)
        if _is_class(block, "leaves", axis, node, of)
    }


def _of_axes(block: Block, key: str, axes: Axes) -> Iterator[tuple[str, Node, tuple[AdmissionClass, ...]]]:
    node = block.found.get(key)
    for entry in _entries(node, block.what(key), "write admits: {metals: [none]}", block.reading):
        if entry.key not in axes:
            block.reading.refuse(
                f'the axis "{entry.key}" in {block.what(key)}',
                "an axis of the admission rules",
                f'"{entry.key}"',
                "what is written of an unknown axis would keep nobody out",
                nearest(entry.key, axes) if axes else 'define it under "admission:"',
                entry.line,
            )
            continue
        yield entry.key, entry.value, axes[entry.key]


def _is_class(block: Block, key: str, axis: str, node: Node, of: tuple[AdmissionClass, ...]) -> bool:
    names = [each.name for each in of]
    if node.kind == "text" and node.text in names:
        return True
    block.reading.refuse(
        f"a class of {axis} in {block.what(key)}",
        "one of " + ", ".join(names),
        node.shown,
        "no wafer is ever in another class",
        nearest(node.text, names) if node.text else f"write one of its names, such as {names[0]}",
        node.line,
    )
    return False


def refused_families(
    refuses: Mapping[str, frozenset[str]], lines: Mapping[str, int]
) -> tuple[tuple[AdmissionClass, ...], dict[str, frozenset[str]]]:
    """``refuses:`` of all tools as one axis: its classes, and what each tool admits of them.

    Parameters
    ----------
    refuses : mapping from tool to frozenset of str
        Families; only tools that refuse some.
    lines : mapping from tool to int
        Line of the tool.
    """
    first: dict[str, int] = {}
    for tool, families in refuses.items():
        for family in sorted(families):
            first.setdefault(family, lines[tool])
    classes = tuple(
        AdmissionClass(axis=FAMILY_AXIS, name=family, families=frozenset({family}), line=line)
        for family, line in first.items()
    )
    return classes, {tool: frozenset(first) - families for tool, families in refuses.items()}
