"""Verbs on a plan: new, review, settings."""

from __future__ import annotations

import datetime
import json
import re
from importlib import resources
from pathlib import Path

from filmwright.desk.accepted import informed
from filmwright.desk.answers import FilesAnswer, ReviewAnswer, SettingLine, SettingsAnswer, StepSettings
from filmwright.desk.files import LAB_NAME, today, write
from filmwright.emulate import Trace, walk
from filmwright.errors import BadInput, Problem, nearest
from filmwright.flow import plan_schema, step_of
from filmwright.masks import chip, write_drawing
from filmwright.review import counts
from filmwright.review import review as judge

EXAMPLES = ("humidity-switch", "delay-line", "platinum-thermometer")
_BASE_DATE = datetime.date(2026, 10, 26)
"""Day on which the example lab is imagined; its dates are moved with it, so that its readings are as old as meant."""


def new(folder: Path, example: str = EXAMPLES[0], on: str = "") -> FilesAnswer:
    """Write an example to change: plan, lab file, drawing, schema.

    Parameters
    ----------
    folder : Path
        Made if need be; nothing in it is overwritten.
    example : str
    on : str
        ISO date that counts as today for the dates of the example lab.
    """
    if example not in EXAMPLES:
        raise BadInput(
            Problem(
                what="the example",
                expected="one of " + ", ".join(EXAMPLES),
                got=f'"{example}"',
                why="these three are bundled",
                remedy=nearest(example, EXAMPLES),
            )
        )
    names = ("plan.yaml", LAB_NAME, f"{example}.oas", "plan.schema.json")
    taken = [name for name in names if (folder / name).exists()]
    if taken or (folder.exists() and not folder.is_dir()):
        raise BadInput(
            Problem(
                what="the folder",
                expected="free of " + ", ".join(names),
                got=", ".join(taken) or "a file",
                why="nothing is overwritten",
                remedy="choose another folder",
                file=str(folder),
            )
        )
    shipped = resources.files("filmwright.desk").joinpath("examples")
    plan = shipped.joinpath(example, "plan.yaml").read_text("utf-8")
    lab = _moved(shipped.joinpath(LAB_NAME).read_text("utf-8"), on or today())
    written = [
        write(folder / names[0], "# yaml-language-server: $schema=plan.schema.json\n" + plan),
        write(folder / names[1], lab),
        write(folder / names[3], json.dumps(plan_schema(), indent=1, ensure_ascii=False) + "\n"),
    ]
    write_drawing(chip(example), folder / names[2])
    return FilesAnswer(
        written=(*written[:2], folder / names[2], written[2]),
        open=folder / names[0],
        said=("An invented example to change; next:  filmwright review " + str(folder / names[0]),),
    )


def _moved(text: str, on: str) -> str:
    shift = datetime.date.fromisoformat(on) - _BASE_DATE
    return re.sub(
        r"\b\d{4}-\d{2}-\d{2}\b", lambda m: (datetime.date.fromisoformat(m[0]) + shift).isoformat(), text
    )


def review(plan: Path, lab: Path | None = None, record: Path | None = None, on: str = "") -> ReviewAnswer:
    """Findings of a plan."""
    work = informed(plan, lab, record)
    trace = walk(work.flow, work.lab, work.facts, work.drawing, on=on or today())
    findings = judge(trace, work.facts)
    return ReviewAnswer(flow=str(plan), findings=findings, counts=counts(findings))


def settings(
    plan: Path, lab: Path | None = None, step: str = "", record: Path | None = None, on: str = ""
) -> SettingsAnswer:
    """What to dial in at each elementary step."""
    work = informed(plan, lab, record)
    trace = walk(work.flow, work.lab, work.facts, work.drawing, on=on or today(), sections=False)
    only = step_of(trace.flow, step).number if step else ""
    return SettingsAnswer(
        flow=str(plan), steps=tuple(each for each in steps_of(trace) if not only or each.number == only)
    )


def steps_of(trace: Trace) -> tuple[StepSettings, ...]:
    """Settings of a walked flow."""
    return tuple(
        StepSettings(
            number=state.step.number,
            code=state.step.code,
            line=state.step.line,
            title=state.step.title,
            name=state.step.name,
            tool=state.step.tool,
            settings=tuple(SettingLine(setting=each) for each in state.settings),
            duration=state.duration,
            cautions=state.safety.cautions,
            gear=state.safety.gear,
            waste=state.safety.waste,
            warnings=state.warnings,
        )
        for state in trace.states
    )
