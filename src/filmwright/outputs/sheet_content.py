"""From a trace to what the run sheet prints."""

from __future__ import annotations

import datetime
from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from filmwright.emulate import Parking, Slot, one_by_one, parkings, plan_day, runs_of, time_of
from filmwright.outputs.legend import Legend
from filmwright.outputs.moments import small_sections_svg
from filmwright.outputs.sheet import OpenFinding, RunSheet, SheetSetting, SheetStep
from filmwright.outputs.words import band_text, duration_text, value_text
from filmwright.units import show, to_si

if TYPE_CHECKING:
    from filmwright.emulate import Trace
    from filmwright.flow import Body, Step
    from filmwright.process import Setting
    from filmwright.review import Finding

WORKING_DAY = to_si(7, "h")
"""Time at tools that fits into one day [s]; judgement."""


@dataclass(frozen=True, kw_only=True)
class Lot:
    """For whom a sheet is printed.

    Attributes
    ----------
    name : str
    wafers : tuple of str
    date : str
        Of printing.
    split : mapping-like tuple of (wafer, what is different)
    """

    name: str
    wafers: tuple[str, ...]
    date: str = ""
    split: tuple[tuple[str, str], ...] = ()


def run_sheet_of(trace: Trace, findings: Sequence[Finding], lot: Lot, legend: Legend) -> RunSheet:
    """The run sheet of a walked flow.

    Parameters
    ----------
    trace : Trace
    findings : sequence of Finding
    lot : Lot
    legend : Legend
    """
    flow, count = trace.flow, len(lot.wafers)
    times = [time_of(state, trace.lab, count) for state in trace.states]
    slots = _in_hours(trace, count)
    days = [slot.day for slot in slots] or _days(times)
    waits = [_wait(trace, k) for k in range(len(trace.states))]
    together = {
        first: trace.states[second].step.code
        for first, second, _ in one_by_one(trace.states, trace.lab, count)
    }
    places = parkings(trace.states, trace.lab)
    before = [trace.start, *(state.wafer for state in trace.states)]
    steps = tuple(
        replace(
            _step(trace, k, findings, small_sections_svg(before[k].section, state.wafer.section, legend)),
            day=days[k],
            duration=duration_text(times[k]),
            runs=runs_of(state, trace.lab, count),
            wait=waits[k],
            together=together.get(k, ""),
            # After an inspection or measurement is soon enough: one place to write into for one wait.
            parking="" if _looks_next(trace, k) else _parking(state.step, places[k]),
            not_after=_not_after(slots[k]) if slots else "",
        )
        for k, state in enumerate(trace.states)
    )
    codes = {state.step.number: state.step.code for state in trace.states}
    return RunSheet(
        lot=lot.name,
        wafers=lot.wafers,
        title=flow.title,
        digest=flow.digest,
        steps=steps,
        because=flow.because,
        lab=trace.lab.name,
        date=lot.date,
        rates_of=trace.on,
        body=_body(flow.body),
        total=duration_text(sum(times)),
        days=days[-1] if days else 1,
        split=dict(lot.split),
        invented=flow.invented or trace.lab.invented,
        findings=tuple(
            OpenFinding(
                severity=f.severity,
                step=codes.get(f.step, f.step),
                what=_told(f),
                remedy=f"{f.remedy}; {f.refused}" if f.refused else f.remedy,
                acknowledged=f.acknowledged,
            )
            for f in findings
            if f.severity != "note" or f.acknowledged
        ),
    )


def _told(found: Finding) -> str:
    """A finding in one cell, in the words of the page and of the terminal, with its line and what follows from it."""
    at = f"line {found.line}, " if found.line else ""
    said = (
        f"{found.what} must be {found.expected}, got {found.got} ({at}{', '.join((found.rule, *found.also))})"
    )
    return ". It follows: ".join((said, "; ".join(found.follows))) if found.follows else said


_MONDAY = datetime.date(2001, 1, 1)
"""A week that stands for every week: nobody knows yet when the lot begins."""


def _in_hours(trace: Trace, wafers: int) -> tuple[Slot, ...]:
    """The steps in the opening hours of a week that begins with the first of them; empty where not all of them fit."""
    hours = trace.lab.hours
    if hours is None:
        return ()
    first = _MONDAY + datetime.timedelta(days=min(hours.days))
    opening = datetime.datetime.combine(first, datetime.time()) + datetime.timedelta(seconds=hours.opens)
    plan = plan_day(trace, opening, wafers=wafers)
    if plan.left:
        return ()
    worked = sorted({slot.day for slot in plan.slots})
    # Days on which nothing is done are not counted.
    return tuple(replace(slot, day=worked.index(slot.day) + 1) for slot in plan.slots)


