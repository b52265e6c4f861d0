"""A bench to look round in: three invented lots in the middle of their work, with times that end just now."""

from __future__ import annotations

import datetime
import random
import uuid
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, field
from pathlib import Path

from filmwright.desk.bench.example_tools import invented_logbooks
from filmwright.desk.files import load
from filmwright.desk.lots import keep_drawing, new_lot
from filmwright.desk.planning import EXAMPLES, new
from filmwright.flow import Step
from filmwright.record import Event, EventKind, Lot, Store
from filmwright.units import to_si

MINUTES = {"deposit": 75, "etch": 12, "anneal": 90, "expose": 18, "probe": 120, "lift off": 60, "prime": 12}
"""How long a step takes in this story; ten minutes where nothing is said."""

_OPEN, _CLOSE = datetime.time(8, 30), datetime.time(17, 0)
_SPREAD = 0.012


@dataclass(frozen=True, kw_only=True)
class ExampleBench:
    """Where the invented record and its plans lie.

    Attributes
    ----------
    record, plans : Path
    lots : tuple of str
        In the middle of their work.
    probed : str
        The lot that is finished; :func:`probe_invented` gives it curves.
    """

    record: Path
    plans: Path
    lots: tuple[str, ...]
    probed: str


@dataclass(frozen=True, kw_only=True)
class _Scene:
    """One lot of the story.

    Attributes
    ----------
    example : str
    seed : int
        Draws the name and the numbers.
    wafers : int
    until : str
        Code of the last step that was finished.
    ago : timedelta
        How long ago that was.
    who : str
    where : str
    """

    example: str
    seed: int
    wafers: int
    until: str
    ago: datetime.timedelta
    who: str
    where: str
    finished: bool = False


_PROBED = _Scene(
    example="humidity-switch",
    seed=20261016,
    wafers=4,
    until="22A",
    ago=datetime.timedelta(days=26),
    who="AB",
    where="probe station",
    finished=True,
)

PROBED_DEVICES = 24
"""Transistors of a wafer of the finished lot that have curves."""

_GAIN = {"hotter": 1.3}
"""What the hotter anneal does to the mobility in this story."""

_SCENES = (
    _Scene(
        example="platinum-thermometer",
        seed=20261102,
        wafers=3,
        until="05C",
        ago=datetime.timedelta(days=19),
        who="CM",
        where="nitrogen box, shelf 2",
    ),
    _Scene(
        example="delay-line",
        seed=20261118,
        wafers=2,
        until="03J",
        ago=datetime.timedelta(hours=2),
        who="TL",
        where="litho bay",
    ),
    _Scene(
        example="humidity-switch",
        seed=20261123,
        wafers=6,
        until="09D",
        ago=datetime.timedelta(minutes=6),
        who="AB",
        where="litho bay",
    ),
)


def example_bench(folder: Path, now: datetime.datetime | None = None) -> ExampleBench:
    """Write plans and a record of an invented bench into a folder.

    Parameters
    ----------
    folder : Path
        Empty, or made.
    now : datetime or None
        With its offset; the story ends there. None takes the clock.
    """
    end = (now or datetime.datetime.now().astimezone()).replace(microsecond=0)
    plans, record = folder / "plans", folder / "record.sqlite"
    for name in EXAMPLES:
        new(plans / name, name, on=end.date().isoformat())
    lots = []
    with Store.open(record, create=True) as store:
        for scene in (_PROBED, *_SCENES):
            plan = plans / scene.example / "plan.yaml"
            work = load(plan)
            done = _done(work.flow.steps, scene.until)
            times = list(_times(done, end - scene.ago))
            began = times[0][0] - datetime.timedelta(minutes=20)
            note = f"an invented lot of the bundled example. Started by {scene.who}."
            lot = new_lot(work, plan, scene.wafers, note, began.isoformat(), scene.seed)
            store.start_lot(lot)
            keep_drawing(store, lot, plan, work)
            story = _Story(lot=lot, scene=scene, random=random.Random(scene.seed))
            story.told(work.flow.steps, done, times, end)
            store.append(story.events)
            lots.append(lot.name)
        store.enter(invented_logbooks(work.lab, end))
    return ExampleBench(record=record, plans=plans, lots=tuple(lots[1:]), probed=lots[0])


def probe_invented(
    record: str | Path, lot: str, most: int = PROBED_DEVICES, tell: Callable[[str], None] = lambda what: None
) -> int:
    """Draw curves of the transistors of a finished invented lot from its wafers as they were made, and keep them.

    Parameters
    ----------
    record : str or Path
    lot : str
    most : int
        Transistors of each wafer.
    tell : function of str
        Is told what is done next.

    Returns
    -------
    int
        Files that were kept.
    """
    from filmwright.desk.explain import gather
    from filmwright.desk.invent import keep_tables
    from filmwright.desk.left_out import variants

    with Store.open(record) as store:
        story = gather(store, lot, curves=False, tell=tell)
        tell("invented curves")
        parted = variants(story.events)
        gain = {wafer: _GAIN.get(parted.get(wafer, ""), 1.0) for wafer in story.lot.wafers}
        return keep_tables(store, story.lot, story.run, story.work.facts, most, gain=gain)


