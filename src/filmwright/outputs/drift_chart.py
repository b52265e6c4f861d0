"""The history of a tool's number: readings, limits of each phase, maintenance, what stands out, and the band up to today."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass, field

import numpy as np

from filmwright.outputs.plot import Axis, FloatArray, Level, Panel, Plot, Series
from filmwright.outputs.plot_paper import panel_svg
from filmwright.outputs.plot_parts import printed_unit
from filmwright.units import convert

_STYLED = re.compile(r' style="([^"]*)"')
_INKED = re.compile(r"var\(--ink-\d, (#[0-9a-f]{6})\)")


@dataclass(frozen=True, kw_only=True)
class ChartPoint:
    """One reading.

    Attributes
    ----------
    day : float [days]
        From today; before it negative.
    value : float [SI]
    std : float or None [SI]
    said : str
        Date, who and how, for readers that speak and on the live figure.
    alarm : str
        Name of the rule that it meets; empty for none.
    """

    day: float
    value: float
    std: float | None = None
    said: str = ""
    alarm: str = ""


@dataclass(frozen=True, kw_only=True)
class ChartPhase:
    """Limits between two maintenances: from a day to a day, centre line and control limits [SI]."""

    begin: float
    end: float
    centre: float
    low: float
    high: float


@dataclass(frozen=True, kw_only=True)
class DriftContent:
    """What a drift chart shows.

    Attributes
    ----------
    title, label, unit : str
        Of the chart and of the number, in the unit in which it is drawn.
    points : tuple of ChartPoint
    phases : tuple of ChartPhase
    openings : tuple of float [days]
        When the tool was opened.
    band : tuple of (day, value, low, high)
        What is believed from reading to reading up to today [SI]; empty where nothing is predicted.
    note : str
    """

    title: str
    label: str
    unit: str
    points: tuple[ChartPoint, ...]
    phases: tuple[ChartPhase, ...] = ()
    openings: tuple[float, ...] = ()
    band: tuple[tuple[float, float, float, float], ...] = field(default=())
    note: str = ""


def drift_plot(content: DriftContent) -> Plot:
    """The chart as a figure, drawn live and on paper alike; what stands out is ringed by a sign of its own and named in the legend.

    Parameters
    ----------
    content : DriftContent
    """
    days = [each.day for each in content.points] + list(content.openings) + [0.0]
    first = min(days)
    margin = max(0.04 * -first, 0.5)
    panel = Panel(
        x=Axis(label="time from today", unit="day", low=first - margin, high=margin),
        y=Axis(label=content.label, unit=printed_unit(content.unit)),
        series=(
            *_band(content),
            *(
                line
                for number, phase in enumerate(content.phases)
                for line in _limits(phase, content.unit, number == 0)
            ),
            *_points(content),
            *_alarms(content),
        ),
        levels=tuple(
            Level(value=day, label="opened" if number == 0 else "", across="x")
            for number, day in enumerate(content.openings)
        ),
        note=content.note,
    )
    return Plot(title=content.title, panels=(panel,), columns=1)


def drift_chart_svg(content: DriftContent, *, prefix: str = "d") -> str:
    """The chart at rest, as a picture of its own: styled by attributes alone, so that a strict page may show it.

    Parameters
    ----------
    content : DriftContent
    prefix : str
        Before every id.
    """
    plot = drift_plot(content)
    text = panel_svg(plot.panels[0], prefix=prefix, title=content.title)
    return by_attributes(text)


_INK_OF_PAGE, _PAPER_OF_PAGE = "#1d1b18", "#ffffff"


def by_attributes(svg: str) -> str:
    """A picture whose style attributes became presentation attributes and whose inks no longer ask the page."""
    text = _STYLED.sub(lambda found: _as_attributes(found.group(1)), svg)
    text = _INKED.sub(r"\1", text).replace("currentColor", _INK_OF_PAGE)
    return text.replace("var(--card, #ffffff)", _PAPER_OF_PAGE)


def _as_attributes(style: str) -> str:
    parts = [piece.partition(":") for piece in style.split(";") if ":" in piece]
    return "".join(f' {name.strip()}="{value.strip()}"' for name, _, value in parts)


def _in(values: Sequence[float], unit: str) -> FloatArray:
    return np.array([convert(value, unit) for value in values], dtype=float)


def _band(content: DriftContent) -> tuple[Series, ...]:
    if not content.band:
        return ()
    days, values, lows, highs = zip(*content.band, strict=True)
    unit = content.unit
    return (
        Series(
            x=np.array(days), y=_in(values, unit), low=_in(lows, unit), high=_in(highs, unit),
            label="believed, with its 95 % band", ink=0, thin=True,
        ),
    )  # fmt: skip


def _limits(phase: ChartPhase, unit: str, named: bool) -> tuple[Series, ...]:
    ends = np.array([phase.begin, phase.end])
    rows = ((phase.centre, "centre line", 3), (phase.low, "control limits", 1), (phase.high, "", 1))
    return tuple(
        Series(x=ends, y=_in([level, level], unit), label=name if named else "", ink=6, dash=dash, thin=True)
        for level, name, dash in rows
    )


def _points(content: DriftContent) -> tuple[Series, ...]:
    plain = [point for point in content.points if not point.alarm]
    return (_marked(plain, content.unit, "reading", "circle", 0),) if plain else ()


def _alarms(content: DriftContent) -> tuple[Series, ...]:
    marks = ("diamond", "triangle", "square", "cross", "x")
    names = list(dict.fromkeys(point.alarm for point in content.points if point.alarm))
    return tuple(
        _marked([point for point in content.points if point.alarm == name], content.unit, name, mark, 2)
        for name, mark in zip(names, [marks[k % len(marks)] for k in range(len(names))], strict=True)
    )


def _marked(points: Sequence[ChartPoint], unit: str, label: str, mark: str, ink: int) -> Series:
    spread = all(point.std is not None for point in points)
    values = [point.value for point in points]
    halves = [2 * (point.std or 0.0) for point in points]
    return Series(
        x=np.array([point.day for point in points]),
        y=_in(values, unit),
        low=_in([v - h for v, h in zip(values, halves, strict=True)], unit) if spread else None,
        high=_in([v + h for v, h in zip(values, halves, strict=True)], unit) if spread else None,
        label=label,
        ink=ink,
        mark=mark,
        line=False,
        notes=tuple(point.said for point in points),
    )
