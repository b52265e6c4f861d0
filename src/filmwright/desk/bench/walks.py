"""Wafers of lots, walked from what was done, with every earlier walk kept so that a new entry costs only what follows it."""

from __future__ import annotations

from collections import OrderedDict
from collections.abc import Callable, Iterator
from dataclasses import dataclass, field, replace

from filmwright.desk.bench.lived import House, life_of
from filmwright.desk.files import Work, today
from filmwright.emulate import Trace, Walked, nominal_of, walk, walk_on
from filmwright.flow import Lived
from filmwright.record import Lot

_WALKS = 48
"""Walks of a lot that are kept: of each wafer the one up to now and the one to the end."""

_LOTS = 4
"""Lots whose walks are kept."""


@dataclass
class _Kept:
    """What is known of one lot."""

    work: Work
    planned: Trace
    plan: Walked
    walks: OrderedDict[tuple[str, bool], Walked] = field(default_factory=OrderedDict)


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
        Of the plan, as it was first walked: where it is cut, and its edges.
    plan : Walked
        The plan by what is known of the tools now.
    """

    lot: Lot
    work: Work
    life: Lived
    walked: Walked
    planned: Trace
    plan: Walked


class Walks:
    """Walks wafers and remembers them; for one thread."""

    def __init__(self, house: House, today: Callable[[], str] = today) -> None:
        self.house, self.today = house, today
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
            on=kept.plan.on,
            line=kept.plan.line,
            kept=_known(kept, wafer),
            steps=None if to_the_end else life.done,
        )
        key = (wafer, to_the_end)
        kept.walks[key] = walked
        kept.walks.move_to_end(key)
        while len(kept.walks) > _WALKS:
            kept.walks.popitem(last=False)
        return Told(
            lot=self.house.lot(lot),
            work=work,
            life=life,
            walked=walked,
            planned=kept.planned,
            plan=kept.plan,
        )

    def _kept(self, lot: str) -> _Kept:
        """What is known of a lot; a new version of its flow is walked as planned first, what is new of the tools minded."""
        work, known = self.house.work(lot), self._lots.get(lot)
        on = max(self.house.lot(lot).started[:10], self.today())
        if known is not None:
            # Walks go on from one another only where facts and drawing are the same objects.
            work = replace(work, drawing=known.work.drawing, facts=known.work.facts)
        if known is None or known.work.flow.digest != work.flow.digest:
            planned = walk(work.flow, work.lab, work.facts, work.drawing, on=on)
            plan = nominal_of(planned, work.facts, work.drawing)
            walks = known.walks if known is not None else OrderedDict()
            self._lots[lot] = known = _Kept(work=work, planned=planned, plan=plan, walks=walks)
        elif known.plan.on != on or known.work.lab != work.lab:
            known.work = work
            known.plan = walk_on(
                work.flow, work.lab, work.facts, work.drawing, on=on, line=known.plan.line, kept=(known.plan,)
            )
        self._lots.move_to_end(lot)
        while len(self._lots) > _LOTS:
            self._lots.popitem(last=False)
        return known


def _known(kept: _Kept, wafer: str) -> Iterator[Walked]:
    """Walks to go on from: the wafer's own first, the farthest before the others, then those of its lot and the plan."""
    own = [kept.walks[key] for key in ((wafer, True), (wafer, False)) if key in kept.walks]
    yield from own
    yield from (walked for (name, _), walked in reversed(kept.walks.items()) if name != wafer)
    yield kept.plan