def _done(steps: Sequence[Step], until: str) -> tuple[Step, ...]:
    last = next(k for k, step in enumerate(steps) if step.code == until)
    return tuple(steps[: last + 1])


def _times(
    steps: Sequence[Step], end: datetime.datetime
) -> Iterator[tuple[datetime.datetime, datetime.datetime]]:
    """Begin and end of each step, worked out backwards from the last; nobody works at night, but for tonight."""
    found = []
    for step in reversed(steps):
        begin = end - datetime.timedelta(minutes=MINUTES.get(step.kind, 10))
        found.append((begin, end))
        end = begin - datetime.timedelta(minutes=7)
        if end.time() < _OPEN:
            day = end.date() - datetime.timedelta(days=1)
            while day.weekday() > 4:
                day -= datetime.timedelta(days=1)
            end = datetime.datetime.combine(day, _CLOSE, end.tzinfo)
    return reversed(found)


@dataclass(kw_only=True)
class _Story:
    """What was written down of one lot."""

    lot: Lot
    scene: _Scene
    random: random.Random
    events: list[Event] = field(default_factory=list)

    def told(
        self,
        steps: Sequence[Step],
        done: Sequence[Step],
        times: Sequence[tuple[datetime.datetime, datetime.datetime]],
        end: datetime.datetime,
    ) -> None:
        """The whole story."""
        began = times[0][0] - datetime.timedelta(minutes=15)
        self.write("place", began, name="location", text=self.scene.where)
        for number, wafer in enumerate(self.lot.wafers, start=1):
            self.write("place", began, wafer=wafer, name="carrier", text=f"carrier 4, slot {number}")
        if self.scene.example == "humidity-switch":
            self._split(steps, began)
        for step, (begin, over) in zip(done, times, strict=True):
            self._step(step, begin, over)
            if step.hold and step is not done[-1]:
                self.write("hold", over, step=step.number, name="go", text="as described")
        if self.scene.example == "humidity-switch" and not self.scene.finished:
            self._end_of_switch(steps, end)
        if self.scene.example == "platinum-thermometer":
            self.write(
                "note",
                end - self.scene.ago,
                text="evaporator is down; go on with the insulator when it is up",
            )

    def write(
        self,
        kind: EventKind,
        when: datetime.datetime,
        *,
        step: str = "",
        **more: str | float,
    ) -> None:
        """One entry."""
        stamp = when.isoformat(timespec="seconds")
        number = uuid.UUID(bytes=self.random.randbytes(16), version=4)
        content: dict[str, object] = {"who": self.scene.who, **more}
        self.events.append(
            Event(
                id=str(number),
                lot=self.lot.name,
                kind=kind,
                happened=stamp,
                written=stamp,
                step=step,
                invented=True,
                **content,  # type: ignore[arg-type]
            )
        )

    def _step(self, step: Step, begin: datetime.datetime, end: datetime.datetime) -> None:
        self.write("start", begin, step=step.number)
        for name in ("time", "temperature", "power", "pressure"):
            asked = step.asked.get(name)
            if asked is not None:
                self.write("set", begin, step=step.number, name=name, value=asked.value, unit=asked.unit)
        thickness = step.asked.get("thickness")
        if step.kind == "deposit" and thickness is not None:
            drift = 1 + self.random.gauss(0, 2 * _SPREAD)
            for wafer in self.lot.wafers:
                value = thickness.value * drift * (1 + self.random.gauss(0, _SPREAD))
                self.write(
                    "measured", end, step=step.number, wafer=wafer, name="thickness", value=value, unit="nm"
                )
        self.write("finish", end, step=step.number)

    def _split(self, steps: Sequence[Step], when: datetime.datetime) -> None:
        anneal = next(step for step in steps if step.kind == "anneal")
        half = len(self.lot.wafers) // 2
        for wafers, variant, celsius in (
            (self.lot.wafers[:half], "cooler", 200.0),
            (self.lot.wafers[half:], "hotter", 250.0),
        ):
            for wafer in wafers:
                self.write(
                    "split", when, step=anneal.number, wafer=wafer, name="temperature",
                    value=to_si(celsius, "degC"), unit="degC", text=variant,
                )  # fmt: skip

    def _end_of_switch(self, steps: Sequence[Step], end: datetime.datetime) -> None:
        """One wafer in the bake with its clock, one broken, one to be printed again, the others waiting their turn."""
        by_code = {step.code: step for step in steps}
        bake, coat = by_code["09E"], by_code["09D"]
        first, broken, spotted = self.lot.wafers[0], self.lot.wafers[3], self.lot.wafers[4]
        before = end - self.scene.ago
        self.write("hold", before, step=coat.number, wafer=broken, name="scrap", text="broke in the tweezers")
        self.write(
            "hold", before, step=coat.number, wafer=spotted, name="rework",
            text="a comet from a particle in the resist",
        )  # fmt: skip
        started = end - datetime.timedelta(minutes=2)
        self.write("start", started, step=bake.number, wafer=first)
        self.write(
            "timer", started, step=bake.number, wafer=first, name="soft bake",
            value=to_si(25.0, "min"), unit="min",
        )  # fmt: skip
