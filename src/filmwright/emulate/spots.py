"""Where on the die something is measured, and what lies there at that step."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, replace
from functools import cached_property

from filmwright.emulate.follows import chosen
from filmwright.emulate.trace import State, Trace
from filmwright.errors import BadInput, Problem, nearest
from filmwright.flow import Step
from filmwright.knowledge import Book, ReadingKind, reading
from filmwright.masks import Drawing
from filmwright.process import Input
from filmwright.units import convert, show, to_si, write
from filmwright.wafer import Column, Device, DeviceKind, Plan

OPEN_FIELD = "open field"
CLOSED = 0.95
"""Part of the die that a film covers from which it counts as closed over the wafer (judgement)."""

_ROUND = (20.0, 80.0, 320.0, 1280.0)
"""How far round the middle of a track its line is looked for [µm]."""

_RECTANGULAR = math.sqrt(3)
"""Half width over standard deviation of an even distribution (JCGM 100:2008, 4.3.7)."""

_THICKNESS = frozenset({"step height", "thickness"})
EVEN_AS_THICKNESS = _THICKNESS | {"sheet resistance"}
"""Readings that vary over the wafer as the thickness of the film does."""

_OF: Mapping[str, DeviceKind] = {"cross": "cross", "line": "track", "capacitor": "capacitor"}


@dataclass(frozen=True)
class Spot:
    """A step that measures, in its flow.

    Attributes
    ----------
    trace : Trace
    facts : Book
    drawing : Drawing or None
    at : int
        Place of the step in the flow.
    """

    trace: Trace
    facts: Book
    drawing: Drawing | None
    at: int

    @property
    def state(self) -> State:
        """The state after the step, which changes nothing."""
        return self.trace.states[self.at]

    @property
    def step(self) -> Step:
        """The step."""
        return self.state.step

    @cached_property
    def kind(self) -> ReadingKind:
        """What is measured."""
        return reading(self.step.medium)

    @property
    def plan(self) -> Plan:
        """The die as it lies under the instrument."""
        return self.state.wafer.plan

    @cached_property
    def device(self) -> Device | None:
        """The device that the plan names, else the first of the kind that is read; None in the open field."""
        asked = self.step.place or (self.step.material if self.kind.of in _OF else "")
        wanted = _OF.get(self.kind.of)
        if asked and asked != OPEN_FIELD:
            found = self.trace.devices.named(asked)
            if found is None and self.step.place:
                raise self._unknown(asked)
            if found is not None:
                return found
        return next(iter(self.trace.devices.of_kind(wanted)), None) if wanted else None

    def _unknown(self, asked: str) -> BadInput:
        names = sorted({device.name for device in self.trace.devices.found if device.name})
        return BadInput(
            Problem(
                what=f"the place of the step {self.step.code} {self.step.title}",
                expected=f"{OPEN_FIELD}, or a device that is found on the finished die",
                got=f'"{asked}"',
                why="what lies there is read off the wafer",
                remedy=nearest(asked, [OPEN_FIELD, *names]),
                file=self.trace.flow.file,
                line=self.step.line,
            )
        )

    @cached_property
    def column(self) -> Column | None:
        """What lies at the place: under the named device, else the largest place with the film, on top where there is one."""
        if self.device is not None and self.device.kind == "track":
            return self._of_track(self.device)
        if self.device is not None:
            return self.plan.column_at(*self.device.place)
        areas = self.plan.areas()
        film = self.step.material if self.kind.of == "film" else ""
        having = [column for column in areas if not film or column.thickness(film) > 0]
        on_top = [column for column in having if column.top.material == film]
        return max(on_top or having, key=lambda column: areas[column], default=None)

    def _of_track(self, track: Device) -> Column | None:
        """The conductor that covers most of what lies round the middle of a track: the middle itself may lie beside its line."""
        x, y = track.place
        for reach in (convert(to_si(each, "um"), "nm") for each in _ROUND):
            areas: dict[Column, float] = {}
            for cell in self.plan.within(x - reach, y - reach, x + reach, y + reach):
                if any(
                    self.facts.material(layer.material).kind == "conductor" for layer in cell.column.layers
                ):
                    areas[cell.column] = areas.get(cell.column, 0.0) + cell.region.area
            if areas:
                return max(areas, key=lambda column: areas[column])
        return None

    @property
    def place(self) -> str:
        """The place in words, with a point to drive to where the spot of the instrument fits."""
        if self.device is not None:
            name = self.device.name or self.device.kind
            return f"{name} {point_of(self.device.place)}"
        found, wide = self._best()
        if found is None:
            return OPEN_FIELD
        tight = "" if wide else f", narrower than {self._spot_text}: a witness is better"
        return (
            f"{OPEN_FIELD}, {self.column.top.material if self.column else ''} on top {point_of(found)}{tight}"
        )

    @property
    def _spot_text(self) -> str:
        spot = self.facts.models.get(self.kind.instrument, {}).get("spot")
        return f"the {show(spot.value, 'length')} that the instrument needs" if spot is not None else "a spot"

    def _best(self) -> tuple[tuple[float, float] | None, bool]:
        """A point of the largest part of the place, and whether the spot of the instrument fits round it."""
        if self.column is None:
            return None, False
        spot = self.facts.models.get(self.kind.instrument, {}).get("spot")
        cells = [*(cell for part in self.plan.parts for cell in part.core), *self.plan.field]
        parts = [part for cell in cells if cell.column == self.column for part in cell.region.parts()]
        if not parts:
            return None, False
        largest = max(parts, key=lambda part: part.area)
        inner = largest.grown(-convert(spot.value, "nm") / 2) if spot is not None else largest
        return (largest if inner.empty else inner).point_inside(), not inner.empty

    @property
    def share(self) -> float:
        """Part of the die that has the film."""
        areas = self.plan.areas()
        having = sum(area for column, area in areas.items() if column.thickness(self.step.material) > 0)
        return having / sum(areas.values())

    def film_spread(self, material: str) -> float:
        """Relative standard deviation of a film from run to run; 0 where it was bought."""
        last = self._deposit(material)
        return (last.thickness_std or 0.0) / last.thickness if last is not None and last.thickness else 0.0

    def _deposit(self, material: str) -> State | None:
        states = self.trace.states[: self.at]
        return next(
            (s for s in reversed(states) if s.step.kind == "deposit" and s.step.material == material), None
        )

    def unevenness(self, material: str) -> float | None:
        """Relative standard deviation of a film over one wafer; None where neither tool nor method says."""
        last = self._deposit(material)
        if last is None:
            return None
        tool = self.trace.lab.tools.get(last.step.tool)
        if tool is not None and tool.non_uniformity is not None:
            return tool.non_uniformity / _RECTANGULAR
        usual = self.facts.method(last.step.method).non_uniformity
        return usual.value / _RECTANGULAR if usual is not None else None

    def tolerance(self, material: str) -> float | None:
        """Relative half width that the plan accepts: of this step, else, for its thickness, of the film."""
        asked = self.step.asked.get("tolerance")
        if asked is not None:
            return asked.value
        last = self._deposit(material) if self.kind.name in _THICKNESS else None
        wanted = last.step.asked.get("thickness") if last is not None else None
        return wanted.spread / wanted.value if wanted is not None and wanted.spread else None

    def depth(self, symbol: str, layers: list[tuple[str, float]], where: str) -> Input:
        """A sum of films as an input, each with the spread of its runs."""
        total = math.fsum(thickness for _, thickness in layers)
        variance = math.fsum((self.film_spread(name) * thickness) ** 2 for name, thickness in layers)
        names = ", ".join(f"{show(thickness, 'length')} {name}" for name, thickness in layers) or "nothing"
        given = chosen(symbol, where, total, "nm", "the emulated wafer")
        return replace(given, std=math.sqrt(variance), evidence=names)

    def error(self, near: float) -> Input | None:
        """The error of one reading of the instrument: zero, with its standard deviation √(floor² + (part × reading)²)."""
        known = self.facts.models.get(self.kind.instrument)
        if not known:
            return None
        part, floor = known["relative"], known["floor"]
        std = math.hypot(floor.value, part.value * near)
        return Input(
            symbol="e",
            name=f"error of one reading ({self.kind.instrument})",
            value=0.0,
            unit=self.kind.unit,
            source=part.source,
            std=std,
            evidence=f"{write(part.value, part.unit)} of the reading and {write(floor.value, floor.unit)}",
        )


def point_of(place: tuple[float, float]) -> str:
    """A place [nm] of the drawing in words."""
    x, y = (to_si(each, "nm") for each in place)
    return f"at ({convert(x, 'um'):.0f}, {convert(y, 'um'):.0f}) µm of the die"
