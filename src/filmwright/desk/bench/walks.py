"""Wafers of lots, walked from what was done, with every earlier walk kept so that a new entry costs only what follows it."""

from __future__ import annotations

from collections import OrderedDict
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, field, replace

from filmwright.desk.bench.lived import House, life_of
from filmwright.desk.files import Work, today
from filmwright.emulate import Trace, Walked, nominal_of, read_off, walk_on
from filmwright.flow import Lived, Step
from filmwright.record import Lot

_WALKS = 72
"""Walks of a lot that are kept: of each wafer those up to now, to the steps at hand and to the end."""

BEHIND, AHEAD = 1, 2
"""Steps behind and ahead of the next one that are at hand."""

_NOW, _NEAR, _END = "now", "near", "end"
"""How far a wafer is walked: through what was done, through the steps at hand, through all."""

_LOTS = 4
"""Lots whose walks are kept."""


@dataclass
class _Kept:
    """What is known of one lot: the plan in plan view alone until somebody asks for its end, which says where it is cut."""

    work: Work
    on: str
    bare: Walked | None = None
    plan: Walked | None = None
    planned: Trace | None = None
    walks: OrderedDict[tuple[str, str], Walked] = field(default_factory=OrderedDict)


@dataclass(frozen=True, kw_only=True)
class Told:
    """One wafer, walked.

    Attributes
    ----------
    lot : Lot
    work : Work
    life : Lived
    walked : Walked
        As far as it was asked for; without sections while ``planned`` is None.
    planned : Trace or None
        Of the plan, as it was first walked: where it is cut, and its edges. None while nobody walked it to its end.
    plan : Walked
        The plan by what is known of the tools now, at least up to the last step that was asked for.
    """

    lot: Lot
    work: Work
    life: Lived
    walked: Walked
    planned: Trace | None
    plan: Walked

    @property
    def whole(self) -> bool:
        """Whether the wafer is walked to the end of its flow, with its sections."""
        return self.planned is not None and len(self.walked.states) == len(self.life.flow.steps)


class Walks:
    """Walks wafers and remembers them; for one thread."""

    def __init__(self, house: House, today: Callable[[], str] = today) -> None:
        self.house, self.today = house, today
        self._lots: OrderedDict[str, _Kept] = OrderedDict()

    def as_run(self, lot: str, wafer: str, whole: bool = True) -> Told:
        """A wafer up to now; not ``whole``: without sections where nobody knows yet where they lie."""
        return self._walked(lot, wafer, _NOW, whole)

    def to_the_end(self, lot: str, wafer: str) -> Told:
        """A wafer up to now and on, as it will be when the rest goes as planned."""
        return self._walked(lot, wafer, _END, True)

    def at_hand(self, lot: str, wafer: str) -> Told:
        """A wafer up to now and through the next steps, as far as they can be told by themselves."""
        return self._walked(lot, wafer, _NEAR, False)

    def _walked(self, lot: str, wafer: str, far: str, whole: bool) -> Told:
        kept = self._kept(lot)
        work, life = kept.work, life_of(self.house, lot, wafer)
        stop = {_NOW: life.done, _NEAR: _near(life), _END: len(life.flow.steps)}[far]
        if whole and kept.planned is None:
            _cut(kept)
        plan = _plan(kept, _reached(life.flow.steps[:stop], work.flow.steps))
        walked = walk_on(
            life.flow,
            work.lab,
            work.facts,
            work.drawing,
            on=kept.on,
            line=plan.line,
            kept=_known(kept, plan, wafer),
            steps=stop,
            beyond=far != _NOW,
        )
        key = (wafer, _END if far == _NEAR and len(walked.states) == len(life.flow.steps) else far)
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
            plan=plan,
        )

    def _kept(self, lot: str) -> _Kept:
        """What is known of a lot, what is new of its flow and of the tools minded; of a new version nobody knows the end yet."""
        work, known = self.house.work(lot), self._lots.get(lot)
        on = max(self.house.lot(lot).started[:10], self.today())
        if known is None:
            known = self._lots[lot] = _Kept(work=work, on=on)
        else:
            # Walks go on from one another only where facts and drawing are the same objects.
            work = replace(work, drawing=known.work.drawing, facts=known.work.facts)
            if known.work.flow.digest != work.flow.digest:
                known.plan = known.planned = None
            known.work, known.on = work, on
        self._lots.move_to_end(lot)
        while len(self._lots) > _LOTS:
            self._lots.popitem(last=False)
        return known


def _plan(kept: _Kept, steps: int | None) -> Walked:
    """The plan, at least as far as it is asked for, by what is known of the tools now."""
    work, known = kept.work, kept.bare if kept.plan is None else kept.plan
    found = walk_on(
        work.flow,
        work.lab,
        work.facts,
        work.drawing,
        on=kept.on,
        line=None if kept.plan is None else kept.plan.line,
        kept=() if known is None else (known,),
        steps=steps if kept.plan is None else None,
        beyond=True,
    )
    if kept.plan is None:
        kept.bare = found
    else:
        kept.plan = found
    return found


def _cut(kept: _Kept) -> None:
    """Walk the plan to its end, which says where it is cut."""
    kept.planned = read_off(_plan(kept, None))
    kept.plan = nominal_of(kept.planned, kept.work.facts, kept.work.drawing)


def _near(life: Lived) -> int:
    """Steps up to those at hand, and up to the development of an exposure among them: its mask is the exposure's too."""
    steps = life.flow.steps
    stop = min(life.done + AHEAD + 1, len(steps))
    names = {step.name for step in steps[max(life.done - BEHIND, 0) : stop] if step.kind == "expose"}
    developed = (
        k + 1 for k, step in enumerate(steps) if k >= stop and step.kind == "develop" and step.name in names
    )
    return max(stop, *developed, 0)


def _reached(steps: Sequence[Step], planned: Sequence[Step]) -> int:
    """How many steps of a plan are walked to meet each of some steps of a wafer."""
    numbers = {step.number for step in steps}
    return max((k + 1 for k, step in enumerate(planned) if step.number in numbers), default=0)


def _known(kept: _Kept, plan: Walked, wafer: str) -> Iterator[Walked]:
    """Walks to go on from: the wafer's own first, the farthest before the others, then those of its lot and the plan."""
    own = [kept.walks[key] for key in ((wafer, _END), (wafer, _NEAR), (wafer, _NOW)) if key in kept.walks]
    yield from own
    yield from (walked for (name, _), walked in reversed(kept.walks.items()) if name != wafer)
    yield plan
