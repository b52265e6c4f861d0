"""A step that is longer than its tool is open."""

from __future__ import annotations

from collections.abc import Iterator

from filmwright.emulate import phases
from filmwright.knowledge import Hours
from filmwright.review.case import Case, Rule, finding, step_named
from filmwright.review.finding import Finding
from filmwright.units import show, to_si

_DAY = to_si(1, "day")
_WEEK = 7


def check(case: Case) -> Iterator[Finding]:
    """Time at the tool, with load, pump-down, heating and cooling, against the longest time that the tool is open at a stretch."""
    for state in case.trace.states:
        tool = case.lab.tools.get(state.step.tool)
        own = tool.hours if tool is not None else None
        hours = own or case.lab.hours
        if hours is None or state.step.done:
            continue
        room = longest_opening(hours) - case.limit("before closing")
        if state.duration <= room:
            continue
        parts = ", ".join(f"{name} {show(time, 'time')}" for name, time in phases(state, tool))
        yield finding(
            state,
            "warn",
            f"the time of {step_named(state)} at {state.step.tool or 'its tool'}",
            f"at most {show(room, 'time')}, {case.limit_text('before closing')} less than "
            f"{'it' if own else 'the lab'} is open at a stretch",
            f"{show(state.duration, 'time')}: {parts}",
            "the tool closes on a wafer that is still in it, on whatever day it begins",
            "make it shorter, split it over two steps with a place to park between, or ask for other hours and change the lab file",
            f"{case.limit_source('before closing')}; hours of {case.lab.file or case.lab.name}",
        )


def longest_opening(hours: Hours) -> float:
    """The longest time [s] that is open at a stretch; days that are open around the clock join, all seven without end."""
    if hours.closes - hours.opens < _DAY:
        return hours.closes - hours.opens
    if len(hours.days) >= _WEEK:
        return float("inf")
    return _DAY * max(_run(day, hours.days) for day in hours.days)


def _run(day: int, days: frozenset[int]) -> int:
    return next(k for k in range(1, _WEEK + 1) if (day + k) % _WEEK not in days)


RULE = Rule(
    name="longer than the tool is open",
    loses="a wafer in a closed tool",
    quantity="time at the tool with all that is around it − longest opening of a day",
    limits=("before closing",),
    source="the lab's own hours",
    answers=("waits",),
    check=check,
)
