"""Writes docs/reference from the code and the facts themselves; ``make docs`` runs it, a test compares."""

from __future__ import annotations

import sys
from collections.abc import Iterable, Mapping
from pathlib import Path

import typer

from filmwright.cli.app import app
from filmwright.flow.grammar import (
    CALIBRATED,
    CALIBRATION,
    COMMON,
    CUT,
    DEVICES,
    EXPECT,
    FILM,
    LAB,
    LOGGED,
    MASK,
    OBJECT,
    PLAN,
    STEPS,
    TOOL,
    WAFER,
    WAIT,
    Key,
)
from filmwright.knowledge import Book, Medium, book, limits
from filmwright.review import RULES
from filmwright.sources import Value
from filmwright.units import DIMENSIONS, write

FOLDER = Path(__file__).resolve().parent.parent / "docs" / "reference"
_MADE = "<!-- Made by tools/reference_pages.py; run `make docs` after a change. -->\n"


def _table(head: Iterable[str], rows: Iterable[Iterable[str]]) -> str:
    cells = [list(head), *([cell.replace("|", "\\|").replace("\n", " ") for cell in row] for row in rows)]
    lines = ["| " + " | ".join(row) + " |" for row in cells]
    lines.insert(1, "|" + "---|" * len(cells[0]))
    return "\n".join(lines) + "\n"


def _shown(value: Value) -> list[str]:
    low, high = write(value.low, value.unit), write(value.high, value.unit)
    return [
        write(value.value, value.unit),
        f"{low} to {high}",
        value.condition,
        value.source.citation + f" {value.source.where}".rstrip(),
        value.source.kind,
    ]


def commands() -> str:
    """Every verb with its words and an example."""
    root = typer.main.get_command(app)
    parts = [
        f"{_MADE}# Commands\n",
        "Exit codes: 0 well, 1 a stop finding, 2 bad input. Every verb takes `--json`.\n",
    ]
    for name, command in root.commands.items():  # type: ignore[attr-defined]
        parts.append(f"## {name}\n\n{(command.help or '').strip()}\n")
        rows = []
        for each in command.params:
            words = (each.name or "").upper() if each.param_type_name == "argument" else ", ".join(each.opts)
            rows.append([f"`{words}`", getattr(each, "help", "") or ""])
        parts.append(_table(["word", "meaning"], rows))
        parts.append(f"\n`{(command.epilog or '').removeprefix('Example:').strip()}`\n")
    return "\n".join(parts)


def _keys(title: str, keys: Mapping[str, Key]) -> str:
    rows = []
    for name, key in keys.items():
        takes = (
            f"{key.dimension}, e.g. `{DIMENSIONS[key.dimension].example}`"
            if key.takes == "quantity"
            else key.takes
        )
        rows.append([f"`{name}`", takes, "yes" if key.required else "", key.means])
    return f"## {title}\n\n" + _table(["key", "takes", "required", "meaning"], rows)


def plan() -> str:
    """The grammar of the plan, the lab file and the log."""
    parts = [
        f"{_MADE}# The plan and the lab file\n",
        "Both are YAML 1.2. Quantities are written as people write them; `ang`, `um`, `+-`, `cm^2`, `degC` stand for Å, µm, ±, cm², °C.\n",
        _keys("The plan", PLAN), _keys("wafer", WAFER), _keys("a film of the wafer", FILM), _keys("a mask level", MASK),
        _keys("a cut", CUT), _keys("expect", EXPECT), _keys("transistors and capacitors of expect", DEVICES),
        _keys("Keys that every step takes", COMMON),
    ]  # fmt: skip
    parts += [_keys(f"step `{verb}: {OBJECT[verb]}`", keys) for verb, keys in STEPS.items()]
    parts += [
        _keys("The lab file", LAB),
        _keys("a tool", TOOL),
        _keys("a calibration", CALIBRATION),
        _keys("a wait", WAIT),
    ]
    parts.append(f"A calibration holds exactly one of {', '.join(f'`{name}`' for name in CALIBRATED)}.\n")
    parts.append(
        "## What can be written down\n\n"
        + _table(["name", "dimension"], ([f"`{n}`", d] for n, d in LOGGED.items()))
    )
    return "\n".join(parts)


