"""A step as it stands at the bench: what to do, what to dial in, what it should look like, what is written already."""

from __future__ import annotations

import datetime
import threading
from collections import OrderedDict
from collections.abc import Mapping
from dataclasses import asdict, dataclass, field
from typing import TYPE_CHECKING, Any

from filmwright.desk.bench.checks import Plan, units_of
from filmwright.desk.bench.entries import words_of
from filmwright.desk.bench.holds import back_to, check_start
from filmwright.desk.bench.renamed import earlier_names, with_entered
from filmwright.desk.bench.tool_notices import tool_notices
from filmwright.desk.files import today
from filmwright.errors import BadInput, Problem, nearest
from filmwright.flow import LOGGED, Step, step_of
from filmwright.record import digest, label_of
from filmwright.units import convert, plain, to_si, write

if TYPE_CHECKING:
    from filmwright.desk.answers import SettingLine, StepSettings
    from filmwright.desk.bench.emulation import Known
    from filmwright.desk.bench.house import Bench
    from filmwright.desk.bench.planned import PlannedStep
    from filmwright.desk.bench.progress import Progress, Timer
    from filmwright.emulate import Safety
    from filmwright.record import Event

_MEASURED = frozenset({"step height", "sheet resistance", "areal capacitance", "thickness"})
_UNDONE = frozenset(
    {"start", "finish", "skip", "set", "seen", "measured", "note", "photo", "timer", "hold", "place"}
)
"""Kinds that a tap at this page made and another can take back."""
_UNBEGUN = frozenset({"waiting", "ready", "rework"})
FIRST = ("running", "held", "ready", "rework", "waiting", "done", "skipped", "scrapped", "away")
"""Of several wafers the state that asks most for a hand comes first."""


@dataclass(frozen=True, kw_only=True)
class Knob:
    """One setting to dial in.

    Attributes
    ----------
    name : str
    number, unit : str
        As it is printed, e.g. ``41`` and ``s``; a choice in words stands in ``number``.
    band : str
        ``± 2 s``; empty where none is known.
    source, age, because : str
        What it rests on, how old that is, and the equation with its numbers.
    plan : Plan or None
        What an entry is held against; None for a choice in words, or what nothing is logged under.
    actual : str
        What was entered already, with unit.
    earlier : str
        The name under which it was entered before the plan was changed; empty when it is this one.
    units : mapping from unit to float
        Those that the keypad offers, each with its size in the first one.
    """

    name: str
    number: str
    unit: str = ""
    band: str = ""
    source: str = ""
    age: str = ""
    because: str = ""
    plan: Plan | None = None
    actual: str = ""
    earlier: str = ""
    units: Mapping[str, float] = field(default_factory=dict)

    @property
    def half(self) -> str:
        """Half width of the band in the planned unit, for the page's own look at a number."""
        return f"{self.plan.half:.9g}" if self.plan else ""

    @property
    def planned(self) -> str:
        """The plan in its unit with all its digits, as it is written down by "as planned"."""
        return f"{convert(self.plan.value, self.plan.unit):.6g}" if self.plan else ""

    def fields(self) -> dict[str, Any]:
        """For programs."""
        found = {k: v for k, v in asdict(self).items() if k not in {"plan", "units"}}
        return {**found, "units": list(self.units)}


@dataclass(frozen=True, kw_only=True)
class WaferChoice:
    """A wafer that can be chosen: its name and check character, where it stands, and how far it is at this step."""

    name: str
    state: str
    check: str = ""
    place: int = 0
    of: int = 1
    variant: str = ""
    location: str = ""
    here: bool = True


@dataclass(frozen=True, kw_only=True)
class EntryLine:
    """An entry of the step as it is listed; one that was taken back stays, struck out."""

    id: str
    happened: str
    who: str
    words: str
    wafer: str = ""
    taken_back: bool = False
    can_take_back: bool = False
    sha256: str = ""


