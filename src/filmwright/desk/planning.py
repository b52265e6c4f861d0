"""Verbs on a plan: new, review, settings."""

from __future__ import annotations

import datetime
import difflib
import json
import re
from importlib import resources
from pathlib import Path

from filmwright.desk.accepted import informed
from filmwright.desk.answers import (
    FilesAnswer,
    ReviewAnswer,
    SettingLine,
    SettingsAnswer,
    StepSettings,
    Suggestion,
)
from filmwright.desk.files import LAB_NAME, Work, today, write
from filmwright.desk.lab_file import SCHEMA_NAME, schema_text
from filmwright.emulate import Trace, walk, with_probing, with_readings
from filmwright.errors import BadInput, Problem, nearest
from filmwright.flow import flow_from_text, plan_schema, steps_asked
from filmwright.masks import chip, write_drawing
from filmwright.review import Finding, counts, heat_of, ledger, with_changes
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
    names = ("plan.yaml", LAB_NAME, f"{example}.oas", "plan.schema.json", SCHEMA_NAME)
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
        write(folder / names[1], f"# yaml-language-server: $schema={SCHEMA_NAME}\n" + lab),
        write(folder / names[3], json.dumps(plan_schema(), indent=1, ensure_ascii=False) + "\n"),
        write(folder / names[4], schema_text()),
    ]
    write_drawing(chip(example), folder / names[2])
    return FilesAnswer(
        written=(*written[:2], folder / names[2], *written[2:]),
        open=folder / names[0],
        said=("An invented example to change; next:  filmwright review " + str(folder / names[0]),),
    )


def _moved(text: str, on: str) -> str:
    shift = datetime.date.fromisoformat(on) - _BASE_DATE
    return re.sub(
        r"\b\d{4}-\d{2}-\d{2}\b", lambda m: (datetime.date.fromisoformat(m[0]) + shift).isoformat(), text
    )


def review(
    plan: Path,
    lab: Path | None = None,
    record: str | Path | None = None,
    on: str = "",
    losses: bool = False,
    suggest: bool = False,
    heat: bool = False,
) -> ReviewAnswer:
    """Findings of a plan.

    Parameters
    ----------
    plan : Path
    lab, record : Path or None
    on : str
        ISO date; empty for today.
    losses : bool
        Also what every film lost, by step and place.
    suggest : bool
        Also the lines of the plan that mechanical remedies change, and what the review says of the changed plan.
    heat : bool
        Also what every step heats to, what every film has seen, and how far something diffused.
    """
    work, day = informed(plan, lab, record), on or today()
    trace = walk(work.flow, work.lab, work.facts, work.drawing, on=day)
    findings = judge(trace, work.facts)
    return ReviewAnswer(
        flow=str(plan),
        findings=findings,
        counts=counts(findings),
        losses=ledger(trace, work.facts) if losses else None,
        suggestion=_suggested(work, findings, day) if suggest else None,
        heat=heat_of(trace, work.facts) if heat else None,
    )


def _suggested(work: Work, findings: tuple[Finding, ...], on: str) -> Suggestion:
    """The plan with the changes that its findings carry, as a difference, and reviewed again."""
    old = work.flow.text
    new, followed = with_changes(old, findings)
    if not followed:
        return Suggestion(difference="", followed=(), left=findings, counts=counts(findings))
    name = Path(work.flow.file).name
    lines = difflib.unified_diff(old.splitlines(), new.splitlines(), name, f"{name}, changed", lineterm="")
    flow = flow_from_text(new, work.flow.file, work.lab)
    left = judge(walk(flow, work.lab, work.facts, work.drawing, on=on), work.facts)
    return Suggestion(difference="\n".join(lines) + "\n", followed=followed, left=left, counts=counts(left))


def settings(
    plan: Path, lab: Path | None = None, step: str = "", record: str | Path | None = None, on: str = ""
) -> SettingsAnswer:
    """What to dial in at each elementary step."""
    work = informed(plan, lab, record)
    asked = steps_asked(work.flow, step) if step else ()
    only = tuple(each.number for each in asked)
    # What spares an insulator is decided by its thinnest place, which only sections show.
    probed = any(each.kind == "probe" for each in asked)
    trace = walk(work.flow, work.lab, work.facts, work.drawing, on=on or today(), sections=probed)
    trace = with_probing(with_readings(trace, work.facts, work.drawing, only), work.facts, only)
    return SettingsAnswer(
        flow=str(plan), steps=tuple(each for each in steps_of(trace) if not only or each.number in only)
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
            interlock=state.safety.interlock,
            neighbours=state.safety.neighbours,
            alarms=state.safety.alarms,
            second_person=state.safety.second_person,
            warnings=state.warnings,
            follows=tuple(SettingLine(setting=each) for each in state.follows),
            readings=state.readings,
            tables=state.tables,
        )
        for state in trace.states
    )
