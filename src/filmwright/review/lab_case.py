"""What a rule about the lab file may ask, and how it writes a finding."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass
from functools import cached_property

from filmwright.emulate import Trace
from filmwright.knowledge import (
    Belief,
    Book,
    CalibratedQuantity,
    Calibration,
    Lab,
    Method,
    Tool,
    UnknownName,
    believe,
)
from filmwright.review.finding import Finding, Severity
from filmwright.review.limited import Limited
from filmwright.units import convert, show, to_si, write

_AT_SETTINGS: frozenset[CalibratedQuantity] = frozenset({"lamp intensity", "hot-plate offset"})


@dataclass(frozen=True, kw_only=True)
class Number:
    """One thing that a lab measures of a tool, with all its readings and what is believed of it.

    Attributes
    ----------
    of : CalibratedQuantity
    tool, material, medium, recipe : str
    setting : float or None [SI]
    readings : tuple of Calibration
        In order of date.
    belief : Belief or None
        None where every reading was set aside or lies in the future.
    """

    of: CalibratedQuantity
    tool: str
    material: str
    medium: str
    recipe: str
    setting: float | None
    readings: tuple[Calibration, ...]
    belief: Belief | None

    @property
    def name(self) -> str:
        """What it is, in words."""
        at = "" if self.setting is None else _setting_text(self.of, self.setting)
        of = " of ".join(part for part in (self.of, self.material) if part)
        inside = f" in {self.medium}" if self.medium else ""
        recipe = f', recipe "{self.recipe}"' if self.recipe else ""
        return f"{of}{inside}{at} on {self.tool or 'any tool'}{recipe}"

    @property
    def line(self) -> int:
        """Of its newest reading."""
        return self.readings[-1].line

    @property
    def band(self) -> float | None:
        """Half width of the 95 % band over the value; None where nothing is believed, and of what may be zero."""
        known = self.belief
        if known is None or self.of in {"print bias", "hot-plate offset"} or not known.value:
            return None
        return 2 * known.std / abs(known.value)

    @property
    def age(self) -> float | None:
        """Since the newest reading behind the number [s]."""
        days = self.belief.age_days if self.belief is not None else None
        return None if days is None else to_si(days, "day")


def _setting_text(of: CalibratedQuantity, setting: float) -> str:
    return (
        f" at {convert(setting, 'nm'):.0f} nm"
        if of == "lamp intensity"
        else f" at {show(setting, 'temperature')}"
    )


@dataclass(frozen=True, kw_only=True)
class LabRule:
    """A rule about the lab file: one thing that good work needs of it.

    Attributes
    ----------
    name : str
    loses : str
        What can be lost.
    quantity : str
        What is looked at, in words.
    source : str
    check : function LabCase → iterator of Finding
    limits : tuple of str
        Names of the limits that it uses; a lab may change them.
    """

    name: str
    loses: str
    quantity: str
    source: str
    check: Callable[[LabCase], Iterator[Finding]]
    limits: tuple[str, ...] = ()


class LabCase(Limited):
    """A lab file on a day, with the facts, and with a plan that it is meant for where there is one."""

    def __init__(self, lab: Lab, facts: Book, on: str, trace: Trace | None = None) -> None:
        super().__init__(lab)
        self.facts, self.on, self.trace = facts, on, trace

    @cached_property
    def numbers(self) -> tuple[Number, ...]:
        """Everything that the lab has readings of, in the order of its file."""
        groups: dict[tuple[CalibratedQuantity, str, str, str, str, float | None], list[Calibration]] = {}
        for c in self.lab.calibrations:
            setting = c.setting if c.of in _AT_SETTINGS else None
            groups.setdefault((c.of, c.tool, c.material, c.medium, c.recipe, setting), []).append(c)
        return tuple(
            Number(
                of=of,
                tool=tool,
                material=material,
                medium=medium,
                recipe=recipe,
                setting=setting,
                readings=tuple(sorted(readings, key=lambda c: c.date)),
                belief=self._believed(readings[0], setting),
            )
            for (of, tool, material, medium, recipe, setting), readings in groups.items()
        )

    def _believed(self, one: Calibration, setting: float | None) -> Belief | None:
        known = believe(
            self.lab,
            self.facts,
            of=one.of,
            tool=one.tool,
            material=one.material,
            medium=one.medium,
            recipe=one.recipe,
            setting=setting,
            on=self.on,
        )
        return known if known is not None and known.age_days is not None else None

    def has(self, of: CalibratedQuantity, tool: Tool) -> bool:
        """Whether a quantity was measured of a tool, for whatever material."""
        return any(number.of == of and number.tool in ("", tool.name) for number in self.numbers)

    def methods(self, tool: Tool) -> tuple[Method, ...]:
        """The ways to deposit a film that a tool serves."""
        return tuple(found for word in tool.does if (found := self._method(word)) is not None)

    def _method(self, word: str) -> Method | None:
        try:
            return self.facts.method(word)
        except UnknownName:
            return None

    def etches(self, tool: Tool) -> bool:
        """Whether a tool etches: in baths, or with a plasma."""
        return any(word in {"wet etch", "plasma etch"} or self.etchant(word) for word in tool.does)

    def etchant(self, word: str) -> bool:
        """Whether a word names a bath or a plasma that etches."""
        try:
            return self.facts.medium(word).kind in {"wet etch", "plasma"}
        except UnknownName:
            return False

    @cached_property
    def needs(self) -> Mapping[str, tuple[CalibratedQuantity, ...]]:
        """Tool → what must have been measured of it for the steps that it serves."""
        return {tool.name: tuple(self._needed(tool)) for tool in self.lab.tools.values()}

    def _needed(self, tool: Tool) -> Iterator[CalibratedQuantity]:
        methods = self.methods(tool)
        if any("cycles" in each.settings for each in methods):
            yield "growth per cycle"
        if any("cycles" not in each.settings for each in methods):
            yield "deposition rate"
        if self.etches(tool):
            yield "etch rate"
        if "expose" in tool.does:
            yield "lamp intensity"
        if "coat" in tool.does:
            yield "resist thickness"


def told(  # noqa: PLR0913 - the fields of a finding
    severity: Severity,
    what: str,
    expected: str,
    got: str,
    why: str,
    remedy: str,
    source: str,
    line: int | None,
) -> Finding:
    """A finding at a line of the lab file; the name of the rule is filled in by the check."""
    return Finding(
        rule="",
        severity=severity,
        step="",
        line=line or None,
        what=what,
        expected=expected,
        got=got,
        why=why,
        remedy=remedy,
        source=source,
    )


def reading_text(reading: Calibration) -> str:
    """A reading as it is told."""
    return f"{write(reading.value, reading.unit)} of {reading.date} (line {reading.line})"
