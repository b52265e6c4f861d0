"""Tools and baths today: state, checks with their limits, numbers with their band, what is due; from lab file, logbooks and lots."""

from __future__ import annotations

import datetime
from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Any

from filmwright.desk.bench.tool_numbers import NumberToday, alarms_told, numbers_of
from filmwright.desk.files import today
from filmwright.desk.logbooks import TOOL, Books, bath_now, bath_uses, parts_of
from filmwright.errors import BadInput, Problem, nearest
from filmwright.knowledge import Bath, Lab, Tool, book, limits
from filmwright.learn import ControlChart, control_chart
from filmwright.units import convert, pretty, show, write

if TYPE_CHECKING:
    from filmwright.desk.bench.house import Bench
    from filmwright.desk.logbooks import Use
    from filmwright.record import LogbookEntry

STATES = ("up", "limited", "down")
_USES_SHOWN = 12


@dataclass(frozen=True, kw_only=True)
class CheckHistory:
    """A check before use with its history.

    Attributes
    ----------
    name, unit, recipe : str
    lines : tuple of LogbookEntry
    opened : tuple of bool
        Whether the tool was opened between a reading and the one before.
    chart : ControlChart
    due : bool
        Not done yet today.
    """

    name: str
    unit: str
    lines: tuple[LogbookEntry, ...]
    opened: tuple[bool, ...]
    chart: ControlChart
    due: bool
    recipe: str = ""

    @property
    def last(self) -> str:
        """The newest reading, as printed."""
        line = self.lines[-1]
        return write(line.value or 0.0, self.unit)

    @property
    def limits(self) -> str:
        """The limits of today's phase in words."""
        phase = self.chart.phases[-1]
        if phase.limits is None:
            return phase.said
        low, high = write(phase.limits.low, self.unit), write(phase.limits.high, self.unit)
        return f"{low} to {high}, {phase.said}"

    @property
    def alarms(self) -> tuple[str, ...]:
        """What stands out in today's phase, newest first: the rule, the readings, and how often a steady tool does the same."""
        return alarms_told(self.chart.phases[-1].alarms, [line.happened[:10] for line in self.lines])

    @property
    def printed_unit(self) -> str:
        """The unit as it is printed."""
        return pretty(self.unit)

    @property
    def alarmed(self) -> bool:
        """Whether the newest reading stands out."""
        return bool(self.chart.alarms_at(len(self.lines) - 1))

    def fields(self) -> dict[str, Any]:
        """For programs."""
        return {
            "name": self.name,
            "unit": self.unit,
            "recipe": self.recipe,
            "readings": [
                {
                    "value": convert(line.value or 0.0, self.unit),
                    "happened": line.happened,
                    "who": line.who,
                }
                for line in self.lines
            ],
            "limits": self.limits,
            "alarms": list(self.alarms),
            "due": self.due,
        }


@dataclass(frozen=True, kw_only=True)
class BathToday:
    """A bath as it stands today.

    Attributes
    ----------
    name, medium, tool : str
    state : 'in use', 'expired' or 'discarded'
    why : str
        Why it is expired; one sentence with the limit.
    made : str
        ISO date; empty where it was discarded.
    age_days : float or None
    wafers, most_wafers : int
    life : str
        What its life rests on, in words.
    uses : tuple of Use
    lines : tuple of LogbookEntry
        Newest first.
    """

    name: str
    medium: str
    tool: str
    state: str
    why: str
    made: str
    age_days: float | None
    wafers: int
    most_wafers: int
    life: str
    uses: tuple[Use, ...] = ()
    lines: tuple[LogbookEntry, ...] = ()

    def fields(self) -> dict[str, Any]:
        """For programs."""
        kept = {key: value for key, value in vars(self).items() if key not in ("uses", "lines")}
        return {**kept, "lots": sorted({use.lot for use in self.uses})}


