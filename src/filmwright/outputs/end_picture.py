"""What is seen while a film is etched: laser light, a line of the plasma, colours, over one time axis."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from typing import TYPE_CHECKING

from filmwright.outputs import svg
from filmwright.units import show, to_si, write

if TYPE_CHECKING:
    from filmwright.emulate import EndTrace

_WIDTH = 760.0
_LEFT, _RIGHT, _TOP = 70.0, 740.0, 74.0
_PANEL, _GAP, _STRIP = 150.0, 46.0, 34.0
_INK, _BAND = "#15191f", "#8a94a3"
_ROUND = (1, 2, 5)
_SLACK = 1e-6
_APART = 100.0
"""Pixels below which the words over two lines would touch."""

_LONG = 600.0
"""Seconds from which the axis counts minutes."""

Place = Callable[[float], float]
"""Time [s] → x of the picture."""


def end_trace_svg(trace: EndTrace, *, title: str, prefix: str = "e-") -> str:
    """The traces of an etch with its end point, the band of it, and the over-etch.

    Parameters
    ----------
    trace : EndTrace
    title : str
        The step, with the word that an invented example is one.
    prefix : str
        Of the names inside the picture, so that several stand on one page.
    """
    panels: list[tuple[str, Sequence[float]]] = []
    if trace.reflectance is not None:
        panels.append(
            (f"laser {show(trace.wavelength, 'length')}: reflectance [%]", (100 * trace.reflectance).tolist())
        )
    if trace.light is not None and trace.line is not None:
        against = "of its light when clear" if trace.line.end == "rises" else "of its light at first"
        said = f"{trace.line.species} {show(trace.line.wavelength, 'length')} [% {against}]"
        panels.append((said, (100 * trace.light).tolist()))
    bottom = _TOP + len(panels) * (_PANEL + _GAP) - _GAP if panels else _TOP
    strip = bottom + (26.0 if panels else 0.0)
    ends = strip + _STRIP if trace.strip else bottom
    last = float(trace.time[-1])

    def x(time: float) -> float:
        return _LEFT + time / last * (_RIGHT - _LEFT)

    parts = [
        svg.element("defs", _hatch(prefix)),
        svg.label(_LEFT, 24, title, 15, font_weight=650),
        svg.label(_LEFT, 44, _said(trace), 12),
        _times(trace, x, prefix, ends),
    ]
    for k, (name, values) in enumerate(panels):
        parts.append(_panel(trace, x, values, name, _TOP + k * (_PANEL + _GAP)))
    if trace.strip:
        parts.append(_colours(trace, x, strip))
    parts.append(_axis(last, x, ends))
    below = ends + 52.0
    parts += [
        svg.label(_LEFT, below + 16 * k, line, 11)
        for k, line in enumerate(svg.fitted_words(_limits(trace), _RIGHT - _LEFT, 11))
    ]
    height = below + 16 * len(svg.fitted_words(_limits(trace), _RIGHT - _LEFT, 11))
    return svg.document(_WIDTH, height, "".join(parts), title)


def _said(trace: EndTrace) -> str:
    band = f"{_time(trace, trace.end_low)} to {_time(trace, trace.end_high)}"
    return f"end point {_time(trace, trace.end)} (95 %: {band}), whole etch {_time(trace, trace.total)}"


def _time(trace: EndTrace, seconds: float) -> str:
    """A time in the unit of the axis, so that it is found there."""
    return write(seconds, _unit(float(trace.time[-1])))


def _unit(last: float) -> str:
    return "min" if last > _LONG else "s"


def _limits(trace: EndTrace) -> str:
    words = []
    if trace.reflectance is not None:
        words.append("Laser: one place, straight down, a film that thins evenly and stays smooth.")
    if trace.light is not None:
        words.append(
            f"Line: rings of the wafer clear from {_time(trace, trace.first)} to {_time(trace, trace.last)}; "
            "the ground of walls and resist is left out."
        )
    elif trace.line is not None:
        words.append(
            f"Line: {trace.line.species} at {show(trace.line.wavelength, 'length')} {trace.line.end} at the end; "
            "by how much is not on file."
        )
    if trace.strip:
        words.append("Colours: computed, daylight D65, straight down; yellow light shows fewer of them.")
    words.append(
        "Hatched: where the end point lies at 95 %. Dashed: end of the over-etch. Expected, not promised: watch for the real one."
    )
    return " ".join(words)


def _hatch(prefix: str) -> str:
    lines = svg.line(0, 0, 0, 6, 1.4, stroke=_BAND)
    return (
        f'<pattern id="{prefix}band" width="5" height="6" patternUnits="userSpaceOnUse" patternTransform="rotate(35)">'
        f"{lines}</pattern>"
    )


def _times(trace: EndTrace, x: Place, prefix: str, bottom: float) -> str:
    """The band of the end point, the end point and the end of the over-etch, through all panels."""
    high = min(trace.end_high, float(trace.time[-1]))
    band = svg.element(
        "rect",
        x=x(trace.end_low),
        y=_TOP,
        width=x(high) - x(trace.end_low),
        height=bottom - _TOP,
        fill=f"url(#{prefix}band)",
        fill_opacity=0.55,
    )
    end = svg.line(x(trace.end), _TOP - 8, x(trace.end), bottom, 1.6)
    total = svg.line(x(trace.total), _TOP - 8, x(trace.total), bottom, 1.6, stroke_dasharray="6 4")
    near = x(trace.total) - x(trace.end) < _APART
    return "".join(
        (
            band,
            end,
            total,
            svg.label(
                x(trace.end) - (4 if near else 0),
                _TOP - 12,
                "end",
                11,
                text_anchor="end" if near else "middle",
            ),
            svg.label(
                x(trace.total), _TOP - 12, "over-etch done", 11, text_anchor="start" if near else "middle"
            ),
        )
    )


def _panel(trace: EndTrace, x: Place, values: Sequence[float], name: str, top: float) -> str:
    """One curve with its scale at the left."""
    step = _step(max(values), 5)
    highest = step * max(math.ceil(max(values) / step - _SLACK), 1)

    def y(value: float) -> float:
        return top + _PANEL * (1 - value / highest)

    parts = [svg.line(_LEFT, top + _PANEL, _RIGHT, top + _PANEL, 1.0)]
    for k in range(round(highest / step) + 1):
        parts.append(svg.line(_LEFT, y(k * step), _RIGHT, y(k * step), 0.6, stroke_opacity=0.25))
        parts.append(svg.label(_LEFT - 8, y(k * step) + 4, f"{k * step:g}", 11, text_anchor="end"))
    data = "M" + "L".join(
        f"{svg.number(x(float(t)))} {svg.number(y(v))}" for t, v in zip(trace.time, values, strict=True)
    )
    parts.append(svg.element("path", d=data, fill="none", stroke=_INK, stroke_width=2.2))
    middle = top + _PANEL / 2
    for k, line in enumerate(svg.fitted_words(name, _PANEL + _GAP - 10, 11)):
        at = 16.0 + 13.0 * k
        turned = f"rotate(-90 {svg.number(at)} {svg.number(middle)})"
        parts.append(svg.label(at, middle, line, 11, text_anchor="middle", transform=turned))
    return "".join(parts)


def _colours(trace: EndTrace, x: Place, top: float) -> str:
    """The place as the eye sees it, over time, with its colours by name at some of the moments."""
    parts = []
    ends = [t for t, _ in trace.strip[1:]] + [float(trace.time[-1])]
    for (start, colour), end in zip(trace.strip, ends, strict=True):
        parts.append(
            svg.element("rect", x=x(start), y=top, width=x(end) - x(start) + 0.6, height=_STRIP, fill=colour)
        )
    parts.append(
        svg.element(
            "rect", x=_LEFT, y=top, width=_RIGHT - _LEFT, height=_STRIP, fill="none", stroke="currentColor"
        )
    )
    seen = ""
    for part, _, name in trace.stages:
        at = trace.end * (1 - part)
        anchor = "start" if part == 1.0 else "end" if part == 0.0 else "middle"
        told = f"{part:.0%} {name}" if name != seen else f"{part:.0%}"
        parts.append(svg.line(x(at), top - 5, x(at), top, 1.2))
        parts.append(svg.label(x(at) - (5 if part == 0.0 else 0), top - 8, told, 10, text_anchor=anchor))
        seen = name
    return "".join(parts)


def _axis(last: float, x: Place, bottom: float) -> str:
    """Time along the bottom."""
    unit = _unit(last)
    scale = to_si(1, unit)
    step = _step(last / scale, 8)
    parts = [
        svg.label(x(k * step * scale), bottom + 17, f"{k * step:g}", 11, text_anchor="middle")
        for k in range(int(last / scale / step) + 1)
    ]
    parts.append(svg.label((_LEFT + _RIGHT) / 2, bottom + 35, f"time [{unit}]", 12, text_anchor="middle"))
    return "".join(parts)


def _step(whole: float, most: int) -> float:
    """A round step of which at most ``most`` fit."""
    power = 10.0 ** math.floor(math.log10(whole / most))
    return next(each * power for each in (*_ROUND, 10) if each * power * most >= whole)
