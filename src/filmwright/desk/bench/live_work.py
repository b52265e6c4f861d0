"""The slow part of a live review, in a process of its own: walk, rules, pictures. Nothing here knows who asked."""

from __future__ import annotations

import datetime
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from filmwright.desk.bench.live_answers import DayRow, LiveAnswer, SettingRow, StepView, counted, marks_of
from filmwright.desk.bench.surroundings import Surroundings
from filmwright.record import digest

if TYPE_CHECKING:
    from filmwright.desk.files import Work
    from filmwright.emulate import Trace
    from filmwright.errors import Problem
    from filmwright.outputs import StoryStep


@dataclass(frozen=True, kw_only=True)
class Job:
    """One text to review.

    Attributes
    ----------
    text : str
    around : Surroundings
    pictures : bool
        Whether sections are emulated and pictures drawn, too.
    start : str
        ISO time without offset at which the day plan begins.
    cut : str
        Of the sections; empty for the first of the plan.
    """

    text: str
    around: Surroundings
    pictures: bool
    start: str
    cut: str = ""

    @property
    def key(self) -> str:
        """Digest of everything that the answer follows from; the day plan counts to the minute."""
        return digest(repr((self.text, self.around.key, self.pictures, self.start[:16], self.cut)))


@dataclass(frozen=True, kw_only=True)
class Made:
    """An answer with the pictures that it names by their digests."""

    answer: LiveAnswer
    pictures: dict[str, str]


def reviewed(job: Job) -> Made:
    """A text reviewed; one that cannot be read is answered with its problems."""
    from filmwright.emulate import walk
    from filmwright.review import review as judge

    work, problems = job.around.work(job.text)
    if work is None:
        return Made(answer=read_answer(job, problems), pictures={})
    on = job.start[:10]
    trace = walk(
        work.flow, work.lab, work.facts, work.drawing, on=on, sections=job.pictures, cut=job.cut or None
    )
    findings = judge(trace, work.facts)
    marks = marks_of(job.around.file, (), findings)
    steps, pictures = _steps(trace, work, drawn=job.pictures)
    day, notes = _day(trace, job.start)
    answer = LiveAnswer(
        digest=digest(job.text),
        stage="whole" if job.pictures else "rules",
        title=work.flow.title,
        marks=marks,
        counts=counted(marks),
        steps=steps,
        day=day,
        day_notes=notes,
        readings=work.flow.readings,
        invented=work.flow.invented,
    )
    return Made(answer=answer, pictures=pictures)


def read_answer(job: Job, problems: tuple[Problem, ...]) -> LiveAnswer:
    """What is known once the text was read."""
    marks = marks_of(job.around.file, problems)
    return LiveAnswer(digest=digest(job.text), stage="read", marks=marks, counts=counted(marks))


def _steps(trace: Trace, work: Work, *, drawn: bool) -> tuple[tuple[StepView, ...], dict[str, str]]:
    from filmwright.desk.pictures import seen_at_each_step
    from filmwright.emulate import mark_contrasts, with_colours
    from filmwright.outputs import legend_of, step_pictures, told_steps

    legend = legend_of(work.facts.materials)
    if not drawn:
        return tuple(map(_shown, told_steps(trace, legend))), {}
    looks = seen_at_each_step(trace)
    trace = with_colours(trace, looks, mark_contrasts(trace, work.facts))
    told = told_steps(trace, legend, step_pictures(trace, legend, looks))
    pictures: dict[str, str] = {}

    def kept(svg: str) -> str:
        name = digest(svg) if svg else ""
        if name:
            pictures[name] = svg
        return name

    return tuple(
        replace(_shown(step), section=kept(step.section), plan=kept(step.plan), view=kept(step.view))
        for step in told
    ), pictures


def _shown(step: StoryStep) -> StepView:
    return StepView(
        number=step.number,
        code=step.code,
        title=step.title,
        line=step.line,
        tool=step.tool,
        duration=step.duration,
        caption=step.caption,
        changed=step.changed,
        settings=tuple(
            SettingRow(name=each.name, value=each.value, band=each.band, rests_on=each.rests_on)
            for each in step.settings
        ),
        look=step.look,
        cautions=step.cautions,
        warnings=step.warnings,
    )


def _day(trace: Trace, start: str) -> tuple[tuple[DayRow, ...], tuple[str, ...]]:
    """When each step can and must begin, from now on; nothing where the lab's hours leave no time."""
    from filmwright.emulate import plan_day
    from filmwright.errors import BadInput

    begin = datetime.datetime.fromisoformat(start)
    try:
        plan = plan_day(trace, begin, None, "", 1)
    except BadInput as bad:
        return (), tuple(str(each) for each in bad.problems)
    rows = tuple(
        DayRow(
            code=slot.state.step.code,
            title=slot.state.step.title,
            tool=slot.state.step.tool,
            begin=f"{slot.begin:%a %d %b %H:%M}",
            end=f"{slot.end:%H:%M}",
            day=slot.day,
            latest=f"{slot.latest:%a %H:%M}" if slot.latest else "",
            because=slot.because if slot.latest else "",
        )
        for slot in plan.slots
    )
    return rows, (*plan.notes, *map(str, plan.broken))