@dataclass(frozen=True, kw_only=True)
class ToolToday:
    """A tool as it stands today.

    Attributes
    ----------
    name : str
    does : tuple of str
    state : 'up', 'limited' or 'down'
    why, since, who : str
        Of the state; empty where nobody wrote one: then it is taken to be up.
    checks : tuple of CheckHistory
    numbers : tuple of NumberToday
    baths : tuple of BathToday
    recipes : tuple of LogbookEntry
        Versions, newest first.
    maintenance : tuple of str
        Newest first, in words.
    qualification : str
        What is due, in words; empty where nothing is.
    uses : tuple of Use
        By lots, newest first.
    lines : tuple of LogbookEntry
        All that hold, newest first.
    on : str
        ISO date.
    """

    name: str
    does: tuple[str, ...]
    state: str
    why: str
    since: str
    who: str
    checks: tuple[CheckHistory, ...]
    numbers: tuple[NumberToday, ...]
    baths: tuple[BathToday, ...]
    recipes: tuple[LogbookEntry, ...]
    maintenance: tuple[str, ...]
    qualification: str
    uses: tuple[Use, ...]
    lines: tuple[LogbookEntry, ...]
    on: str

    @property
    def due(self) -> tuple[str, ...]:
        """What is to be done today, in words."""
        checks = [f"check {each.name}" for each in self.checks if each.due]
        return (*checks, *((self.qualification,) if self.qualification else ()))

    @property
    def alarms(self) -> tuple[str, ...]:
        """What stands out, in words."""
        checks = [f"{each.name}: {said}" for each in self.checks for said in each.alarms]
        return (*checks, *(f"{each.name}: {said}" for each in self.numbers for said in each.alarms))

    def fields(self) -> dict[str, Any]:
        """For programs."""
        return {
            "name": self.name,
            "does": list(self.does),
            "state": self.state,
            "why": self.why,
            "since": self.since,
            "who": self.who,
            "due": list(self.due),
            "alarms": list(self.alarms),
            "checks": [each.fields() for each in self.checks],
            "numbers": [each.fields() for each in self.numbers],
            "baths": [each.fields() for each in self.baths],
            "maintenance": list(self.maintenance),
            "recipes": [
                {"name": each.name, "set": each.text, "happened": each.happened, "who": each.who}
                for each in self.recipes
            ],
            "lots": sorted({use.lot for use in self.uses}),
            "on": self.on,
        }


@dataclass(frozen=True, kw_only=True)
class ToolsAnswer:
    """All tools, those first that ask for a hand; and what was written just now."""

    tools: tuple[ToolToday, ...]
    on: str
    said: tuple[str, ...] = field(default=())

    def fields(self) -> dict[str, Any]:
        """For programs."""
        return {"on": self.on, "tools": [each.fields() for each in self.tools], "said": list(self.said)}


def tools(bench: Bench, on: str = "") -> ToolsAnswer:
    """Every tool of the lab file and of the logbooks.

    Parameters
    ----------
    bench : Bench
    on : str
        ISO date; empty for today.
    """
    day = on or today()
    site = site_of(bench, day)
    found = [_tool(name, site) for name in site.names]
    rank = {"down": 0, "limited": 1, "up": 2}
    ordered = sorted(found, key=lambda each: (rank[each.state], not each.alarms, not each.due))
    return ToolsAnswer(tools=tuple(ordered), on=day)


def tool(bench: Bench, name: str, on: str = "") -> ToolToday:
    """One tool; BadInput with the nearest name when there is none.

    Parameters
    ----------
    bench : Bench
    name : str
    on : str
        ISO date; empty for today.
    """
    site = site_of(bench, on or today())
    return _tool(site.tool(name), site)


@dataclass(frozen=True, kw_only=True)
class Site:
    """What lab file, logbooks and lots say on a day.

    Attributes
    ----------
    lab : Lab
        Joined by the logbooks.
    baths : tuple of Bath
        Of the lab file as it is written, the discarded ones too.
    books : Books
    day : str
        ISO date.
    """

    lab: Lab
    baths: tuple[Bath, ...]
    books: Books
    day: str

    @property
    def names(self) -> tuple[str, ...]:
        """Tools of the lab file, then those that only a logbook or a lot names."""
        told = [name.removeprefix(TOOL) for name in self.books.lines if name.startswith(TOOL)]
        return tuple(dict.fromkeys([*self.lab.tools, *told, *(use.tool for use in self.books.uses)]))

    def tool(self, name: str) -> str:
        """A name that is a tool's; BadInput with the nearest otherwise."""
        if name in self.names:
            return name
        raise _unknown("tool", name, self.names)

    def bath(self, name: str) -> Bath:
        """The bath of a name, as the lab file has it; BadInput with the nearest otherwise."""
        found = {each.name: each for each in self.baths}
        if name in found:
            return found[name]
        raise _unknown("bath", name, tuple(found))


def site_of(bench: Bench, day: str) -> Site:
    """Everything about tools and baths on a day."""
    return Site(lab=bench.lab_now(), baths=bench.shelf.file().baths, books=bench.books().up_to(day), day=day)


def _unknown(what: str, name: str, known: tuple[str, ...]) -> BadInput:
    return BadInput(
        Problem(
            what=f"the {what}",
            expected=f"a {what} of the lab file",
            got=f'"{name}"',
            why=f"its history belongs to one {what}",
            remedy=nearest(name, known) if known else f"write the {what} into the lab file first",
        )
    )


