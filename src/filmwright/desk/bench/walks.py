"""Wafers of lots, walked from what was done, with every earlier walk kept so that a new entry costs only what follows it."""

from __future__ import annotations

from collections import OrderedDict
from collections.abc import Iterator
from dataclasses import dataclass, field

from filmwright.desk.bench.lived import House, life_of
from filmwright.desk.files import Work
from filmwright.emulate import Trace, Walked, walk, walk_on
from filmwright.flow import Lived
from filmwright.numerics import Polyline
from filmwright.record import Lot

_WAFERS = 24
"""Wafers of a lot whose walks are kept."""

_LOTS = 4
"""Lots whose walks are kept."""


@dataclass
class _Kept:
    """What is known of one lot."""

    work: Work
    planned: Trace
    walks: OrderedDict[str, Walked] = field(default_factory=OrderedDict)

    @property
    def line(self) -> Polyline | None:
        """Where the sections lie: as the plan is cut, for all wafers alike."""
        section = self.planned.start.section
        return section.cut if section is not None else None


@dataclass(frozen=True, kw_only=True)
class Told:
    """One wafer, walked.

    Attributes
    ----------
    lot : Lot
    work : Work
    life : Lived
    walked : Walked
        As far as it was asked for.
    planned : Trace
        Of the plan.
    """

    lot: Lot
    work: Work
    life: Lived
    walked: Walked
    planned: Trace


class Walks:
    """Walks wafers and remembers them; for one thread."""

    def __init__(self, house: House) -> None:
        self.house = house
        self._lots: OrderedDict[str, _Kept] = OrderedDict()

    def as_run(self, lot: str, wafer: str) -> Told:
        """A wafer up to now."""
        return self._walked(lot, wafer, to_the_end=False)

    def to_the_end(self, lot: str, wafer: str) -> Told:
        """A wafer up to now and on, as it will be when the rest goes as planned."""
        return self._walked(lot, wafer, to_the_end=True)

    def planned(self, lot: str) -> Trace:
        """The plan of a lot."""
        return self._kept(lot).planned

    def _walked(self, lot: str, wafer: str, *, to_the_end: bool) -> Told:
        kept = self._kept(lot)
        work, life = kept.work, life_of(self.house, lot, wafer)
        walked = walk_on(
            life.flow,
            work.lab,
            work.facts,
            work.drawing,
            on=kept.planned.on,
            line=kept.line,
            kept=_known(kept, wafer),
            steps=None if to_the_end else life.done,
        )
        if not _holds(kept.walks.get(wafer), walked):
            kept.walks[wafer] = walked
        kept.walks.move_to_end(wafer)
        while len(kept.walks) > _WAFERS:
            kept.walks.popitem(last=False)
        return Told(lot=self.house.lot(lot), work=work, life=life, walked=walked, planned=kept.planned)

    def _kept(self, lot: str) -> _Kept:
        """What is known of a lot; a new version of its flow is walked as planned first."""
        work, known = self.house.work(lot), self._lots.get(lot)
        if known is None or known.work.flow.digest != work.flow.digest:
            on = self.house.lot(lot).started[:10]
            walks = known.walks if known is not None else OrderedDict()
            if known is not None:
                # Walks go on from one another only where facts, lab and drawing are the same objects.
                work = Work(
                    flow=work.flow,
                    lab=known.work.lab,
                    lab_text=known.work.lab_text,
                    drawing=known.work.drawing,
                    facts=known.work.facts,
                )
            planned = walk(work.flow, work.lab, work.facts, work.drawing, on=on)
            self._lots[lot] = known = _Kept(work=work, planned=planned, walks=walks)
        self._lots.move_to_end(lot)
        while len(self._lots) > _LOTS:
            self._lots.popitem(last=False)
        return known


def _known(kept: _Kept, wafer: str) -> Iterator[Walked]:
    """Walks to go on from: the wafer's own first, then those of its lot."""
    if wafer in kept.walks:
        yield kept.walks[wafer]
    yield from (walked for name, walked in reversed(kept.walks.items()) if name != wafer)


def _holds(known: Walked | None, walked: Walked) -> bool:
    """Whether an earlier walk went the same way, and as far or farther."""
    if known is None or len(known.states) < len(walked.states):
        return False
    return all(one is other for one, other in zip(known.states, walked.states, strict=False))
