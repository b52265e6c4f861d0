"""Invented logbooks for the bench to look round in: half a year of checks, monthly points, a maintenance and fresh baths."""

from __future__ import annotations

import datetime
import random
import uuid
from collections.abc import Iterator
from dataclasses import dataclass

from filmwright.desk.logbooks import BATH, TOOL, spread_words, told
from filmwright.knowledge import Calibration, Lab
from filmwright.record import LogbookEntry
from filmwright.units import to_si

_SEED = 20261026
_WEEKS = 18
_POINTS = 6
_PEOPLE = ("AB", "CM", "TL")
_EVAPORATOR, _ALIGNER, _SPUTTER = "evaporator", "mask aligner", "oxide sputter"


@dataclass(frozen=True, kw_only=True)
class _Habit:
    """A check that this invented lab makes.

    Attributes
    ----------
    tool, name, unit : str
    middle, spread, drift : float
        In the unit; the spread of one reading, and how far the level moves from the first reading to the last.
    slip : int
        Which reading stands out; below 0 for none.
    """

    tool: str
    name: str
    unit: str
    middle: float
    spread: float
    drift: float = 0.0
    slip: int = -1


_HABITS = (
    _Habit(tool=_EVAPORATOR, name="base pressure", unit="Pa", middle=4.2e-5, spread=0.4e-5, slip=21),
    _Habit(tool=_ALIGNER, name="lamp intensity", unit="mW/cm^2", middle=11.9, spread=0.12, drift=-1.4),
    _Habit(tool=_SPUTTER, name="base pressure", unit="Pa", middle=3.1e-4, spread=0.3e-4),
)


def invented_logbooks(lab: Lab, end: datetime.datetime) -> tuple[LogbookEntry, ...]:
    """Lines up to a moment, the same for the same moment; every one is marked invented.

    Parameters
    ----------
    lab : Lab
        An invented one.
    end : datetime
        With its offset.
    """
    draw = random.Random(_SEED)
    found = [line for habit in _HABITS if habit.tool in lab.tools for line in _checks(habit, end, draw)]
    for each in lab.calibrations:
        if each.of == "deposition rate" and each.material and each.tool in (_EVAPORATOR, _SPUTTER):
            found += _points(each, draw)
    found += _states(lab, end, draw)
    return tuple(sorted(found, key=lambda line: line.happened))


def _checks(habit: _Habit, end: datetime.datetime, draw: random.Random) -> Iterator[LogbookEntry]:
    """Twice a week, up to the eve of the last day."""
    days = [end - datetime.timedelta(days=7 * week + day) for week in range(_WEEKS, -1, -1) for day in (4, 1)]
    for place, day in enumerate(days):
        value = habit.middle + habit.drift * place / len(days) + habit.spread * draw.gauss(0, 1)
        value += 7 * habit.spread if place == habit.slip else 0.0
        yield _line(
            draw, TOOL + habit.tool, day.replace(hour=8, minute=draw.randrange(10, 50)), kind="check",
            name=habit.name, value=to_si(float(f"{value:.3g}"), habit.unit), unit=habit.unit,
        )  # fmt: skip


def _points(last: Calibration, draw: random.Random) -> Iterator[LogbookEntry]:
    """Monthly points before a calibration of the lab file, walking towards it."""
    level = last.value
    day = datetime.datetime.fromisoformat(f"{last.date}T10:20:00+01:00")
    for month in range(1, _POINTS + 1):
        level *= 1 + 0.025 * draw.gauss(0, 1)
        std = 0.02 * level
        yield _line(
            draw, TOOL + last.tool, day - datetime.timedelta(days=30 * month), kind="qualification", name=last.of,
            value=level + std * draw.gauss(0, 1), unit=last.unit,
            text=told(material=last.material, recipe=last.recipe, spread=spread_words(std, last.unit), evidence="stylus"),
        )  # fmt: skip


def _states(lab: Lab, end: datetime.datetime, draw: random.Random) -> Iterator[LogbookEntry]:
    """What happened to tools and baths of late."""
    told_of = (
        ("stylus", 3, "state", "limited", "the stage sticks at 20 mm; steps near the middle can be read"),
        ("chlorine etcher", 40, "state", "down", "chiller alarm"),
        ("chlorine etcher", 36, "state", "up", "hose changed, leak checked"),
        (
            _SPUTTER,
            25,
            "recipe",
            "channel oxide",
            "oxygen 0.4 sccm, was 0.3 sccm: the film was too conducting",
        ),
    )
    for tool, ago, kind, name, text in told_of:
        if tool in lab.tools:
            day = end - datetime.timedelta(days=ago)
            yield _line(draw, TOOL + tool, day, kind=kind, name=name, text=text)
    for bath in lab.baths:
        when = end - datetime.timedelta(days=1)
        yield _line(draw, BATH + bath.name, when, kind="bath", name="topped up", text=told(evidence="0.2 L"))


def _line(draw: random.Random, book: str, when: datetime.datetime, **more: object) -> LogbookEntry:
    text = when.isoformat(timespec="seconds")
    return LogbookEntry(
        id=str(uuid.UUID(int=draw.getrandbits(128))), book=book, happened=text, written=text,
        who=draw.choice(_PEOPLE), invented=True, **more,  # type: ignore[arg-type]
    )  # fmt: skip
