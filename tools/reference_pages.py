"""Writes docs/reference from the code and the facts themselves; ``make docs`` runs it, a test compares."""

from __future__ import annotations

import sys
from collections.abc import Iterator, Mapping
from pathlib import Path
from typing import Any

import typer

sys.path.insert(0, str(Path(__file__).resolve().parent))
from fact_pages import MADE, SITE, shown, slug, table
from fact_pages import pages as fact_pages
from lab_rule_page import page as lab_rule_page
from optics_page import pages as optics_page
from rule_pages import pages as rule_pages
from source_pages import pages as source_pages

from filmwright.cli.app import app
from filmwright.flow.grammar import (
    ADMISSION_CLASS,
    BATH,
    BOTTLE,
    CALIBRATED,
    CALIBRATION,
    COMMON,
    CUT,
    DEVICES,
    EXPECT,
    FILM,
    GEOMETRY,
    GUN,
    LAB,
    LOGGED,
    MAINTENANCE,
    MASK,
    MASKS,
    OBJECT,
    PLAN,
    POCKET,
    RECIPE,
    RUN,
    SOURCE,
    STEPS,
    TOOL,
    WAFER,
    WAIT,
    Key,
)
from filmwright.knowledge import Book, book, readings
from filmwright.units import DIMENSIONS

FOLDER = Path(__file__).resolve().parent.parent / "docs" / "reference"


def commands() -> str:
    """Every verb with its words and an example."""
    root = typer.main.get_command(app)
    parts = [
        f"{MADE}# Commands\n",
        "Exit codes: 0 well, 1 a stop finding, 2 bad input. Every verb takes `--json`.\n",
    ]
    for name, command in _verbs(root.commands):  # type: ignore[attr-defined]
        parts.append(f"## {name}\n\n{(command.help or '').strip()}\n")
        rows = []
        for each in command.params:
            words = (each.name or "").upper() if each.param_type_name == "argument" else ", ".join(each.opts)
            rows.append([f"`{words}`", getattr(each, "help", "") or ""])
        parts.append(table(["word", "meaning"], rows))
        parts.append(f"\n`{(command.epilog or '').removeprefix('Example:').strip()}`\n")
    return "\n".join(parts)


def _verbs(commands: Mapping[str, Any]) -> Iterator[tuple[str, Any]]:
    """Every verb with its command; of a group the verbs under its own word."""
    for name, command in commands.items():
        within = getattr(command, "commands", None)
        if within is None:
            yield name, command
            continue
        yield from ((f"{name} {each}", found) for each, found in _verbs(within))


def _keys(title: str, keys: Mapping[str, Key]) -> str:
    rows = []
    for name, key in keys.items():
        takes = (
            f"{key.dimension}, e.g. `{DIMENSIONS[key.dimension].example}`"
            if key.takes == "quantity"
            else key.takes
        )
        rows.append([f"`{name}`", takes, "yes" if key.required else "", key.means])
    return f"## {title}\n\n" + table(["key", "takes", "required", "meaning"], rows)


def plan() -> str:
    """The grammar of the plan, the lab file and the log."""
    parts = [
        f"{MADE}# The plan and the lab file\n",
        "Both are YAML 1.2. Quantities are written as people write them; `ang`, `um`, `+-`, `cm^2`, `degC` stand for Å, µm, ±, cm², °C.\n",
        _keys("The plan", PLAN), _keys("wafer", WAFER), _keys("a film of the wafer", FILM), _keys("masks", MASKS),
        _keys("a mask level", MASK), _keys("a cut", CUT), _keys("expect", EXPECT), _keys("transistors and capacitors of expect", DEVICES),
        _keys("Keys that every step takes", COMMON),
    ]  # fmt: skip
    parts += [_keys(f"step `{verb}: {OBJECT[verb]}`", keys) for verb, keys in STEPS.items()]
    parts += [
        _keys("a source of `deposit`", SOURCE),
        _keys("The lab file", LAB),
        _keys("a class of an axis of admission", ADMISSION_CLASS),
        _keys("a tool", TOOL),
        _keys("a recipe of a tool", RECIPE),
        _keys("a maintenance of a tool", MAINTENANCE),
        _keys("geometry of a tool", GEOMETRY),
        _keys("a pocket", POCKET),
        _keys("a gun", GUN),
        _keys("a calibration", CALIBRATION),
        _keys("a run", RUN),
        _keys("a wait", WAIT),
        _keys("a bath", BATH),
        _keys("a bottle", BOTTLE),
    ]
    parts.append(f"A calibration holds exactly one of {', '.join(f'`{name}`' for name in CALIBRATED)}.\n")
    parts.append(
        "## What can be written down\n\n"
        + table(["name", "dimension"], ([f"`{n}`", d] for n, d in LOGGED.items()))
    )
    return "\n".join(parts)