@dataclass(frozen=True, kw_only=True)
class StepCard:
    """Everything that the page of a step shows.

    Attributes
    ----------
    lot, number, code, title : str
    todo : str
        One sentence.
    safety : Safety or StepSettings
        Cautions, gear and waste: they need no emulation and are there from the first second.
    because : str
    wafer : str
        Empty: all wafers that are here.
    wafers : tuple of WaferChoice
    state : State
    mixed : bool
        Whether the wafers stand differently at this step while all are meant.
    parted : bool
        Whether a split plans this step otherwise for some of them while all are meant.
    knobs : tuple of Knob
    also : tuple of str
        What was entered of settings that the plan does not have here, in words.
    enters : tuple of Knob
        What can be measured or seen here and written down.
    planned : PlannedStep or None
        Pictures, colours; None while it is being worked out.
    working : bool
        Whether something newer is being worked out.
    trouble : str
        Why it cannot be; empty otherwise.
    mark : str
        Changes when more has been worked out.
    hold : str
        What to look at; empty when there is no hold point.
    back : str
        Of a rework: code of the step where it begins anew.
    decision : str
        At the hold point, in words; empty when nobody has decided.
    blocked : tuple of (code, number, what to look at) or None
        The hold point that has to be decided before this step begins.
    end_point : bool
        Whether the step is watched for its end.
    go_on : tuple of (number, unit, words) or None
        How long to go on after the end point that was seen.
    timers : tuple of Timer
        Of the whole lot.
    timer : str
        Length that the plan gives, as ``41 s``; empty when the step has none.
    entries : tuple of EntryLine
    notices : tuple of str
        About the tool.
    previous, following : tuple of (code, title), or None
    seen : int
        Position of the newest entry of the step.
    """

    lot: str
    number: str
    code: str
    title: str
    todo: str
    wafer: str
    wafers: tuple[WaferChoice, ...]
    state: str
    seen: int
    safety: Safety | StepSettings
    because: str = ""
    tool: str = ""
    mixed: bool = False
    parted: bool = False
    started: str = ""
    finished: str = ""
    who: str = ""
    why: str = ""
    knobs: tuple[Knob, ...] = ()
    also: tuple[str, ...] = ()
    enters: tuple[Knob, ...] = ()
    planned: PlannedStep | None = None
    working: bool = False
    trouble: str = ""
    mark: str = ""
    hold: str = ""
    back: str = ""
    decision: str = ""
    blocked: tuple[str, str, str] | None = None
    end_point: bool = False
    go_on: tuple[str, str, str] | None = None
    timers: tuple[Timer, ...] = ()
    timer: str = ""
    entries: tuple[EntryLine, ...] = ()
    notices: tuple[str, ...] = ()
    previous: tuple[str, str] | None = None
    following: tuple[str, str] | None = None
    count: int = 1
    place: int = 1
    invented: bool = False

    def fields(self) -> dict[str, Any]:
        """For programs."""
        return {
            **{name: getattr(self, name) for name in (
                "lot", "number", "code", "title", "todo", "because", "tool", "wafer", "state", "mixed", "seen",
                "started", "finished", "who", "why", "hold", "back", "decision", "end_point", "timer", "place", "count",
            )},
            "wafers": [asdict(each) for each in self.wafers],
            "settings": [each.fields() for each in self.knobs],
            "also_entered": list(self.also),
            "timers": [asdict(each) for each in self.timers],
            "entries": [asdict(each) for each in self.entries],
            "notices": list(self.notices),
            "previous": self.previous and self.previous[0],
            "next": self.following and self.following[0],
            "worked_out": None if self.planned is None else self.planned.fields(),
        }  # fmt: skip