def _tool(name: str, site: Site) -> ToolToday:
    lab, books, day = site.lab, site.books, site.day
    lines = books.tool(name)
    described = lab.tools.get(name)
    state = next((line for line in reversed(lines) if line.kind == "state"), None)
    openings = _openings(described, day)
    uses = [use for use in books.uses if use.tool == name]
    return ToolToday(
        name=name,
        does=described.does if described is not None else (),
        state=state.name if state is not None else "up",
        why=state.text if state is not None else "",
        since=state.happened if state is not None else "",
        who=state.who if state is not None else "",
        checks=_checks(lines, openings, day),
        numbers=numbers_of(name, lab, day),
        baths=tuple(bath_today(each, books, day) for each in site.baths if each.tool == name),
        recipes=tuple(line for line in reversed(lines) if line.kind == "recipe"),
        maintenance=tuple(
            f"{each.date}: {each.done}{f', {each.by}' if each.by else ''}"
            for each in reversed(described.maintenance if described is not None else ())
            if each.date <= day
        ),
        qualification=_qualification(lines, lab, day),
        uses=tuple(sorted(uses, key=lambda use: use.day, reverse=True))[:_USES_SHOWN],
        lines=tuple(reversed(lines)),
        on=day,
    )


def _openings(described: Tool | None, day: str) -> tuple[str, ...]:
    return (
        tuple(each.date for each in described.maintenance if each.date <= day)
        if described is not None
        else ()
    )


def _checks(lines: Sequence[LogbookEntry], openings: Sequence[str], day: str) -> tuple[CheckHistory, ...]:
    """Each kind of check that was ever made, with its history; it is due on a day on which it was not made yet."""
    found: dict[tuple[str, str], list[LogbookEntry]] = defaultdict(list)
    for line in lines:
        if line.kind == "check" and line.value is not None:
            found[line.name, parts_of(line.text).get("recipe", "")].append(line)
    return tuple(
        CheckHistory(
            name=name,
            recipe=recipe,
            unit=own[-1].unit,
            lines=tuple(own),
            opened=(flags := opened_between([line.happened[:10] for line in own], openings)),
            chart=control_chart([line.value or 0.0 for line in own], flags),
            due=own[-1].happened[:10] < day,
        )
        for (name, recipe), own in found.items()
    )


def opened_between(days: Sequence[str], openings: Sequence[str]) -> tuple[bool, ...]:
    """For each reading whether the tool was opened since the one before; a reading on the day itself counts as after."""
    return tuple(
        place > 0 and any(days[place - 1] < opened <= day for opened in openings)
        for place, day in enumerate(days)
    )


def _qualification(lines: Sequence[LogbookEntry], lab: Lab, day: str) -> str:
    """What is due; empty where nothing is, or where the tool was never qualified."""
    points = [line for line in lines if line.kind == "qualification"]
    if not points:
        return ""
    longest = lab.limits.get("qualification age", limits()["qualification age"].value)
    last = datetime.date.fromisoformat(points[-1].happened[:10])
    age = datetime.date.fromisoformat(day) - last
    if age.total_seconds() <= longest:
        return ""
    return f"qualification point: the last one is {age.days} days old, at most {show(longest, 'time')}"


def bath_today(bath: Bath, books: Books, day: str) -> BathToday:
    """A bath with its age against its life.

    Parameters
    ----------
    bath : Bath
        As the lab file has it.
    books : Books
        Up to the day.
    day : str
        ISO date.
    """
    standing = bath_now(bath, books)
    kept = standing or bath
    longest, life = _life(bath)
    why = ""
    if standing is not None and longest is not None and standing.age(day) > longest:
        why = f"{show(standing.age(day), 'time')} old, {life}"
    elif standing is not None and bath.most_wafers and standing.wafers_done >= bath.most_wafers:
        why = f"{standing.wafers_done} wafers, at most {bath.most_wafers}"
    elif standing is not None and bath.most_area and (standing.area_done or 0.0) >= bath.most_area:
        why = f"{show(standing.area_done or 0.0, 'area')} of film, at most {show(bath.most_area, 'area')}"
    return BathToday(
        name=bath.name,
        medium=bath.medium,
        tool=bath.tool,
        state="discarded" if standing is None else "expired" if why else "in use",
        why=why,
        made="" if standing is None else standing.made,
        age_days=None if standing is None else round(standing.age(day) / _DAY),
        wafers=kept.wafers_done,
        most_wafers=bath.most_wafers,
        life=life,
        uses=tuple(reversed(bath_uses(bath, books, since=kept.made, fresh=True))),
        lines=tuple(reversed(books.bath(bath.name))),
    )


_DAY = datetime.timedelta(days=1).total_seconds()


def _life(bath: Bath) -> tuple[float | None, str]:
    """The age at which a bath is renewed [s], by the lab file, else as usual; and that in words."""
    usual = book().baths.get(bath.medium, {}).get("longest age")
    if bath.longest_age is not None:
        return bath.longest_age, f"at most {show(bath.longest_age, 'time')} (the lab file)"
    if usual is not None:
        return usual.value, f"at most {show(usual.value, 'time')} ({usual.source})"
    return None, ""


def bath(bench: Bench, name: str, on: str = "") -> BathToday:
    """One bath; BadInput with the nearest name when there is none."""
    site = site_of(bench, on or today())
    return bath_today(site.bath(name), site.books, site.day)
