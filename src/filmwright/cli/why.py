"""Derivations as a person reads them at the terminal: law, equation, inputs, result with its band, limits."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import Any

from rich.console import Console
from rich.table import Table
from rich.text import Text

from filmwright.desk.derivations import StepDerivations, WhyAnswer
from filmwright.process import Derivation, Setting
from filmwright.units import write

_SAID = 0.005
"""Part of the variance from which an input is said to bring it."""


def print_why(answer: WhyAnswer, console: Console) -> None:
    """The settings of each step, each with its derivation; then what follows from them."""
    for place, step in enumerate(answer.steps):
        if place:
            console.print()
        _print_step(step, console)
    console.print(
        Text(
            "A computed value is no permission: the site's procedures and the tool's owner go first.",
            style="dim",
        )
    )


def _print_step(answer: StepDerivations, console: Console) -> None:
    console.print(
        Text.assemble(
            (f"{answer.code}  {answer.title}", "bold"),
            (f"  {answer.tool or 'no tool named'}  step {answer.number}  line {answer.line}", "dim"),
        )
    )
    if not answer.settings and not answer.follows:
        console.print(Text("Nothing is dialled in at this step."))
    for setting in answer.settings:
        _print_setting(setting, console)
    if answer.follows:
        console.print()
        console.print(Text("What follows, with nothing to dial in", style="bold"))
    for setting in answer.follows:
        _print_setting(setting, console)
    _print_rate(answer.reason, answer.alternatives, console)
    for warning in answer.warnings:
        console.print(Text(f"▲ {warning}", style="yellow"))


def _print_setting(setting: Setting, console: Console) -> None:
    found = setting.derivation
    console.print()
    console.print(Text.assemble((setting.name, "bold"), f"   {found.shown}", (_band(found), "dim")))
    _say(console, "law", f"{found.law.name} — {found.law.source}")
    if found.law.equation:
        _say(console, "equation", found.law.equation)
    if found.inputs:
        _print_inputs(found, console)
    if found.worked:
        _say(console, "put in", found.worked)
    if found.law.valid:
        _say(console, "valid for", found.law.valid)
    for note in found.notes:
        _say(console, "note", note)


def _band(found: Derivation) -> str:
    band = found.band
    if band is None:
        return ""
    return f"   {found.band_is} {write(band[0], found.unit)} to {write(band[1], found.unit)}"


def _say(console: Console, what: str, text: str) -> None:
    table = Table(box=None, pad_edge=False, show_header=False, padding=(0, 1, 0, 2))
    table.add_column(width=9, style="dim")
    table.add_column(overflow="fold")
    table.add_row(Text(what), Text(text))
    console.print(table)


def _print_inputs(found: Derivation, console: Console) -> None:
    table = Table(box=None, pad_edge=False, show_header=False, padding=(0, 2, 0, 2))
    table.add_column(no_wrap=True)
    table.add_column(max_width=28)
    table.add_column(no_wrap=True)
    table.add_column(no_wrap=True)
    table.add_column(style="dim", min_width=20)
    most_of = max(found.shares.values(), default=1.0)
    for given in found.inputs:
        share = found.shares.get(given.symbol, 0.0)
        rests = _rests(given.evidence, str(given.source))
        most = f" [{share:.0%} of the variance]" if share >= _SAID and most_of < 1 else ""
        table.add_row(
            Text(given.symbol), Text(given.name), Text(given.shown), Text(given.spread), Text(rests + most)
        )
    console.print(table)


def _rests(evidence: str, source: str) -> str:
    """Evidence and source, each said once: the evidence of a shipped rate names its source itself."""
    return (
        evidence if source and source in evidence else "; ".join(part for part in (evidence, source) if part)
    )


def _print_rate(reason: str, alternatives: Sequence[str], console: Console) -> None:
    if not reason:
        return
    console.print()
    console.print(Text(f"The rate: {reason}."))
    for other in alternatives:
        console.print(Text(f"   not chosen: {other}", style="dim"))


PRINTERS: dict[type, Callable[[Any, Console], None]] = {WhyAnswer: print_why}