def step_card(bench: Bench, lot: str, code: str, wafer: str = "") -> StepCard:
    """A step of a lot, for one wafer or for all that are here.

    Parameters
    ----------
    bench : Bench
    lot : str
    code : str
        Code or number of the step.
    wafer : str
        Empty: all.

    Raises
    ------
    BadInput
        When there is no such lot, step or wafer.
    """
    held, flow, progress = bench.lot(lot), bench.flow(lot), bench.progress(lot)
    step = step_of(flow, code)
    choices = _choices(progress, step)
    if wafer and wafer not in {each.name for each in choices}:
        raise _no_wafer(lot, wafer, choices)
    here = [each for each in choices if each.here]
    meant = [wafer] if wafer else [each.name for each in here] or [choices[0].name]
    states = {progress.cell(each, step.number).state for each in meant}
    state = min(states, key=FIRST.index)
    leader = next(each for each in meant if progress.cell(each, step.number).state == state)
    cell = progress.cell(leader, step.number)
    known = _known(bench, lot, leader)
    planned = _step_of(known, step.number)
    entered = cell.visits[-1].settings if cell.visits else {}
    knobs, also = with_entered(
        _knobs(step, planned, cell.planned), entered, earlier_names(bench, lot, step.number)
    )
    order = [each.number for each in flow.steps]
    at = order.index(step.number)
    near = [
        (flow.steps[k].code, flow.steps[k].title) if 0 <= k < len(order) else None for k in (at - 1, at + 1)
    ]
    time = next((each for each in knobs if each.name == "time" and each.plan), None)
    return StepCard(
        lot=held.name, number=step.number, code=step.code, title=step.title, todo=_todo(step), because=step.because,
        safety=planned.settings if planned is not None else safety_of(step),
        tool=step.tool, wafer=wafer, wafers=choices, state=state, mixed=len(states) > 1,
        parted=_parted(progress, step.number, meant), started=cell.started, finished=cell.finished, who=cell.who,
        why=cell.why, knobs=knobs, also=also, enters=_enters(step), planned=planned,
        working=known is not None and known.working, trouble=known.trouble if known is not None else "",
        blocked=_blocked(progress, step.number, meant) if state in _UNBEGUN else None,
        mark=_mark(planned), go_on=_go_on(step, cell.visits[-1].seen.get("end point") if cell.visits else None),
        hold=step.hold, back=_back(flow.steps, at), decision=_decided(cell.decision),
        end_point=step.end is not None and step.end.rule == "end point", timers=progress.timers,
        timer=f"{time.number} {time.unit}" if time else "", entries=_entries(bench, lot, step.number, wafer),
        notices=tool_notices(bench, lot, step.number), previous=near[0], following=near[1], seen=bench.seen(lot, step.number),
        place=at + 1, count=len(order), invented=held.invented,
    )  # fmt: skip


def safety_of(step: Step) -> Safety:
    """What the sheet says of a step's hazards by its kind, chemicals and method alone."""
    from filmwright.emulate import safety_unwalked
    from filmwright.knowledge import book

    return safety_unwalked(step, book())


def plans_of(bench: Bench, lot: str, number: str, wafer: str = "") -> dict[str, Plan]:
    """What was planned of each number of a step, as far as it is known now.

    Parameters
    ----------
    bench : Bench
    lot, number : str
    wafer : str
        Empty: the lot.
    """
    progress = bench.progress(lot)
    leader = wafer or _leader(progress)
    step = next((each for each in progress.steps if each.number == number), None)
    if step is None or leader not in progress.states:
        return {}
    split = progress.cell(leader, number).planned
    knobs = _knobs(step, _step_of(_known(bench, lot, leader), number), split)
    return {each.name: each.plan for each in knobs if each.plan}


def _parted(progress: Progress, number: str, wafers: list[str]) -> bool:
    """Whether a split plans a step otherwise for some of these wafers than for others."""
    plans = [progress.cell(each, number).planned for each in wafers]
    told = [sorted((name, each.value) for name, each in plan.items()) for plan in plans]
    return any(each != told[0] for each in told)


def _blocked(progress: Progress, number: str, wafers: list[str]) -> tuple[str, str, str] | None:
    """The hold point that has to be decided before a step begins: its code, its number, and what to look at."""
    try:
        check_start(progress, number, wafers)
    except BadInput as bad:
        step = next(each for each in progress.steps if f" {each.code} before " in f" {bad.problems[0].what} ")
        return step.code, step.number, step.hold or step.title
    return None