def rules() -> str:
    """Every rule of the review, and the limits that a lab may change."""
    shipped = limits()
    parts = [
        f"{_MADE}# Rules of the review\n",
        "A lab changes a limit in its own file under `limits:`. Judgement for a person who knows the tools, never a permission.\n",
    ]
    for rule in RULES:
        used = (
            "; ".join(f"`{name}` = {write(shipped[name].value, shipped[name].unit)}" for name in rule.limits)
            or "none"
        )
        parts.append(
            f"## {rule.name}\n\n* **can be lost:** {rule.loses}\n* **computed:** {rule.quantity}\n"
            f"* **limits:** {used}\n* **source:** {rule.source}\n"
        )
    rows = (
        [f"`{each.name}`", write(each.value, each.unit), each.means, each.source.kind]
        for each in shipped.values()
    )
    parts.append("## Limits\n\n" + _table(["limit", "shipped", "of", "kind"], rows))
    return "\n".join(parts)


def materials(facts: Book) -> str:
    """Every material and resist with every value."""
    parts = [
        f"{_MADE}# Materials and resists\n",
        "Bounds enclose about 95 % of what one meets. A value from memory is to be measured before it is relied on.\n",
    ]
    for each in sorted(facts.materials.values(), key=lambda m: m.name):
        also = f"; also {', '.join(each.aliases)}" if each.aliases else ""
        parts.append(
            f"## {each.name}\n\n{each.symbol}, {each.kind}; families: {', '.join(sorted(each.families)) or 'none'}{also}\n"
        )
        parts.append(
            _table(
                ["value", "", "bounds", "condition", "source", "kind"],
                ([name, *_shown(value)] for name, value in each.values.items()),
            )
        )
    for resist in sorted(facts.resists.values(), key=lambda r: r.name):
        parts.append(
            f"## resist: {resist.name}\n\n{resist.tone}, {resist.material}; developer: {resist.developer}; "
            f"strippers: {', '.join(resist.strippers)}\n"
        )
        parts.append(
            _table(
                ["value", "", "bounds", "condition", "source", "kind"],
                ([name, *_shown(value)] for name, value in resist.values.items()),
            )
        )
    return "\n".join(parts)


def _hazard(facts: Book, medium: Medium) -> str:
    if not medium.hazard:
        return ""
    hazard = facts.hazard(medium.hazard)
    gear = f" Wear: {', '.join(hazard.gear)}." if hazard.gear else ""
    waste = f" Waste: {hazard.waste}." if hazard.waste else ""
    return f"**Caution:** {' '.join(hazard.cautions)}{gear}{waste} The site's own procedure goes first.\n"


def chemistries(facts: Book) -> str:
    """Every bath, developer, solvent and plasma with what it does to every material on file."""
    parts = [
        f"{_MADE}# Chemistries and plasmas\n",
        "A pair that is not listed is unknown, and unknown is never taken for safe.\n",
    ]
    for medium in sorted(facts.media.values(), key=lambda m: m.name):
        parts.append(
            f"## {medium.name}\n\n{medium.kind}; families: {', '.join(sorted(medium.families)) or 'none'}\n\n{_hazard(facts, medium)}"
        )
        rows = []
        for material, rate in medium.rates.items():
            bare = [
                "",
                "",
                rate.condition,
                str(rate.source.citation) if rate.source else "",
                rate.source.kind if rate.source else "",
            ]
            value = _shown(rate.value) if rate.value is not None else bare
            rows.append([material, rate.verdict, *value])
        if medium.dissolves:
            parts.append(f"Dissolves: {', '.join(sorted(medium.dissolves))}\n")
        if rows:
            parts.append(
                _table(["material", "verdict", "rate", "bounds", "condition", "source", "kind"], rows)
            )
    return "\n".join(parts)


