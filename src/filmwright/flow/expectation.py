"""The ``expect`` block: what its maker wants to find at the end."""

from __future__ import annotations

from filmwright.flow.fields import Block, Reading, quantity
from filmwright.flow.grammar import DEVICES, EXPECT
from filmwright.flow.text import Node
from filmwright.flow.types import Expectation, ExpectedDevices, ExpectedFilm
from filmwright.knowledge import book

_TERMINALS = ("gate", "source", "drain", "top", "bottom")


def _material(name: str) -> str:
    return book().material(name).name


def read_expectation(node: Node | None, reading: Reading) -> Expectation | None:
    """Read the block; None when the plan has none."""
    if node is None:
        return None
    block = Block(reading, node, EXPECT, "expect")
    voltage = block.quantity("probe voltage")
    return Expectation(
        devices=tuple(
            _devices(kind, block.found[kind], reading)
            for kind in ("transistors", "capacitors")
            if block.has(kind)
        ),
        keep=_keep(block, reading),
        present=_present(block, reading),
        apart=_pairs(block, "apart", reading),
        joined=_pairs(block, "joined", reading),
        probe_voltage=voltage.value if voltage else None,
        line=node.line,
        lines={entry.key: entry.line for entry in node},
    )


def _devices(kind: str, node: Node, reading: Reading) -> ExpectedDevices:
    block = Block(reading, node, DEVICES, f"{kind} of expect")
    terminals = {role: block.text(role) for role in _TERMINALS if block.has(role)}
    return ExpectedDevices(kind=kind, count=block.count("count"), terminals=terminals, line=node.line)


def _keep(block: Block, reading: Reading) -> tuple[ExpectedFilm, ...]:
    node = block.found.get("keep")
    if node is None:
        return ()
    if node.kind != "map":
        reading.refuse(
            "keep of expect",
            "films with a fraction",
            node.shown,
            "each film has its own limit",
            "write aluminium oxide: 95 %",
            node.line,
        )
        return ()
    kept = []
    for entry in node:
        # The key is the name here, so its own place is the one to report.
        name = reading.name(
            _material, Node("text", entry.line, entry.column, text=entry.key), "a film to keep"
        )
        fraction = quantity(reading, entry.value, "fraction", f"the part of {entry.key} that must be left")
        if fraction is not None and fraction.value > 1:
            reading.refuse(
                f"the part of {entry.key} that must be left",
                "at most 100 %",
                f'"{entry.value.text}"',
                "a film does not grow by being kept",
                "write a part of its thickness, like 95 %",
                entry.line,
            )
        elif name and fraction is not None:
            kept.append(ExpectedFilm(material=name, fraction=fraction.value, line=entry.line))
    return tuple(kept)


def _present(block: Block, reading: Reading) -> tuple[str, ...]:
    found = []
    for text in block.texts("present"):
        name = reading.name(
            _material, Node("text", block.line("present"), 1, text=text), "a material that must be present"
        )
        if name:
            found.append(name)
    return tuple(found)


def _pairs(block: Block, key: str, reading: Reading) -> tuple[tuple[str, str], ...]:
    node = block.found.get(key)
    if node is None:
        return ()
    pairs = []
    for item in node.items if node.kind == "list" else (node,):
        if item.kind != "list" or len(item.items) != 2 or any(end.kind != "text" for end in item.items):
            reading.refuse(
                f"{key} of expect",
                "pairs of terminals",
                item.shown,
                "two ends are compared",
                "write [[G, S], [G, D]]",
                item.line,
            )
            continue
        pairs.append((item.items[0].text, item.items[1].text))
    return tuple(pairs)