def worked_out(bench: Bench, lot: str, code: str, wafer: str = "") -> tuple[str, bool]:
    """A mark of what is known of a step beyond its entries, and whether something newer is being worked out.

    Parameters
    ----------
    bench : Bench
    lot, code : str
    wafer : str
        Empty: the first that is here stands for all.
    """
    number = step_of(bench.flow(lot), code).number
    known = _known(bench, lot, wafer or _leader(bench.progress(lot)))
    return _mark(_step_of(known, number)), known is not None and known.working


def _leader(progress: Progress) -> str:
    return next((each.name for each in progress.present), progress.pieces[0].name)


_MARKS: OrderedDict[int, tuple[PlannedStep, str]] = OrderedDict()
_MARKED = 4096
_MARKING = threading.Lock()


def _mark(step: PlannedStep | None) -> str:
    """A digest of all that a step shows, made once for each answer of the worker."""
    if step is None:
        return ""
    with _MARKING:
        kept = _MARKS.get(id(step))
        if kept is None or kept[0] is not step:
            kept = _MARKS[id(step)] = step, digest(f"{step.fields()}{step.before}{step.after}")[:12]
            while len(_MARKS) > _MARKED:
                _MARKS.popitem(last=False)
        return kept[1]


def _step_of(known: Known | None, number: str) -> PlannedStep | None:
    """The step as far as it is known; a step of the wafer as it was before the last entries is better than none."""
    from filmwright.desk.bench.planned import PlannedLot

    answer = known.answer if known is not None else None
    return answer.step(number) if isinstance(answer, PlannedLot) else None


def _known(bench: Bench, lot: str, wafer: str) -> Known | None:
    """What has been worked out of the wafer; the worker goes on with the rest. None where there is no worker."""
    return bench.emulate().known("planned", lot, wafer) if bench.place is not None else None


def _no_wafer(lot: str, wafer: str, choices: tuple[WaferChoice, ...]) -> BadInput:
    return BadInput(
        Problem(
            what="the wafer",
            expected=f"one of lot {lot}",
            got=f'"{wafer}"',
            why="what is done belongs to the wafer on the bench",
            remedy=nearest(wafer, [each.name for each in choices]),
        )
    )


def _choices(progress: Progress, step: Step) -> tuple[WaferChoice, ...]:
    return tuple(
        WaferChoice(
            name=each.name,
            check=label_of(progress.lot, each.name).removeprefix(f"{progress.lot} {each.name}"),
            state=progress.cell(each.name, step.number).state,
            place=place,
            of=len(progress.pieces),
            variant=each.variant,
            location=each.location,
            here=each.standing == "present",
        )
        for place, each in enumerate(progress.pieces)
    )


def _todo(step: Step) -> str:
    """What to do, as one sentence."""
    how = ""
    if step.recipe:
        how = f" with recipe {step.recipe}"
    elif step.method and step.method not in step.title:
        how = f" by {step.method}"
    elif step.medium and step.kind not in {"measure", "probe"} and step.medium not in step.title:
        how = f" in {step.medium}"
    at = f" at the {step.tool}" if step.tool and step.tool not in step.title else ""
    return f"{step.title}{how}{at}."


def _knobs(step: Step, planned: Any, split: Mapping[str, Event]) -> tuple[Knob, ...]:
    if planned is not None:
        knobs = [_of_setting(each) for each in planned.settings.settings]
    else:
        knobs = [
            _knob(name, each.value, each.unit, (each.spread or 0.0) / 2, source="the plan")
            for name, each in step.asked.items()
        ]
    names = {each.name for each in knobs}
    of_split = [
        _knob(name, each.value, each.unit, None, source=f"split {each.text}".strip())
        for name, each in split.items()
        if each.value is not None
    ]
    told = {each.name: each for each in of_split}
    merged = [told.get(each.name, each) for each in knobs] + [
        each for each in of_split if each.name not in names
    ]
    # What the hand sets comes before what was only computed on the way to it.
    return tuple(sorted(merged, key=lambda each: each.plan is None and bool(each.unit)))


