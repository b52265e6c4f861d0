"""Drift charts of a tool, drawn from its answers."""

from __future__ import annotations

import datetime
import functools
from collections.abc import Sequence
from typing import TYPE_CHECKING

from filmwright.desk.bench.tool_numbers import track_of
from filmwright.learn import ControlChart
from filmwright.outputs import ChartPhase, ChartPoint, DriftContent, drift_chart_svg
from filmwright.units import write

if TYPE_CHECKING:
    from filmwright.desk.bench.tool_numbers import NumberToday
    from filmwright.desk.bench.tools import CheckHistory
    from filmwright.knowledge import Lab


def check_content(history: CheckHistory, on: str, openings: Sequence[str] = ()) -> DriftContent:
    """What the chart of a check shows.

    Parameters
    ----------
    history : CheckHistory
    on : str
        ISO date from which days are counted.
    openings : sequence of str
        ISO dates.
    """
    days = [_day(line.happened[:10], on) for line in history.lines]
    points = tuple(
        ChartPoint(
            day=day,
            value=line.value or 0.0,
            said=f"{line.happened[:10]}, {line.who}: {write(line.value or 0.0, history.unit)}",
            alarm=_alarm(history.chart, place),
        )
        for place, (day, line) in enumerate(zip(days, history.lines, strict=True))
    )
    return DriftContent(
        title=f"{history.name}{f', recipe {history.recipe}' if history.recipe else ''}",
        label=history.name,
        unit=history.unit,
        points=points,
        phases=_phases(history.chart, days),
        openings=_shown(openings, on, days),
        note="invented" if any(line.invented for line in history.lines) else "",
    )


def number_content(number: NumberToday, lab: Lab) -> DriftContent:
    """What the chart of a number shows: readings with their spread, what was believed between them, and today's band."""
    days = [_day(each.date, number.on) for each in number.readings]
    points = tuple(
        ChartPoint(
            day=day,
            value=each.value,
            std=each.std,
            said=f"{each.date}, {each.by or 'the lab file'}: {write(each.value, number.unit)}",
            alarm=_alarm(number.chart, place),
        )
        for place, (day, each) in enumerate(zip(days, number.readings, strict=True))
    )
    return DriftContent(
        title=number.name,
        label=number.of,
        unit=number.unit,
        points=points,
        phases=_phases(number.chart, days),
        openings=_shown(number.openings, number.on, days),
        band=track_of(number, lab),
        note="invented" if any(each.kind == "invented" for each in number.readings) else "",
    )


@functools.lru_cache(maxsize=256)
def chart_svg(content: DriftContent) -> str:
    """A chart as a picture of its own; drawn once for the same content."""
    return drift_chart_svg(content)


def _alarm(chart: ControlChart, place: int) -> str:
    found = chart.alarms_at(place)
    return found[0].rule.name if found else ""


def _phases(chart: ControlChart, days: Sequence[float]) -> tuple[ChartPhase, ...]:
    return tuple(
        ChartPhase(
            begin=days[phase.first],
            end=days[phase.after] if phase.after < len(days) else 0.0,
            centre=phase.limits.centre,
            low=phase.limits.low,
            high=phase.limits.high,
        )
        for phase in chart.phases
        if phase.limits is not None
    )


def _shown(openings: Sequence[str], on: str, days: Sequence[float]) -> tuple[float, ...]:
    """Openings within the time that is drawn."""
    found = (_day(each, on) for each in openings)
    return tuple(day for day in found if min(days, default=0.0) <= day <= 0.0)


def _day(text: str, on: str) -> float:
    return float((datetime.date.fromisoformat(text) - datetime.date.fromisoformat(on)).days)
