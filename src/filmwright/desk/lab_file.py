"""The verb lab check: what a lab file lacks for good work."""

from __future__ import annotations

import json
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any

from filmwright.desk.files import load, today, write
from filmwright.emulate import walk
from filmwright.flow import lab_schema, read_lab
from filmwright.knowledge import book
from filmwright.review import check_lab as judge
from filmwright.review import counts
from filmwright.units import convert, plain

if TYPE_CHECKING:
    from filmwright.review import Finding, Number

SCHEMA_NAME = "lab.schema.json"


@dataclass(frozen=True, kw_only=True)
class LabAnswer:
    """A lab file, checked.

    Attributes
    ----------
    file : str
    name : str
        Of the lab.
    on : str
        ISO date for which its numbers are believed.
    findings : tuple of Finding
    counts : mapping from severity to int
    numbers : tuple of Number
    invented : bool
    written : Path or None
        The schema.
    """

    file: str
    name: str
    on: str
    findings: tuple[Finding, ...]
    counts: Mapping[str, int]
    numbers: tuple[Number, ...]
    invented: bool
    written: Path | None = None

    @property
    def stopped(self) -> bool:
        """Whether there is a stop."""
        return self.counts["stop"] > 0

    def fields(self) -> dict[str, Any]:
        """For programs; bands are half widths of 95 %."""
        return {
            "file": self.file,
            "lab": self.name,
            "on": self.on,
            "invented": self.invented,
            "findings": [each.fields() for each in self.findings],
            "counts": dict(self.counts),
            "numbers": [_number(each) for each in self.numbers],
            "written": str(self.written) if self.written else None,
        }


def _number(number: Number) -> dict[str, Any]:
    known = number.belief
    believed = (
        None
        if known is None
        else {
            "value": float(f"{convert(known.value, known.unit):.9g}"),
            "band": float(f"{plain(2 * known.std, known.unit):.9g}"),
            "unit": known.unit,
            "age": {"value": known.age_days, "unit": "day"},
            "evidence": known.evidence,
            "reason": known.reason,
            "alternatives": list(known.alternatives),
        }
    )
    return {
        "of": number.of,
        "tool": number.tool,
        "material": number.material,
        "medium": number.medium,
        "recipe": number.recipe,
        "lines": [each.line for each in number.readings],
        "believed": believed,
    }


def check_lab(lab: Path, plan: Path | None = None, schema: Path | None = None, on: str = "") -> LabAnswer:
    """What a lab file lacks, and its numbers as they are believed today.

    Parameters
    ----------
    lab : Path
    plan : Path or None
        A plan that it is meant for: what its steps need is asked, too.
    schema : Path or None
        Where to write the JSON Schema of lab files, for editors.
    on : str
        ISO date; empty for today.
    """
    day = on or today()
    read, facts, trace = read_lab(lab), book(), None
    if plan is not None:
        work = load(plan, lab)
        trace = walk(work.flow, work.lab, work.facts, work.drawing, on=day, sections=False)
    findings, numbers = judge(read, facts, day, trace)
    return LabAnswer(
        file=str(lab),
        name=read.name,
        on=day,
        findings=findings,
        counts=counts(findings),
        numbers=numbers,
        invented=read.invented,
        written=write(schema, schema_text()) if schema is not None else None,
    )


def schema_text() -> str:
    """The JSON Schema of lab files."""
    return json.dumps(lab_schema(), indent=1, ensure_ascii=False) + "\n"