def _effect(medium: Medium, material: str) -> str:
    """One cell of the matrix."""
    rate = medium.rate(material)
    if material in medium.dissolves:
        return "dissolves"
    if rate.verdict == "does not attack":
        return "no"
    if rate.verdict == "unknown":
        return "?"
    if rate.value is None:
        return "attacks"
    return write(rate.value.value, "nm/min").removesuffix(" nm/min")


def matrix(facts: Book) -> str:
    """What every medium does to every material, at a glance; the numbers with their sources stand in chemistries."""
    parts = [
        f"{_MADE}# What attacks what\n",
        "Rates in nm/min at the condition that [chemistries](chemistries.md) states, with bounds and source; *no*: does not attack; "
        "*attacks*: at a rate that is not on file; *?*: **unknown, never to be taken for safe**. "
        "Pairs of which nothing is on file in a whole row are left out.\n",
    ]
    for kind in sorted({medium.kind for medium in facts.media.values()}):
        media = sorted((m for m in facts.media.values() if m.kind == kind), key=lambda m: m.name)
        parts.append(f"## {kind}\n")
        for start in range(0, len(media), _COLUMNS):
            some = media[start : start + _COLUMNS]
            rows = []
            for material in sorted(facts.materials):
                cells = [_effect(medium, material) for medium in some]
                if set(cells) != {"?"}:
                    rows.append([material, *cells])
            if rows:
                parts.append(_table(["material", *(medium.name for medium in some)], rows))
    return "\n".join(parts)


_COLUMNS = 6
"""Media side by side in one table."""


def methods(facts: Book) -> str:
    """Deposition methods, hazards and the drift of tools."""
    head = ["value", "", "bounds", "condition", "source", "kind"]
    parts = [f"{_MADE}# Deposition methods, drift and hazards\n"]
    for method in sorted(facts.methods.values(), key=lambda m: m.name):
        sight = "line of sight" if method.line_of_sight else "not line of sight"
        parts.append(
            f"## {method.name}\n\n{sight}; families: {', '.join(sorted(method.families)) or 'none'}\n"
        )
        rows = (
            ("thickness on a wall over that on the flat", method.side_wall),
            ("non-uniformity, (max − min)/(2 × mean)", method.non_uniformity),
            ("temperature of the wafer", method.temperature),
        )
        parts.append(_table(head, ([name, *_shown(value)] for name, value in rows)))
    parts.append("## How far a calibration wanders\n\nPer square root of a day, one standard deviation.\n")
    parts.append(_table(head, ([name, *_shown(value)] for name, value in facts.drifts.items())))
    for key, hazard in sorted(facts.hazards.items()):
        gear = f"\n\nUsual gear: {', '.join(hazard.gear)}." if hazard.gear else ""
        waste = f"\n\nUsual waste: {hazard.waste}." if hazard.waste else ""
        never = f"\n\nNever with: {', '.join(sorted(hazard.never_with))}." if hazard.never_with else ""
        cited = "; ".join(str(source) for source in hazard.sources)
        parts.append(
            f"## hazard: {key}\n\n{' '.join(hazard.cautions)}{gear}{waste}{never}\n\nSources: {cited}.\n"
        )
    parts.append(
        "The site's own procedures, local codes and licensed practice go first; nothing here is a permission.\n"
    )
    return "\n".join(parts)


def pages() -> dict[str, str]:
    """File name → text of every page."""
    facts = book()
    return {
        "commands.md": commands(),
        "plan.md": plan(),
        "rules.md": rules(),
        "materials.md": materials(facts),
        "chemistries.md": chemistries(facts),
        "matrix.md": matrix(facts),
        "methods.md": methods(facts),
    }


def main() -> int:
    """Write all pages."""
    FOLDER.mkdir(parents=True, exist_ok=True)
    for name, text in pages().items():
        (FOLDER / name).write_text(text, "utf-8")
        print(f"docs/reference/{name}: {len(text.splitlines())} lines")
    return 0


if __name__ == "__main__":
    sys.exit(main())
