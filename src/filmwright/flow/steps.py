"""Written steps → elementary steps, each with the line of the text that it came from."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass, replace

from filmwright.errors import nearest
from filmwright.flow.expand import EXPANSIONS, Written, numbered, serving
from filmwright.flow.fields import Block, Reading
from filmwright.flow.grammar import COMMON, OBJECT, STEPS, Key
from filmwright.flow.recipes import with_recipe
from filmwright.flow.sources import composition_of, sources_of
from filmwright.flow.text import Node
from filmwright.flow.types import End, MaskLevel, Step
from filmwright.knowledge import Lab, Medium, Resist, UnknownName, book, reading
from filmwright.units import UnitProblem, read

_CLEANS = frozenset({"clean", "solvent", "plasma", "stripper", "wet etch", "rinse"})
_STRIPS = frozenset({"solvent", "stripper", "plasma", "clean"})
_BATHS = frozenset({"wet etch", "developer", "clean"})
_PLASMAS = frozenset({"plasma"})
"""Kinds of medium that may clean, strip, and etch in a bath or with a plasma."""

MEDIA_OF: Mapping[tuple[str, str], frozenset[str]] = {
    ("clean", "clean"): _CLEANS,
    ("strip", "in"): _STRIPS,
    ("lift off", "in"): _STRIPS,
    ("etch", "in"): _BATHS,
    ("etch", "with"): _PLASMAS,
}
"""Kinds of medium by kind of step and key."""


@dataclass(frozen=True)
class Around:
    """What a step may refer to."""

    masks: Mapping[str, MaskLevel]
    lab: Lab


def read_steps(
    node: Node | None, reading: Reading, masks: Mapping[str, MaskLevel], lab: Lab
) -> tuple[Step, ...]:
    """All elementary steps of a plan, in order."""
    if node is None:
        return ()
    if node.kind != "list":
        reading.refuse(
            "the steps", "a list", node.shown, "they are done in order", "write - clean: solvent", node.line
        )
        return ()
    around = Around(masks=masks, lab=lab)
    names: dict[str, int] = {}
    steps: list[Step] = []
    for index, item in enumerate(node.items, start=1):
        written = _written(item, reading, around)
        if written is None:
            continue
        written = _named(written, names, reading)
        expanded = with_recipe(EXPANSIONS[written.verb](written), written, reading)
        steps.extend(numbered(index, expanded))
    return tuple(steps)


def _named(written: Written, names: dict[str, int], reading: Reading) -> Written:
    """Give the step its unique name; a name written twice is a problem, a name of ours is counted on."""
    given = written.name
    name = given or f"{written.verb} {written.target}"
    if given and given in names:
        reading.refuse(
            f'the name "{given}"',
            "written once",
            f"a second one (the first is on line {names[given]})",
            "the record and the sheet find a step by its name",
            "rename one of the two",
            written.line,
        )
    count = 2
    base = name
    while name in names:
        name, count = f"{base} ({count})", count + 1
    names[name] = written.line
    return replace(written, name=name)


def _written(node: Node, reading: Reading, around: Around) -> Written | None:
    if node.kind != "map":
        remedy = nearest(node.text, STEPS) if node.kind == "text" else "write - clean: solvent"
        reading.refuse(
            "a step",
            'a key with an object, such as "clean: solvent"',
            node.shown,
            "a step says what is done to what",
            remedy,
            node.line,
        )
        return None
    verbs = [entry for entry in node if entry.key in STEPS]
    if not verbs:
        key = node.entries[0].key if node.entries else ""
        reading.refuse(
            "a step",
            "one of " + ", ".join(STEPS),
            f'"{key}"',
            "nothing is known of another kind of step",
            nearest(key, STEPS),
            node.entries[0].line if node.entries else node.line,
        )
        return None
    # "clean" and the like may also be keys of nothing else, so a second verb is a second step without its dash.
    verb = verbs[0].key
    if len(verbs) > 1:
        reading.refuse(
            f'the step "{verb}"',
            "one thing done",
            f'also "{verbs[1].key}"',
            "two steps in one would lose their order",
            f'begin a new step with "- {verbs[1].key}: …"',
            verbs[1].line,
        )
        return None
    grammar = {verb: Key("text", OBJECT[verb], required=True), **STEPS[verb], **COMMON}
    block = Block(reading, node, grammar, f'the step "{verb}: {verbs[0].value.text}"')
    return _Resolver(block, verb, reading, around).written()


class _Resolver:
    """Resolves the names of one written step."""

    def __init__(self, block: Block, verb: str, reading: Reading, around: Around) -> None:
        self.block, self.verb, self.reading, self.around = block, verb, reading, around
        self.line = block.node.entries[0].line

    def written(self) -> Written | None:
        block, verb = self.block, self.verb
        target_node = block.found[verb]
        if target_node.kind != "text" or not target_node.text:
            self.reading.refuse(
                f'{OBJECT[verb]} of the step "{verb}"',
                "one name",
                target_node.shown,
                "the step acts on it",
                f"write {verb}: name",
                target_node.line,
            )
            return None
        method = self._method()
        medium = self._medium(target_node)
        resist = self._resist()
        tool = self._tool()
        sources = sources_of(block, method, tool or serving(self.around.lab, (method,)), self.around.lab)
        return Written(
            verb=verb,
            target=self._target(target_node),
            line=self.line,
            name=block.text("name"),
            method=method,
            medium=medium,
            resist=resist,
            developer=self._developer(resist),
            tool=tool,
            sources=sources,
            composition=composition_of(block, sources),
            recipe=block.text("recipe"),
            asked={
                key: found
                for key, rule in STEPS[verb].items()
                if rule.takes == "quantity" and (found := block.quantity(key))
            },
            end=self._end(),
            prime=block.flag("prime", True),
            bead_removed=block.flag("bead removed", False),
            hard_bake=block.flag("hard bake", False),
            align_to=self._align_to(),
            of=self._of(target_node),
            place=block.text("place"),
            because=block.text("because"),
            hold=block.text("hold"),
            witness=block.texts("witness"),
            acknowledged=self._acknowledged(),
            lines={key: found.line for key, found in block.found.items()},
            lab=self.around.lab,
        )

    def _target(self, node: Node) -> str:
        if self.verb in {"deposit", "etch"}:
            return self.reading.name(
                lambda name: book().material(name).name, node, f'the material of the step "{self.verb}"'
            )
        if self.verb == "measure":
            return self.reading.name(lambda name: reading(name).name, node, "the quantity that is measured")
        if self.verb == "pattern" and node.text not in self.around.masks:
            hint = nearest(node.text, self.around.masks) if self.around.masks else 'add it under "masks:"'
            self.reading.refuse(
                "the mask level of the step",
                "one of the masks",
                f'"{node.text}"',
                "its shapes are printed",
                hint,
                node.line,
            )
        return node.text

    def _of(self, target: Node) -> str:
        """The film or the level that is measured; only a film's own quantities must name one."""
        node = self.block.found.get("of")
        try:
            kind = reading(target.text) if self.verb == "measure" else None
        except UnknownName:
            kind = None
        if kind is None:
            return self.block.text("of")
        if kind.of == "film" and node is not None:
            return self.reading.name(lambda name: book().material(name).name, node, self.block.what("of"))
        if kind.of == "film" and kind.needs_of:
            self.reading.refuse(
                self.block.where,
                "of: the film that is measured",
                "nothing",
                f"the {kind.name} of each film is another",
                "add of: with the material of the film",
                self.line,
            )
        if kind.of == "level" and node is not None and node.text not in self.around.masks:
            self.reading.refuse(
                self.block.what("of"),
                "one of the masks",
                node.shown,
                f"the {kind.name} is read where that level was printed",
                nearest(node.text, self.around.masks) if self.around.masks else 'add it under "masks:"',
                node.line,
            )
        return self.block.text("of")

    def _align_to(self) -> str:
        level = self.block.text("align to") if self.verb == "pattern" else ""
        if level and (level not in self.around.masks or level == self.block.found[self.verb].text):
            self.reading.refuse(
                self.block.what("align to"),
                "another of the masks",
                f'"{level}"',
                "its marks are looked for under the plate",
                nearest(level, self.around.masks),
                self.block.line("align to"),
            )
            return ""
        return level

    def _method(self) -> str:
        node = self.block.found.get("method")
        return (
            ""
            if node is None
            else self.reading.name(lambda name: book().method(name).name, node, self.block.what("method"))
        )

    def _resist(self) -> Resist | None:
        node = self.block.found.get("resist")
        if node is None or self.verb != "pattern":
            return None
        name = self.reading.name(lambda word: book().resist(word).name, node, self.block.what("resist"))
        return book().resist(name) if name else None

    def _medium(self, target: Node) -> Medium | None:
        if self.verb == "clean":
            return self._named_medium(target, _CLEANS, "the bath of the clean")
        if self.verb == "etch":
            return self._etchant()
        node = self.block.found.get("in") if self.verb in {"strip", "lift off"} else None
        return None if node is None else self._named_medium(node, _STRIPS, self.block.what("in"))

    def _etchant(self) -> Medium | None:
        wet, dry = self.block.found.get("in"), self.block.found.get("with")
        if wet is not None and dry is None:
            return self._named_medium(wet, _BATHS, self.block.what("in"))
        if dry is not None and wet is None:
            return self._named_medium(dry, _PLASMAS, self.block.what("with"))
        self.reading.refuse(
            self.block.where,
            "in: a bath, or with: a plasma",
            "both" if wet is not None else "neither",
            "a rate belongs to a chemistry or a recipe",
            'write "in: dilute hydrochloric acid" or "with: oxygen plasma ash"',
            self.line,
        )
        return None

    def _named_medium(self, node: Node, kinds: frozenset[str], what: str) -> Medium | None:
        if node.text.lower() in {"wet", "dry", "plasma", "acid", "chemistry", "etchant"}:
            self.reading.refuse(
                what,
                "a named chemistry or plasma",
                f'"{node.text}" alone',
                "each attacks other films at other rates",
                "say which: " + nearest("", [m.name for m in book().media.values() if m.kind in kinds]),
                node.line,
            )
            return None
        name = self.reading.name(lambda word: book().medium(word).name, node, what)
        if not name:
            return None
        medium = book().medium(name)
        if medium.kind not in kinds:
            self.reading.refuse(
                what,
                " or ".join(sorted(kinds)),
                f'"{name}", a {medium.kind}',
                "it does something else",
                self._rather(medium, kinds),
                node.line,
            )
            return None
        return medium

    def _rather(self, medium: Medium, kinds: frozenset[str]) -> str:
        """What to write instead of a medium of the wrong kind."""
        if self.verb == "etch" and medium.kind in _BATHS | _PLASMAS:
            return f'write "{"with" if medium.kind in _PLASMAS else "in"}: {medium.name}"'
        return nearest(medium.name, [each.name for each in book().media.values() if each.kind in kinds])

    def _developer(self, resist: Resist | None) -> Medium | None:
        node = self.block.found.get("developer")
        if node is not None:
            return self._named_medium(node, frozenset({"developer"}), self.block.what("developer"))
        return None if resist is None else book().medium(resist.developer)

    def _tool(self) -> str:
        tool, tools = self.block.text("tool"), self.around.lab.tools
        if tool and tools and tool not in tools:
            self.reading.refuse(
                self.block.what("tool"),
                "a tool of the lab file",
                f'"{tool}"',
                "its rates and rules are read from there",
                nearest(tool, tools),
                self.block.line("tool"),
            )
        return tool

    def _end(self) -> End | None:
        text = self.block.text("until")
        if not text:
            return None
        if self.block.has("time"):
            self.reading.refuse(
                self.block.where,
                "given a time, or until",
                "both",
                "the operator must know when to stop",
                f"remove the time, or remove until: {text}",
                self.block.line("until"),
            )
        match = re.fullmatch(r"end\s*point(?:\s*(?:\+|plus)\s*(.+))?", text.strip(), flags=re.IGNORECASE)
        if match:
            if match[1] is None:
                return End(rule="end point", extra=0.0, text=text)
            return self._over_etch(match[1], text)
        if re.fullmatch(r"measure(,?\s*then\s+compute)?", text.strip(), flags=re.IGNORECASE):
            return End(rule="measure", text=text)
        self.reading.refuse(
            self.block.what("until"),
            '"end point + 25 %" or "measure"',
            f'"{text}"',
            "the operator must know when to stop",
            'write "end point + 25 %", or give a time',
            self.block.line("until"),
        )
        return None

    def _over_etch(self, extra: str, text: str) -> End | None:
        try:
            part = read(extra, "fraction", "the over-etch").value
        except UnitProblem as trouble:
            self.reading.problems.add(trouble.problem.at(self.reading.file, self.block.line("until")))
            return None
        if part < 0:
            self.reading.refuse(
                "the over-etch",
                "zero or more",
                f'"{extra}"',
                "before its end point the film still lies there",
                'write "end point + 25 %", or give a time',
                self.block.line("until"),
            )
            return None
        return End(rule="end point", extra=part, text=text)

    def _acknowledged(self) -> dict[str, str]:
        node = self.block.found.get("accept")
        if node is None:
            return {}
        if node.kind != "map":
            self.reading.refuse(
                self.block.what("accept"),
                "findings with a reason",
                node.shown,
                "a reason is kept with the finding",
                "write accept: {name of the rule: the reason}",
                node.line,
            )
            return {}
        for entry in node:
            if entry.value.kind != "text" or not entry.value.text.strip():
                self.reading.refuse(
                    f'the reason for accepting "{entry.key}"',
                    "one text",
                    entry.value.shown if entry.value.kind != "text" else "none",
                    "whoever reads the sheet must know why it was accepted",
                    f"write {entry.key}: the reason",
                    entry.line,
                )
        return {entry.key: entry.value.text for entry in node}