def _of_setting(line: SettingLine) -> Knob:
    setting = line.setting
    if setting.value is None:
        return Knob(name=setting.name, number=setting.text, source=_said(line), because=setting.because)
    return _knob(
        setting.name, setting.value, setting.unit, setting.spread, source=_said(line), because=setting.because,
        date=setting.source.date, condition=setting.text,
    )  # fmt: skip


def _said(line: SettingLine) -> str:
    source = line.setting.source
    said = line.evidence or str(source)
    return said.replace(str(source), source.kind) if source.kind == "common practice" else said


def _knob(  # noqa: PLR0913 - one word per thing that stands beside a number
    name: str, value: float, unit: str, spread: float | None, *, source: str, because: str = "", date: str = "",
    condition: str = "",
) -> Knob:  # fmt: skip
    number, _, shown = write(value, unit).partition(" ")
    logged = name in LOGGED
    plan = Plan(name=name, value=value, unit=unit, spread=spread or None) if logged else None
    half = write(to_si(plain(2 * spread, unit), unit), unit) if spread else ""
    units = {each: to_si(1.0, each) / to_si(1.0, unit) for each in units_of(name, unit)} if logged else {}
    return Knob(
        name=name, number=number, unit=shown, band=f"± {half}" if half else condition, source=source,
        age=_age(date), because=because, plan=plan, units=units,
    )  # fmt: skip


def _age(date: str) -> str:
    """How old a reading is, in words; empty for what has no date."""
    try:
        days = (datetime.date.fromisoformat(today()) - datetime.date.fromisoformat(date[:10])).days
    except ValueError:
        return ""
    return {0: "from today", 1: "1 day old"}.get(days, f"{days} days old") if days >= 0 else ""


def _go_on(step: Step, seen: Event | None) -> tuple[str, str, str] | None:
    """How long to go on after the end point that was seen: t = x·t_end, with the over-etch x of the plan."""
    if (
        step.end is None
        or step.end.rule != "end point"
        or seen is None
        or not seen.value
        or not step.end.extra
    ):
        return None
    number, _, unit = write(seen.value * step.end.extra, "s").partition(" ")
    whole = write(seen.value * (1 + step.end.extra), "s")
    return number, unit, f"{write(step.end.extra, '%')} of {write(seen.value, 's')}, {whole} in all"


def _enters(step: Step) -> tuple[Knob, ...]:
    """What can be measured after a step and is written down with a number."""
    names = {
        "deposit": ("thickness",),
        "inspect": ("line width",),
        "develop": ("time",),
        "strip": (),
        "coat": ("thickness",),
    }
    wanted = names.get(step.kind, ())
    if step.kind == "measure":
        wanted = (step.method or step.medium,)
    if step.end is not None and step.end.rule == "end point":
        wanted = (*wanted, "end point")
    found = []
    for name in dict.fromkeys(wanted):
        if name not in LOGGED:
            continue
        units = units_of(name)
        found.append(
            Knob(name=name, number="", unit=units[0],
                 units={each: to_si(1.0, each) / to_si(1.0, units[0]) for each in units})
        )  # fmt: skip
    return tuple(found)


def _back(steps: tuple[Step, ...], at: int) -> str:
    return steps[back_to(steps, at)].code if steps[at].hold else ""


def _decided(event: Event | None) -> str:
    if event is None:
        return ""
    return f"{event.name}: {event.text}" if event.text else event.name


def _entries(bench: Bench, lot: str, number: str, wafer: str) -> tuple[EntryLine, ...]:
    """All that was written about the step, newest first."""
    holds = {each.id for each in bench.events(lot)}
    written = bench.written(lot)
    corrected = {each.about for each in written if each.about}
    return tuple(
        EntryLine(
            id=each.id, happened=each.happened, who=each.who, words=words_of(each), wafer=each.wafer,
            taken_back=each.id not in holds and each.kind != "withdraw",
            can_take_back=each.id in holds and each.kind in _UNDONE and each.id not in corrected,
            sha256=each.sha256 if each.kind == "photo" else "",
        )
        for each in reversed(written)
        if each.step == number and (not wafer or each.wafer in ("", wafer))
    )  # fmt: skip