def methods(facts: Book) -> str:
    """Deposition methods and the drift of tools."""
    head = ["value", "", "bounds", "condition", "source", "kind"]
    parts = [f"{MADE}# Deposition methods and drift\n"]
    for method in sorted(facts.methods.values(), key=lambda m: m.name):
        sight = "line of sight" if method.line_of_sight else "not line of sight"
        parts.append(
            f"## {method.name}\n\n{sight}; families: {', '.join(sorted(method.families)) or 'none'}; "
            f"hazard: [{method.hazard}](hazards/{slug(method.hazard)}.md)\n"
        )
        rows = (
            ("thickness on a wall over that on the flat", method.side_wall),
            ("non-uniformity, (max − min)/(2 × mean)", method.non_uniformity),
            ("temperature of the wafer", method.temperature),
            *((f"arrival of atoms: {name}", value) for name, value in method.arrival.items()),
        )
        parts.append(table(head, ([name, *shown(value)] for name, value in rows)))
    parts.append("## How far a calibration wanders\n\nPer square root of a day, one standard deviation.\n")
    parts.append(table(head, ([name, *shown(value)] for name, value in facts.drifts.items())))
    parts.append(
        "## How far it may lie off after a maintenance\n\nOnce for each, until it is measured again, one standard deviation.\n"
    )
    parts.append(table(head, ([name, *shown(value)] for name, value in facts.jumps.items())))
    parts.append(
        "## How far it wanders with a use\n\nPer square root of a use, one standard deviation, beside the days.\n"
    )
    parts.append(table(head, ([name, *shown(value)] for name, value in facts.wears.items())))
    parts.append(SITE)
    return "\n".join(parts)


def measurements(facts: Book) -> str:
    """What a step may measure: where, how often, with which error, and what to write down."""
    rows = []
    for kind in readings().values():
        known = facts.models.get(kind.instrument, {})
        error = " and ".join(shown(known[name])[0] for name in ("relative", "floor") if name in known)
        named = "the film" if kind.needs_of else "the level" if kind.of == "level" else "–"
        rows.append([kind.name, named, f"{kind.sites}: {kind.places}", error or "–", "; ".join(kind.writes)])
    head = ["`measure:`", "`of:`", "places on a wafer", "error of one reading (1 σ)", "to write down"]
    return (
        f"{MADE}# Measurements\n\n"
        "What each should find is computed from the wafer as it lies at that step: `filmwright why PLAN --step N`. `place:` names a\n"
        "device or `open field`; where the plan sets a tolerance the number of places follows from it.\n\n"
        + table(head, rows)
    )


def pages() -> dict[str, str]:
    """File name → text of every page."""
    facts = book()
    return {
        "commands.md": commands(),
        "plan.md": plan(),
        **rule_pages(),
        "lab-rules.md": lab_rule_page(),
        "methods.md": methods(facts),
        "readings.md": measurements(facts),
        **fact_pages(facts),
        **optics_page(facts),
        **source_pages(facts),
    }


def main() -> int:
    """Write all pages."""
    made = pages()
    for name, text in made.items():
        path = FOLDER / name
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_text(text, "utf-8")
    left_over = [path for path in FOLDER.rglob("*.md") if path.relative_to(FOLDER).as_posix() not in made]
    for path in left_over:
        path.unlink()
    print(f"docs/reference: {len(made)} pages, {len(left_over)} left over and removed")
    return 0


if __name__ == "__main__":
    sys.exit(main())
