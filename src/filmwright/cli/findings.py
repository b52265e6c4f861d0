"""Findings in a terminal, of a plan and of a lab file alike."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import TYPE_CHECKING

from rich.console import Console
from rich.text import Text

if TYPE_CHECKING:
    from filmwright.review import Finding

NO_PERMISSION = "judgement for a person who knows the tools, never a permission"
_MARKS = {"stop": ("■ stop", "bold red"), "warn": ("▲ warn", "yellow"), "note": ("· note", "dim")}


def counted(counts: Mapping[str, int]) -> str:
    """How many of each weight."""
    return ", ".join(f"{counts[name]} {name}" for name in ("stop", "warn", "note"))


def print_findings(findings: Iterable[Finding], file: str, console: Console, *, folded: bool = True) -> None:
    """Each finding at its place; of a note that is folded only what and how much, for the whole of it stands in --json, on the sheet's
    pages and in the report."""
    for finding in findings:
        mark, style = _MARKS[finding.severity]
        place = f"{file}:{finding.line}" if finding.line else file
        step = f"  step {finding.step}" if finding.step else ""
        console.print(
            Text.assemble((mark, style), f"  {finding.rule}", (f"  {place}{step}", "dim")), soft_wrap=True
        )
        if finding.severity == "note":
            remedy = "" if folded else f"; {finding.remedy}"
            console.print(Text(f"   {finding.what}: {finding.got}{remedy}", style="dim"))
            continue
        console.print(
            Text(
                f"   {finding.what} must be {finding.expected}, got {finding.got} — {finding.why}; {finding.remedy}"
            )
        )
        for each in finding.follows:
            console.print(Text(f"   follows: {each}", style="dim"))
        if finding.also:
            console.print(Text(f"   also breaks: {', '.join(finding.also)}", style="dim"))
        if finding.acknowledged:
            console.print(Text(f"   accepted: {finding.acknowledged}", style="dim"))
        if finding.refused:
            console.print(Text(f"   not accepted: {finding.refused}", style="yellow"))
        console.print(Text(f"   limit: {finding.source}", style="dim"))
