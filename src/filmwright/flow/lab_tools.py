"""What a tool of the lab file holds under names of its own: recipes and maintenance."""

from __future__ import annotations

from filmwright.flow.fields import Block, Reading, quantity
from filmwright.flow.grammar import MAINTENANCE, RECIPE
from filmwright.flow.text import Node
from filmwright.knowledge import Maintenance, ToolRecipe, book
from filmwright.units import Quantity


def recipes_of(block: Block, tool: str) -> dict[str, ToolRecipe]:
    """The recipes of a tool; a name that stands twice is told by the reader of the text."""
    node = block.found.get("recipes")
    if node is None:
        return {}
    if node.kind != "map":
        block.reading.refuse(
            block.what("recipes"),
            "a block with names",
            node.shown,
            "a step finds a recipe by its name",
            "write recipes: {slow: {pressure: 5 mTorr}}",
            node.line,
        )
        return {}
    return {
        entry.key: _recipe(entry.key, entry.value, tool, entry.line, block.reading) for entry in node.entries
    }


def _recipe(name: str, node: Node, tool: str, line: int, reading: Reading) -> ToolRecipe:
    block = Block(reading, node, RECIPE, f'the recipe "{name}" of {tool}')
    settings = {
        key: found
        for key, rule in RECIPE.items()
        if rule.takes == "quantity" and (found := block.quantity(key)) is not None
    }
    recipe = ToolRecipe(
        name=name,
        material=_named(block, "material"),
        medium=_named(block, "medium"),
        settings={**settings, **_gases(block)},
        note=block.text("note"),
        line=line,
    )
    if block.node.kind == "map" and not recipe.settings and not recipe.note:
        reading.refuse(
            block.where,
            "given at least one setting, or a note of where it is kept",
            "none",
            "a name alone tells nobody what is set",
            'write its settings, like "pressure: 5 mTorr"',
            line,
        )
    return recipe


def _named(block: Block, key: str) -> str:
    node = block.found.get(key)
    if node is None:
        return ""
    facts = book()
    if key == "material":
        return block.reading.name(lambda name: facts.material(name).name, node, block.what(key))
    return block.reading.name(lambda name: facts.medium(name).name, node, block.what(key))


def _gases(block: Block) -> dict[str, Quantity]:
    node = block.found.get("gases")
    if node is None:
        return {}
    if node.kind != "map":
        block.reading.refuse(
            block.what("gases"),
            "gases, each with its flow",
            node.shown,
            "one flow for several gases says nothing of the mixture",
            "write gases: {argon: 20 sccm}",
            node.line,
        )
        return {}
    found = {}
    for entry in node.entries:
        gas = Node("text", entry.line, entry.column, text=entry.key)
        name = block.reading.name(
            lambda word: book().substance(word).name, gas, f"the gas {entry.key} of {block.where}"
        )
        flow = quantity(block.reading, entry.value, "gas flow", f"the flow of {entry.key} in {block.where}")
        if name and flow is not None:
            found[f"{name} flow"] = flow
    return found


def maintenance_of(block: Block) -> tuple[Maintenance, ...]:
    """When a tool was opened, in order of date."""
    node = block.found.get("maintenance")
    if node is None:
        return ()
    if node.kind != "list":
        block.reading.refuse(
            block.what("maintenance"),
            "a list",
            node.shown,
            "each time is one entry",
            "write - {date: 2026-03-31, done: new crystal}",
            node.line,
        )
        return ()
    found = []
    for item in node.items:
        each = Block(block.reading, item, MAINTENANCE, f"a maintenance of {block.where}")
        date, done = each.date("date"), each.text("done")
        if date and done:
            found.append(Maintenance(date=date, done=done, by=each.text("by"), line=item.line))
    return tuple(sorted(found, key=lambda one: one.date))
