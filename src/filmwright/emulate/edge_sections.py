"""Short sections across the edges of a die: the actions of a walked flow, along any line, each once.

Two lines that the prints cut at the same places carry the same section, whatever lies elsewhere; two lines that the first
prints cut at the same places share everything up to the print in which they differ.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import replace

from filmwright.numerics import Polyline, Region
from filmwright.units import convert, to_si
from filmwright.wafer import Action, Clear, Column, Heat, Print, Section, print_spans, reached_from_beyond

Spans = tuple[tuple[float, float], ...]

MARGIN_NM = convert(to_si(3, "um"), "nm")
"""How far a section goes on beyond the ends of its line: wider than any film is thick."""

DEPTH_NM = convert(to_si(2, "um"), "nm")
"""How much of the wafer body takes part."""


class EdgeSections:
    """Sections of one wafer along short lines.

    Parameters
    ----------
    start : Column
        The wafer as bought.
    actions : sequence of Action
        Everything that happened to it.
    left : frozenset of str
        Films that the finished die still has somewhere.
    stages : int or None
        Steps of time of each etch that goes sideways; None takes as many as a picture does.
    """

    def __init__(
        self, start: Column, actions: Sequence[Action], left: frozenset[str], stages: int | None = None
    ) -> None:
        self.start = start
        self.left = left
        self.stages = stages
        self.parts: list[list[Action]] = [[]]
        """The actions before the first print, then those of each print: itself and what follows it."""
        for action in actions:
            if isinstance(action, Print):
                self.parts.append([])
            if not isinstance(action, Heat):
                self.parts[-1].append(action)
        self._known: dict[tuple[float, tuple[Spans, ...]], Section] = {}

    @property
    def prints(self) -> tuple[Print, ...]:
        """All prints in their order."""
        return tuple(part[0] for part in self.parts[1:] if isinstance(part[0], Print))

    def along(self, line: Polyline) -> Section:
        """The section along a line of the drawing."""
        spans = tuple(_spans(action, line) for action in self.prints)
        return replace(self._after(float(round(line.length)), spans), cut=line)

    def _after(self, length: float, spans: tuple[Spans, ...]) -> Section:
        """The section after some prints, and what followed each, along a line of a length [nm]."""
        key = (length, spans)
        if key in self._known:
            return self._known[key]
        section = self._after(length, spans[:-1]) if spans else self._bought(length)
        for action in self.parts[len(spans)]:
            if isinstance(action, Print):
                action = replace(action, keep=_strips(spans[-1], length))
            section = section.apply(action, stages=self.stages)
            if isinstance(action, Clear):
                section = reached_from_beyond(section, action.materials, self.left)
        self._known[key] = section
        return section

    def _bought(self, length: float) -> Section:
        body, *films = self.start.layers
        return Section.start(
            Polyline(((0.0, 0.0), (length, 0.0))),
            body.material,
            [(layer.material, layer.film, layer.thickness) for layer in films],
            margin=MARGIN_NM,
            depth=DEPTH_NM,
        )

    def feet(self, line: Polyline) -> tuple[float, ...]:
        """Where along a line the feet of printed resist stood [nm]."""
        found = set()
        for action in self.prints:
            bias = convert(action.bias, "nm")
            for low, high in _spans(action, line):
                found |= {low - bias, high + bias}
        return tuple(sorted(foot for foot in found if math.isfinite(foot)))


def _spans(action: Print, line: Polyline) -> Spans:
    """Where resist stays along a line, to the nanometre of the drawing; infinite where it goes on."""
    return tuple((_whole(low), _whole(high)) for low, high in print_spans(action.keep, line))


def _whole(place: float) -> float:
    return place if math.isinf(place) else float(round(place))


def _strips(spans: Spans, length: float) -> Region:
    """Spans as strips across a line on the x axis."""
    ends = [(max(low, 0.0), min(high, length)) for low, high in spans]
    return Region.of([(a, -1.0), (b, -1.0), (b, 1.0), (a, 1.0)] for a, b in ends if b > a)
