"""The block ``geometry:`` of a tool of the lab file."""

from __future__ import annotations

from collections.abc import Mapping
from typing import get_args

from filmwright.errors import nearest
from filmwright.flow.fields import Block, Reading
from filmwright.flow.grammar import GEOMETRY, GUN, POCKET, Key
from filmwright.flow.text import Node
from filmwright.knowledge import Geometry, Motion, SourceKind, SourcePlace, book
from filmwright.sources import Source, Value
from filmwright.units import to_si

_MOTIONS: tuple[Motion, ...] = get_args(Motion)
_STEEPEST = to_si(80, "deg")
"""A source or wafer that leans farther sees its counterpart no more."""


def geometry_of(node: Node | None, tool: str, reading: Reading, invented: bool) -> Geometry | None:
    """The geometry of a tool; None where the lab says nothing of it."""
    if node is None:
        return None
    where = f'the geometry of the tool "{tool}"'
    block = Block(reading, node, GEOMETRY, where)
    said = block.text("stage")
    stage = next((each for each in _MOTIONS if each == said), None)
    if said and stage is None:
        reading.refuse(
            block.what("stage"),
            " or ".join(_MOTIONS),
            f'"{said}"',
            "the film over the wafer depends on how it moves",
            nearest(said, _MOTIONS),
            block.line("stage"),
        )
    places = {
        **_places(block, "pockets", POCKET, "pocket", tool, invented),
        **_places(block, "guns", GUN, "gun", tool, invented),
    }
    if stage == "planetary" and not block.has("wafer offset"):
        reading.refuse(
            where,
            "a planetary stage with its wafer offset",
            "none",
            "how far a wafer goes round the axis decides its film",
            "add wafer offset: 300 mm",
            block.line("stage"),
        )
    return Geometry(
        stage=stage or "",
        values=_values(block, GEOMETRY, tool, invented),
        places=places,
        line=node.line,
    )


def _places(
    block: Block, key: str, grammar: Mapping[str, Key], kind: SourceKind, tool: str, invented: bool
) -> dict[str, SourcePlace]:
    node, reading = block.found.get(key), block.reading
    if node is None:
        return {}
    if node.kind != "map":
        reading.refuse(
            block.what(key),
            "a block with names",
            node.shown,
            f"each {kind} is found by its name",
            f"write {key}: {{{kind} 1: {{offset: 20 mm}}}}",
            node.line,
        )
        return {}
    found = {}
    for entry in node:
        inner = Block(reading, entry.value, grammar, f'the {kind} "{entry.key}" of the tool "{tool}"')
        holds = inner.found.get("holds")
        found[entry.key] = SourcePlace(
            name=entry.key,
            kind=kind,
            holds=reading.name(lambda name: book().material(name).name, holds, inner.what("holds"))
            if holds
            else "",
            values=_values(inner, grammar, tool, invented),
            line=entry.line,
        )
    return found


def _values(block: Block, grammar: Mapping[str, Key], tool: str, invented: bool) -> dict[str, Value]:
    """Every quantity of a block; ± is one standard deviation, as everywhere in a lab file."""
    found = {}
    for key, rule in grammar.items():
        given = block.quantity(key) if rule.takes == "quantity" else None
        if given is None:
            continue
        steepest = _STEEPEST if key == "tilt" else None
        if given.value < 0 or (steepest is not None and given.value > steepest):
            block.reading.refuse(
                block.what(key),
                "from 0 to 80 °" if steepest else "zero or more",
                f'"{block.text(key)}"',
                "it is a distance, an angle or an amount",
                "look for a slip of sign or unit",
                block.line(key),
            )
            continue
        if key == "eroded ring" and given.value > 1:
            block.reading.refuse(
                block.what(key),
                "a part of the target's diameter, up to 100 %",
                f'"{block.text(key)}"',
                "the ring lies on the target",
                "write its diameter over that of the target, such as 60 %",
                block.line(key),
            )
            continue
        spread = given.spread or 0.0
        found[key] = Value(
            value=given.value,
            low=given.value - 2 * spread,
            high=given.value + 2 * spread,
            unit=given.unit,
            source=Source(
                citation=f"geometry of {tool}",
                kind="invented" if invented else "lab",
                where=f"lab file line {block.line(key)}",
            ),
        )
    return found
