"""What a plan that is being written looks like: marks at its lines, its steps with settings and pictures, its day."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Any, Literal

from filmwright.errors import Problem

if TYPE_CHECKING:
    from filmwright.review import Finding

Stage = Literal["read", "rules", "whole"]
"""How far a review went: the text was read; its rules were asked on the plan view; sections and pictures were made, too."""
Weight = Literal["error", "stop", "warn", "note"]


@dataclass(frozen=True, kw_only=True)
class Mark:
    """Something at a line of the text.

    Attributes
    ----------
    number : int
        From 1, in the order of lines: the sign in the margin and the list beside the text carry it.
    weight : Weight
        ``error`` where the text cannot be used as it is.
    line : int or None
        None where it concerns the whole plan or another file.
    file : str
        Of another file than the plan; else empty.
    step, what, expected, got, why, remedy, source, accepted, refused : str
    """

    number: int
    weight: Weight
    line: int | None
    what: str
    expected: str
    got: str
    why: str
    remedy: str
    file: str = ""
    step: str = ""
    source: str = ""
    accepted: str = ""
    refused: str = ""

    @property
    def said(self) -> str:
        """What is wrong, in one sentence."""
        return f"{self.what} must be {self.expected}, got {self.got}"


@dataclass(frozen=True, kw_only=True)
class SettingRow:
    """One knob as it is shown."""

    name: str
    value: str
    band: str = ""
    rests_on: str = ""


@dataclass(frozen=True, kw_only=True)
class StepView:
    """One step of a plan with its pictures, by digest; a digest is empty where there is no picture."""

    number: str
    code: str
    title: str
    line: int
    tool: str = ""
    duration: str = ""
    caption: str = ""
    changed: str = ""
    settings: tuple[SettingRow, ...] = ()
    look: tuple[str, ...] = ()
    cautions: tuple[str, ...] = ()
    warnings: tuple[str, ...] = ()
    section: str = ""
    plan: str = ""
    view: str = ""


@dataclass(frozen=True, kw_only=True)
class DayRow:
    """When one step can begin and must begin; clock times with their day."""

    code: str
    title: str
    tool: str
    begin: str
    end: str
    day: int
    latest: str = ""
    because: str = ""


@dataclass(frozen=True, kw_only=True)
class LiveAnswer:
    """A plan text, reviewed as far as ``stage`` says.

    Attributes
    ----------
    digest : str
        SHA-256 of the text.
    stage : Stage
    title : str
    marks : tuple of Mark
    counts : mapping from weight to int
    steps : tuple of StepView
        Without pictures before the stage ``whole``.
    day : tuple of DayRow
    day_notes : tuple of str
    readings : tuple of str
        What was assumed in reading the text.
    overtaken : bool
        A newer text of the same writer came first; there is nothing in this answer.
    invented : bool
    """

    digest: str
    stage: Stage
    title: str = ""
    marks: tuple[Mark, ...] = ()
    counts: Mapping[str, int] = field(default_factory=dict)
    steps: tuple[StepView, ...] = ()
    day: tuple[DayRow, ...] = ()
    day_notes: tuple[str, ...] = ()
    readings: tuple[str, ...] = ()
    overtaken: bool = False
    invented: bool = False

    @property
    def readable(self) -> bool:
        """Whether the text could be read to its end."""
        return not self.counts.get("error", 0)

    def fields(self) -> dict[str, Any]:
        """For programs."""
        from dataclasses import asdict

        told = asdict(self)
        for mark, own in zip(told["marks"], self.marks, strict=True):
            mark["said"] = own.said
        return {**told, "readable": self.readable}


def marks_of(
    file: str, problems: tuple[Problem, ...], findings: tuple[Finding, ...] = ()
) -> tuple[Mark, ...]:
    """Problems and findings in the order of their lines; those of no line of this text come last."""
    found: list[tuple[int, Mark]] = []
    for each in problems:
        own = each.file in ("", file)
        found.append(
            (
                (each.line or 1) if own else 10**9,
                Mark(
                    number=0, weight="error", line=(each.line or 1) if own else None,
                    file="" if own else f"{each.file}{f', line {each.line}' if each.line else ''}",
                    what=each.what, expected=each.expected, got=each.got, why=each.why, remedy=each.remedy,
                ),
            )
        )  # fmt: skip
    order = {"stop": 0, "warn": 1, "note": 2}
    for finding in findings:
        mark = Mark(
            number=0, weight=finding.severity, line=finding.line, step=finding.step,
            what=finding.what, expected=finding.expected, got=finding.got, why=finding.why, remedy=finding.remedy,
            source=finding.source, accepted=finding.acknowledged, refused=finding.refused,
        )  # fmt: skip
        found.append((finding.line or 10**9 + order[finding.severity], mark))
    from dataclasses import replace

    ranked = sorted(found, key=lambda one: one[0])
    return tuple(replace(mark, number=k) for k, (_, mark) in enumerate(ranked, start=1))


def counted(marks: tuple[Mark, ...]) -> dict[str, int]:
    """How many of each weight."""
    return {
        weight: sum(mark.weight == weight for mark in marks) for weight in ("error", "stop", "warn", "note")
    }
