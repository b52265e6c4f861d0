"""The sources of a film that comes from several targets at once, and the composition that is wanted of it."""

from __future__ import annotations

from collections.abc import Iterator
from typing import get_args

from filmwright.errors import nearest
from filmwright.flow.fields import Block, Reading, quantity
from filmwright.flow.grammar import SOURCE
from filmwright.flow.text import Node
from filmwright.flow.types import DischargeMode, SourceAsked
from filmwright.knowledge import Lab, atoms_of, book

MOST = 4
"""Sources that one film may come from."""

_MODES: tuple[DischargeMode, ...] = get_args(DischargeMode)


def sources_of(block: Block, method: str, tool: str, lab: Lab) -> tuple[SourceAsked, ...]:
    """The sources of a deposition, in order; empty where it has one target, that of its film."""
    node = block.found.get("sources")
    if node is None:
        if block.has("composition"):
            _refuse(
                block,
                "composition",
                "sources: beside it",
                "none",
                "it comes from several targets at once",
                "add sources: [{target: indium oxide}, {target: zinc oxide}]",
            )
        return ()
    if node.kind != "list" or not 1 <= len(node.items) <= MOST:
        _refuse(
            block,
            "sources",
            f"a list of one to {MOST}",
            node.shown if node.kind != "list" else str(len(node.items)),
            "each is one target with its power",
            "begin each with a dash: - {target: zinc oxide, power: 80 W}",
        )
        return ()
    if method and "argon" not in book().method(method).families:
        _refuse(
            block,
            "sources",
            "a sputter method",
            f'"{method}"',
            "sources are targets that burn side by side",
            "write method: radio-frequency sputtering, or make a film from each",
        )
    if block.has("power"):
        _refuse(
            block,
            "power",
            "given for each source",
            "one for all",
            "each has its own",
            "move it into the sources",
        )
    guns = _guns(tool, lab)
    found = tuple(filter(None, (_source(item, guns, block.reading) for item in node.items)))
    _twice(found, block)
    return found


def _source(node: Node, guns: tuple[str, ...], reading: Reading) -> SourceAsked | None:
    block = Block(reading, node, SOURCE, "a source of the film")
    if "target" not in block.found:
        return None
    target = reading.name(
        lambda name: book().material(name).name, block.found["target"], block.what("target")
    )
    gun, said = block.text("gun"), block.text("mode")
    if gun and gun not in guns:
        _refuse(
            block,
            "gun",
            "a gun of the tool",
            f'"{gun}"',
            "its place decides what arrives",
            nearest(gun, guns) if guns else "write guns: under geometry: of the tool",
        )
    mode = next((each for each in _MODES if each == said), None)
    if said and mode is None:
        _refuse(
            block, "mode", " or ".join(_MODES), f'"{said}"', "the rate depends on it", nearest(said, _MODES)
        )
    return SourceAsked(target=target, power=block.quantity("power"), mode=mode or "", gun=gun, line=node.line)


def _twice(found: tuple[SourceAsked, ...], block: Block) -> None:
    for key in ("target", "gun"):
        names = [name for each in found if (name := getattr(each, key))]
        for name in sorted({name for name in names if names.count(name) > 1}):
            _refuse(
                block,
                "sources",
                f"each {key} once",
                f'"{name}" twice',
                "two sources would be one",
                "give it the power of both, or name the other",
            )


def _guns(tool: str, lab: Lab) -> tuple[str, ...]:
    known = lab.tools.get(tool)
    geometry = known.geometry if known is not None else None
    return tuple(each.name for each in geometry.places.values() if each.kind == "gun") if geometry else ()


def composition_of(block: Block, sources: tuple[SourceAsked, ...]) -> dict[str, float]:
    """Parts of the metals that are wanted, adding up to 1; empty where none are."""
    node = block.found.get("composition")
    if node is None or not sources:
        return {}
    if node.kind != "map":
        _refuse(
            block,
            "composition",
            "parts of the metals by number",
            node.shown,
            "each is found by its sign",
            "write composition: {In: 1, Ga: 1, Zn: 1}",
        )
        return {}
    given = {element for each in sources if each.target for element in atoms_of(book().material(each.target))}
    parts = dict(_parts(node, given, block.reading))
    whole = sum(parts.values())
    if len(parts) == len(node.entries) and given - set(parts):
        _refuse(
            block,
            "composition",
            "a part for every metal of the sources",
            f"nothing for {', '.join(sorted(given - set(parts)))}",
            "all parts together are the film",
            "add it, or leave its source out",
        )
    return {element: part / whole for element, part in parts.items()} if whole else {}


def _parts(node: Node, given: set[str], reading: Reading) -> Iterator[tuple[str, float]]:
    for entry in node:
        if entry.key not in given:
            reading.refuse(
                f'the part of "{entry.key}" in the composition',
                "a metal of one of the sources, by its sign",
                f'"{entry.key}"',
                "it must come from somewhere",
                nearest(entry.key, sorted(given)) if given else "name targets whose formula is on file",
                entry.line,
            )
            continue
        dimension = "fraction" if "%" in entry.value.text else "number"
        found = quantity(reading, entry.value, dimension, f'the part of "{entry.key}" in the composition')
        if found is not None:
            yield entry.key, found.value


def _refuse(block: Block, key: str, expected: str, got: str, why: str, remedy: str) -> None:
    block.reading.refuse(block.what(key), expected, got, why, remedy, block.line(key))
