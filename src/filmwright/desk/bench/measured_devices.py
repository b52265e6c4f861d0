"""Each measured device of a lot as a page tells it: fate, numbers with their errors, place in the die, and the curves behind them."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from filmwright.units import convert, to_si

if TYPE_CHECKING:
    from filmwright.desk.explain import Probed, Story
    from filmwright.desk.population_answers import StatisticsAnswer
    from filmwright.learn import DeviceOutcome
    from filmwright.measure import Sweep

_POINTS = 96
"""Of a curve as it is drawn on a page."""
_PLACES, _PLAIN = 8, (1e-3, 1e5)
"""Decimal places and sizes of numbers that are written without a power of ten."""


@dataclass(frozen=True, kw_only=True)
class Number:
    """One parameter of a device, in the unit in which it is printed.

    Attributes
    ----------
    value : float
    std : float or None
        One standard deviation; None where the curve does not tell it.
    unit : str
    over_decades : bool
        Whether devices differ in it by factors, so that its logarithm is drawn.
    """

    value: float
    std: float | None
    unit: str
    over_decades: bool = False

    @property
    def level(self) -> float | None:
        """The value as it is drawn; None for what has no logarithm."""
        if not self.over_decades:
            return self.value
        return math.log10(self.value) if self.value > 0 else None

    @property
    def shown(self) -> str:
        """Value, error and unit, with as many digits as the error allows."""
        if self.std is None or not 0 < self.std < math.inf:
            return f"{_figure(self.value, 4)} {self.unit}".strip()
        places = max(1 - math.floor(math.log10(self.std)), 0)
        if places > _PLACES or (self.value and not _PLAIN[0] <= abs(self.value) < _PLAIN[1]):
            return f"{_figure(self.value, 4)} ± {_figure(self.std, 2)} {self.unit}".strip()
        return f"{self.value:.{places}f} ± {self.std:.{places}f} {self.unit}".replace("-", "−").strip()


def plain_unit(unit: str) -> str:
    """A unit as it is printed on paper: ``cm²/(V·s)``."""
    return unit.replace("^2", "²").replace("*", "·")


def _figure(value: float, digits: int) -> str:
    return f"{value:.{digits}g}".replace("-", "−")


@dataclass(frozen=True, kw_only=True)
class Drawn:
    """One sweep as it is drawn.

    Attributes
    ----------
    drain : float or None [V]
    direction : str
        ``forward`` or ``backward``.
    gate, current : tuple of float [V, A]
    expected : tuple of float [A]
        What is predicted for the device as it was made, at the same voltages; empty while it is not worked out.
    """

    drain: float | None
    direction: str
    gate: tuple[float, ...]
    current: tuple[float, ...]
    expected: tuple[float, ...] = ()


@dataclass(frozen=True, kw_only=True)
class MeasuredDevice:
    """A measured device of a lot.

    Attributes
    ----------
    wafer, device : str
    cause : str
        ``works``, or why it does not.
    drawn, split, left_out, file : str
    x_mm, y_mm : float or None
        Its place, from the middle of the die.
    numbers : mapping from parameter to Number
    curves : tuple of Drawn
    """

    wafer: str
    device: str
    cause: str = "works"
    drawn: str = ""
    split: str = ""
    left_out: str = ""
    file: str = ""
    x_mm: float | None = None
    y_mm: float | None = None
    numbers: Mapping[str, Number]
    curves: tuple[Drawn, ...] = ()

    @property
    def name(self) -> str:
        """Wafer and device."""
        return f"{self.wafer} {self.device}".strip()

    @property
    def counts(self) -> bool:
        """Whether it works and is not left out."""
        return self.cause == "works" and not self.left_out

    def fields(self) -> dict[str, Any]:
        """For programs; without the points of the curves."""
        return {
            "wafer": self.wafer, "device": self.device, "cause": self.cause, "drawn": self.drawn, "split": self.split,
            "left_out": self.left_out, "file": self.file, "place": {"x": self.x_mm, "y": self.y_mm, "unit": "mm"},
            "numbers": {
                name: {"value": each.value, "std": each.std, "unit": each.unit} for name, each in self.numbers.items()
            },
        }  # fmt: skip


def devices_of_story(story: Story, answer: StatisticsAnswer) -> tuple[MeasuredDevice, ...]:
    """The measured devices, in the order of the statistics."""
    newest = {(each.wafer, each.device): each for each in story.probed}
    return tuple(_device(each, answer, newest[each.wafer, each.device]) for each in answer.outcomes)


def half_sides(story: Story) -> tuple[float, float]:
    """Half the sides of the die [mm]."""
    x0, y0, x1, y1 = story.planned.start.plan.die.bounds
    return convert(to_si((x1 - x0) / 2, "nm"), "mm"), convert(to_si((y1 - y0) / 2, "nm"), "mm")


def _device(found: DeviceOutcome, answer: StatisticsAnswer, probed: Probed) -> MeasuredDevice:
    from filmwright.learn import LOGARITHMIC

    numbers = {}
    for name, value in found.parameters.items():
        shown, std = answer.shown(name, value), found.stds.get(name)
        numbers[name] = Number(
            value=shown,
            std=None if std is None else abs(answer.shown(name, value + std) - shown),
            unit=plain_unit(answer.unit(name)),
            over_decades=name in LOGARITHMIC,
        )
    return MeasuredDevice(
        wafer=found.wafer,
        device=found.device,
        cause=found.cause or "works",
        drawn=found.drawn,
        split=found.split,
        left_out=found.left_out,
        file=probed.file,
        x_mm=None if found.x is None else convert(found.x, "mm"),
        y_mm=None if found.y is None else convert(found.y, "mm"),
        numbers=numbers,
        curves=tuple(
            _drawn(sweep, result.direction, ahead)
            for sweep, result, ahead in zip(probed.sweeps, probed.results, _ahead(probed), strict=True)
        ),
    )


def _ahead(probed: Probed) -> Sequence[Sweep | None]:
    """The predicted sweep of each measured one, as it was made."""
    found = (probed.expected or {}).get("as run") or (probed.expected or {}).get("planned")
    return found if found is not None else [None] * len(probed.sweeps)


def _drawn(sweep: Sweep, direction: str, ahead: Sweep | None) -> Drawn:
    step = max(1, math.ceil(len(sweep.gate_voltage) / _POINTS))

    def thinned(values: Any) -> tuple[float, ...]:
        return tuple(float(f"{value:.4g}") for value in values[::step])

    return Drawn(
        drain=sweep.drain_voltage,
        direction=direction,
        gate=thinned(sweep.gate_voltage),
        current=thinned(sweep.drain_current),
        expected=thinned(ahead.drain_current) if ahead is not None else (),
    )