def _days(durations: Sequence[float]) -> list[int]:
    """The working day of each step: a new one starts when a step no longer fits."""
    found, day, used = [], 1, 0.0
    for duration in durations:
        if used and used + duration > WORKING_DAY:
            day, used = day + 1, 0.0
        used += duration
        found.append(day)
    return found


def _body(body: Body) -> str:
    on = " on ".join(f"{show(film.thickness, 'length')} {film.material}" for film in reversed(body.films))
    return f"{body.material}, {show(body.diameter, 'length')}" + (f", {on}" if on else "")


def _step(trace: Trace, k: int, findings: Sequence[Finding], pictures: tuple[str, str]) -> SheetStep:
    state = trace.states[k]
    step, safety = state.step, state.safety
    return SheetStep(
        code=step.code,
        number=step.number,
        title=step.title,
        tool=step.tool,
        recipe=_how(step),
        because=step.because,
        settings=tuple(_setting(each, step) for each in state.settings),
        # What a reading is expected to be stands beside the box in which the real one is written.
        look=state.look[1:] if any(each.expected for each in state.readings) else state.look,
        measure=_measures(step),
        readings=state.readings,
        tables=state.tables,
        neighbours=safety.neighbours,
        alarms=safety.alarms,
        cautions=safety.cautions,
        gear=safety.gear,
        waste=safety.waste,
        interlock=safety.interlock,
        second_person=safety.second_person,
        hold=step.hold,
        findings=_of_step(findings, step.number),
        before=pictures[0],
        after=pictures[1],
    )


def _how(step: Step) -> str:
    """By which recipe, else in which bath or atmosphere, else by which method."""
    if step.recipe:
        return f"recipe {step.recipe}"
    if step.medium and step.kind != "measure":
        return f"{'with' if 'plasma' in step.medium else 'in'} {step.medium}"
    return f"by {step.method}" if step.method else ""


def _rests_on(setting: Setting) -> str:
    """What a number rests on; of a custom the citation, which says no more, is left to the derivation."""
    said = setting.evidence or str(setting.source)
    custom = setting.source.kind == "common practice"
    return said.replace(str(setting.source), setting.source.kind) if custom else said


def _setting(setting: Setting, step: Step) -> SheetSetting:
    end = step.end if setting.name == "time" else None
    first = end is not None and end.rule == "measure"
    return SheetSetting(
        name=setting.name,
        value=value_text(setting),
        band=band_text(setting),
        rests_on=_rests_on(setting),
        condition=(end.text or "measure, then compute") if end is not None and first else "",
        extra=end.extra if end is not None and end.rule == "end point" else None,
    )


def _measures(step: Step) -> tuple[str, ...]:
    if step.kind == "deposit":
        chips = f" on {', '.join(step.witness)}" if step.witness else ""
        return (f"thickness{chips}, and method",)
    return ()


def _wait(trace: Trace, k: int) -> str:
    """The longest wait that starts at the end of this step, in words."""
    step = trace.states[k].step
    names = {step.kind, step.name, step.title}
    for wait in trace.lab.waits:
        if wait.after not in names:
            continue
        for later in trace.states[k + 1 :]:
            if wait.before in {later.step.kind, later.step.name, later.step.title}:
                return f"{later.step.code} within {duration_text(wait.longest)}" + (
                    f" ({wait.why})" if wait.why else ""
                )
    return ""


def _looks_next(trace: Trace, k: int) -> bool:
    following = trace.states[k + 1 : k + 2]
    return any(state.step.kind in {"inspect", "measure"} for state in following)


def _not_after(slot: Slot) -> str:
    """The last clock time from which a place where the wafer may wait over a night is reached before closing."""
    by = slot.by_closing
    return f"{by:%H:%M}" if by is not None and by.date() == slot.begin.date() else ""


def _parking(step: Step, parking: Parking) -> str:
    """Where the plan parks the wafer, or where it is known that it may wait over a night."""
    if step.kind == "park":
        at_most = f", at most {duration_text(parking.longest)}" if parking.longest is not None else ""
        return (step.because or "the wafer may wait here") + at_most
    if parking.longest is None or not parking.overnight:
        return ""
    why = f": {parking.why}" if parking.why else ""
    return f"at most {duration_text(parking.longest)}{why}"


def _of_step(findings: Sequence[Finding], number: str) -> tuple[str, ...]:
    return tuple(
        f"{f.severity.upper() if f.severity == 'stop' else f.severity}: {f.what}: {f.got}. {f.remedy}"
        for f in findings
        if f.step == number and f.severity != "note"
    )
