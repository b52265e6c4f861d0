"""The verb day: a flow in the opening hours of the lab."""

from __future__ import annotations

import datetime
import itertools
import zoneinfo
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

from filmwright.desk.accepted import informed
from filmwright.desk.files import now, write
from filmwright.emulate import DayPlan, Slot, plan_day, walk
from filmwright.errors import BadInput, Problem, nearest
from filmwright.flow import clock, step_of, zone_named


@dataclass(frozen=True, kw_only=True)
class DayAnswer:
    """A day plan.

    Attributes
    ----------
    flow : str
    plan : DayPlan
    written : Path or None
        The calendar file.
    wafers : int
    zone : str
        Of the clock on the wall; empty where none is known.
    """

    flow: str
    plan: DayPlan
    written: Path | None = None
    wafers: int = 1
    zone: str = ""

    def fields(self) -> dict[str, Any]:
        """For programs; times are local ISO times, durations in seconds."""
        plan = self.plan
        return {
            "flow": self.flow,
            "wafers": self.wafers,
            "zone": self.zone or None,
            "start": plan.start.isoformat(),
            "closing": plan.closing.isoformat() if plan.closing else None,
            "finish": plan.finish.isoformat(timespec="seconds"),
            "done_before_closing": plan.in_time,
            "steps": [_slot(slot) for slot in plan.slots],
            "waits_not_kept": list(plan.broken),
            "steps_that_never_fit": list(plan.left),
            "notes": list(plan.notes),
            "written": str(self.written) if self.written else None,
        }


def _slot(slot: Slot) -> dict[str, Any]:
    step, parking = slot.state.step, slot.parking
    return {
        "number": step.number,
        "code": step.code,
        "title": step.title,
        "tool": step.tool,
        "line": step.line,
        "day": slot.day,
        "runs": slot.runs,
        "begin": slot.begin.isoformat(timespec="seconds"),
        "end": slot.end.isoformat(timespec="seconds"),
        "phases": [{"name": name, "time": time, "unit": "s"} for name, time in slot.phases],
        "latest_start": slot.latest.isoformat(timespec="seconds") if slot.latest else None,
        "latest_because": slot.because if slot.latest else "",
        "latest_for_the_day": slot.for_day.isoformat(timespec="seconds") if slot.for_day else None,
        "waits": {"value": slot.waits, "unit": "s"},
        "may_wait": {
            "value": parking.longest,
            "unit": "s",
            "known": parking.longest is not None,
            "why": parking.why,
            "source": parking.source,
            "place": parking.place,
        },
        "cautions": list(slot.state.safety.cautions),
    }


def day(  # noqa: PLR0913 - one for each thing that can be asked of a day
    plan: Path,
    lab: Path | None = None,
    start: str = "",
    closing: str = "",
    first: str = "",
    into: Path | None = None,
    record: str | Path | None = None,
    wafers: int = 1,
    zone: str = "",
) -> DayAnswer:
    """When each step of a plan can begin and must begin.

    Parameters
    ----------
    plan : Path
    lab, record : Path or None
    start : str
        Date and clock time; empty for now.
    closing : str
        Clock time at which the first day ends; empty for the hours of the lab file.
    first : str
        Number or code of the step to begin with; empty for the first.
    into : Path or None
        Calendar file to write.
    wafers : int
    zone : str
        Time zone of the clock on the wall; empty for that of the lab file, if it names one.
    """
    begin, ends = _moment(start), _closing(closing)
    work = informed(plan, lab, record)
    if first:
        first = step_of(work.flow, first).number
    trace = walk(work.flow, work.lab, work.facts, work.drawing, on=begin.date().isoformat(), sections=False)
    found = plan_day(trace, begin, ends, first, wafers)
    named = zone or work.lab.zone
    where = _zone(named)
    if where is not None:
        found = replace(found, notes=(*found.notes, *_changes_of_clock(found, where)))
    written = write(into, _calendar(found, work.flow.digest, where)) if into else None
    return DayAnswer(flow=str(plan), plan=found, written=written, wafers=wafers, zone=named)


def _zone(name: str) -> datetime.tzinfo | None:
    if not name:
        return None
    found = zone_named(name)
    if found is None:
        raise BadInput(
            Problem(
                what="the time zone",
                expected="a time zone by its name, such as Europe/Berlin",
                got=f'"{name}"',
                why="the calendar file says from it when a step begins anywhere on earth",
                remedy=nearest(name, sorted(zoneinfo.available_timezones())),
            )
        )
    return found


def _changes_of_clock(plan: DayPlan, zone: datetime.tzinfo) -> tuple[str, ...]:
    """Nights over which the clock on the wall is changed: an hour is then missing or told twice."""
    offsets = [(slot, slot.begin.replace(tzinfo=zone).utcoffset()) for slot in plan.slots]
    return tuple(
        f"the clock is changed before {late.state.step.code} on {late.begin:%A %d %B}: the wait before it is an hour off"
        for (_, before), (late, after) in itertools.pairwise(offsets)
        if before != after
    )


def _moment(text: str) -> datetime.datetime:
    """A local time without a zone, to the minute."""
    if not text:
        return datetime.datetime.fromisoformat(now()).replace(tzinfo=None, second=0, microsecond=0)
    try:
        found = datetime.datetime.fromisoformat(text.strip())
    except ValueError:
        found = None
    if found is None or found.tzinfo is not None or len(text.strip()) < len("2026-11-26 09:00"):
        raise BadInput(
            Problem(
                what="the start",
                expected='a date with a clock time on the wall, such as "2026-11-26 09:00"',
                got=f'"{text}"',
                why="everything else is planned from it",
                remedy="write year-month-day hours:minutes",
            )
        )
    return found


def _closing(text: str) -> float | None:
    if not text:
        return None
    found = clock(text)
    if found is None:
        raise BadInput(
            Problem(
                what="the closing",
                expected="a clock time such as 18:00",
                got=f'"{text}"',
                why="the day is planned up to it",
                remedy="write hours:minutes",
            )
        )
    return found


def _calendar(plan: DayPlan, digest: str, zone: datetime.tzinfo | None) -> str:
    from filmwright.outputs import Event, calendar_text

    events = [
        Event(
            key=f"{slot.state.step.number}-{slot.begin:%Y%m%dT%H%M%S}",
            begin=slot.begin,
            end=slot.end,
            title=f"{slot.state.step.code} {slot.state.step.title}",
            place=slot.state.step.tool,
            text=_event_text(slot),
        )
        for slot in plan.slots
    ]
    made = datetime.datetime.fromisoformat(now())
    return calendar_text(events, made, f"{digest}.filmwright", zone)


def _event_text(slot: Slot) -> str:
    from filmwright.outputs import duration_text

    lines = [", ".join(f"{name} {duration_text(time)}" for name, time in slot.phases)]
    if slot.latest:
        lines.append(f"Begin by {slot.latest:%a %H:%M}: {slot.because}.")
    if slot.parking.longest is not None:
        why = f": {slot.parking.why}" if slot.parking.why else ""
        lines.append(f"Afterwards the wafer may wait {duration_text(slot.parking.longest)}{why}.")
    lines += slot.state.safety.cautions
    lines.append("The site's procedures go first; no time here is a permission.")
    return "\n".join(line for line in lines if line)
