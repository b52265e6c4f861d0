"""Writing into the logbooks of tools and baths, with a plain look at each number before it is kept."""

from __future__ import annotations

import uuid
from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Any

from filmwright.desk.bench.tools import STATES, Site, site_of
from filmwright.desk.bench.tools import tool as tool_of
from filmwright.desk.files import now, today
from filmwright.desk.logbooks import BATH, TOOL, calibration_of, spread_words, told
from filmwright.errors import BadInput, Problem, Problems, nearest
from filmwright.flow import CALIBRATED, LOGGED
from filmwright.knowledge import UnknownName, book
from filmwright.learn import Z95
from filmwright.record import LogbookEntry
from filmwright.units import Quantity, UnitProblem, pretty, read, write

if TYPE_CHECKING:
    from filmwright.desk.bench.house import Bench

BATH_ACTIONS = ("fresh", "topped up", "used", "discarded")

CHECKED: dict[str, str] = {
    **LOGGED,
    "base pressure": "pressure",
    "pump-down time": "time",
    "reflected power": "power",
    "particles": "number",
    "chuck vacuum": "pressure",
    "deposition rate": "rate",
    "etch rate": "rate",
}
"""What can be checked before use: name → dimension."""

QUANTITIES: tuple[str, ...] = tuple(CALIBRATED)
"""What a calibration or a qualification point may be of."""

_FAR = 4.0
"""So many times off its history, a reading is asked about as a slip of the unit or the point. Judgement."""


@dataclass(frozen=True, kw_only=True)
class Written:
    """A line that was kept, or a question before it is.

    Attributes
    ----------
    line : LogbookEntry
    kept : bool
        False: somebody should look at it again; the same with ``sure`` is kept.
    said : str
        What happened, or what to look at.
    """

    line: LogbookEntry
    kept: bool
    said: str

    def fields(self) -> dict[str, Any]:
        """For programs."""
        line = self.line
        return {"kept": self.kept, "said": self.said, "id": line.id, "book": line.book, "kind": line.kind}


@dataclass(frozen=True, kw_only=True)
class Line:
    """Who writes, and when it happened.

    Attributes
    ----------
    who : str
    id : str
        UUID of the line, drawn when the page was made, so that a double tap is kept once; empty draws one.
    happened : str
        ISO time with offset; empty for now.
    sure : bool
        Keep it although it looks odd.
    invented : bool
    """

    who: str
    id: str = ""
    happened: str = ""
    sure: bool = False
    invented: bool = False


def set_state(bench: Bench, tool: str, state: str, why: str, by: Line) -> Written:
    """Write that a tool is up, limited or down, and why.

    Raises
    ------
    BadInput
        For another state, or one that is not up without a reason.
    """
    site = site_of(bench, today())
    problems = Problems()
    if state not in STATES:
        problems.add(
            Problem(what="the state of a tool", expected="up, limited or down", got=f'"{state}"',
                    why="whoever comes next plans by it", remedy=nearest(state, STATES))
        )  # fmt: skip
    elif state != "up" and not why.strip():
        problems.add(
            Problem(what=f"why {tool} is {state}", expected="a few words", got="nothing",
                    why="whoever comes next must know whether it matters to them", remedy="write what is wrong")
        )  # fmt: skip
    problems.raise_any()
    name = site.tool(tool)
    line = _line(by, TOOL + name, kind="state", name=state, text=why.strip())
    return _keep(bench, line, f"{name} is {state}")


def add_check(bench: Bench, tool: str, name: str, value: str, by: Line, *, recipe: str = "") -> Written:
    """Write a check before use; one that stands out of the history is asked about first.

    Parameters
    ----------
    bench : Bench
    tool, name : str
    value : str
        Number and unit, as people write it.
    by : Line
    recipe : str
    """
    site = site_of(bench, today())
    at = site.tool(tool)
    if name not in CHECKED:
        raise BadInput(
            Problem(what="what was checked", expected="a known quantity", got=f'"{name}"',
                    why="its readings are held against one another", remedy=nearest(name, CHECKED))
        )  # fmt: skip
    known = next(
        (each for each in tool_of(bench, at).checks if (each.name, each.recipe) == (name, recipe)), None
    )
    found = _read(value, CHECKED[name], name, known.unit if known is not None else "")
    line = _line(
        by,
        TOOL + at,
        kind="check",
        name=name,
        value=found.value,
        unit=pretty(found.unit),
        text=told(recipe=recipe),
    )
    asked = ""
    if known is not None:
        phase = known.chart.phases[-1]
        middle = sorted(each.value or 0.0 for each in known.lines)[len(known.lines) // 2]
        asked = _slip(name, found, middle)
        if (
            not asked
            and phase.limits is not None
            and not phase.limits.low <= found.value <= phase.limits.high
        ):
            asked = f"{name} {write(found.value, found.unit)} lies outside {known.limits}"
    if asked and not by.sure:
        return Written(line=line, kept=False, said=asked)
    return _keep(
        bench, line, f"{name} {write(found.value, found.unit)} of {at}" + (f"; {asked}" if asked else "")
    )


def add_reading(  # noqa: PLR0913 - one word per thing that a reading is of
    bench: Bench,
    tool: str,
    of: str,
    value: str,
    by: Line,
    *,
    material: str = "",
    medium: str = "",
    recipe: str = "",
    evidence: str = "",
    monthly: bool = False,
) -> Written:
    """Write a calibration or a monthly qualification point: from now on it is what everything is planned with.

    Parameters
    ----------
    bench : Bench
    tool : str
    of : CalibratedQuantity
    value : str
        With ± one standard deviation, like ``0.1 nm/s ± 3 %``.
    by : Line
    material, medium, recipe, evidence : str
    monthly : bool
        A qualification point.
    """
    site = site_of(bench, today())
    at = site.tool(tool)
    if of not in CALIBRATED:
        raise BadInput(
            Problem(what="what was measured", expected=f"one of {', '.join(CALIBRATED)}", got=f'"{of}"',
                    why="steps ask for it under this name", remedy=nearest(of, CALIBRATED))
        )  # fmt: skip
    material, medium = _known_names(material, medium)
    found = _read(value, CALIBRATED[of], of, "")
    if found.spread is None or found.spread <= 0:
        raise BadInput(
            Problem(what=f"the {of}", expected="given with ± one standard deviation", got=f'"{value}"',
                    why="a number without a spread cannot be weighed against another", remedy=f'write it like "{value} ± 3 %"')
        )  # fmt: skip
    kind = "qualification" if monthly else "calibration"
    words = told(
        material=material,
        medium=medium,
        recipe=recipe,
        spread=spread_words(found.spread, found.unit),
        evidence=evidence,
    )
    line = _line(by, TOOL + at, kind=kind, name=of, value=found.value, unit=found.unit, text=words)
    asked = _against_belief(site, at, line, found)
    if asked and not by.sure:
        return Written(line=line, kept=False, said=asked)
    return _keep(
        bench, line, f"{of} {write(found.value, found.unit)} of {at}" + (f"; {asked}" if asked else "")
    )


def _against_belief(site: Site, tool: str, line: LogbookEntry, found: Quantity) -> str:
    """What to look at where a reading is far off what is believed; empty where it is not."""
    from filmwright.knowledge import believe

    new = calibration_of(line, tool)
    if new is None:
        return ""
    known = believe(
        site.lab,
        book(),
        of=new.of,
        tool=tool,
        material=new.material,
        medium=new.medium,
        recipe=new.recipe,
        on=site.day,
    )
    if known is None:
        return ""
    slip = _slip(new.of, found, known.value)
    half = Z95 * (known.std**2 + new.std**2) ** 0.5
    if slip or abs(found.value - known.value) <= half:
        return slip
    believed = f"{write(known.value, found.unit)} ± {half / abs(known.value or 1.0):.0%}"
    return f"{new.of} {write(found.value, found.unit)} is outside what was believed, {believed}"


def add_maintenance(bench: Bench, tool: str, done: str, by: Line) -> Written:
    """Write that a tool was opened, cleaned or repaired: what was measured before holds no longer."""
    at = site_of(bench, today()).tool(tool)
    if not done.strip():
        raise BadInput(
            Problem(what="what was done", expected="a few words", got="nothing",
                    why="it says which numbers it may have moved", remedy='write it like "shields cleaned"')
        )  # fmt: skip
    line = _line(by, TOOL + at, kind="maintenance", name="opened", text=done.strip())
    return _keep(bench, line, f"{at}: {done.strip()}; what was measured before is outdated, so measure again")


def add_recipe(bench: Bench, tool: str, recipe: str, text: str, by: Line) -> Written:
    """Write a new version of a recipe with its settings in words; the lab file stays what plans are read with."""
    at = site_of(bench, today()).tool(tool)
    if not text.strip() or not recipe.strip():
        raise BadInput(
            Problem(what="a version of a recipe", expected="its name and what is set", got="nothing",
                    why="a version without settings tells nobody what changed", remedy='write it like "power 80 W, was 75 W"')
        )  # fmt: skip
    line = _line(by, TOOL + at, kind="recipe", name=recipe.strip(), text=text.strip())
    return _keep(bench, line, f"{at}: a new version of {recipe.strip()}")


def bath_action(
    bench: Bench, bath: str, action: str, by: Line, *, wafers: str = "", words: str = ""
) -> Written:
    """Write that a bath was made fresh, topped up, used outside of a lot, or discarded.

    Parameters
    ----------
    bench : Bench
    bath : str
    action : str
        One of :data:`BATH_ACTIONS`.
    by : Line
    wafers : str
        How many, where it was used.
    words : str
    """
    found = site_of(bench, today()).bath(bath)
    if action not in BATH_ACTIONS:
        raise BadInput(
            Problem(what="what was done with the bath", expected=", ".join(BATH_ACTIONS), got=f'"{action}"',
                    why="its age and its life are counted by it", remedy=nearest(action, BATH_ACTIONS))
        )  # fmt: skip
    if action == "used" and not (wafers.isascii() and wafers.isdigit() and 0 < int(wafers) < 10_000):
        raise BadInput(
            Problem(what="how many wafers", expected="a whole number from 1", got=f'"{wafers}"',
                    why="the life of a bath is counted in wafers; those of lots are counted by themselves",
                    remedy="write how many were etched besides")
        )  # fmt: skip
    text = told(wafers=wafers if action == "used" else "", evidence=words)
    line = _line(by, BATH + found.name, kind="bath", name=action, text=text)
    return _keep(bench, line, f"{found.name}: {action}")


def add_note(bench: Bench, book_name: str, text: str, by: Line) -> Written:
    """Write words into a logbook."""
    if not text.strip():
        raise BadInput(
            Problem(
                what="a note",
                expected="words",
                got="nothing",
                why="an empty line says nothing later",
                remedy="write it",
            )
        )
    return _keep(bench, _line(by, _book_of(bench, book_name), kind="note", text=text.strip()), "note kept")


def take_back(bench: Bench, book_name: str, about: str, why: str, by: Line) -> Written:
    """Take a line back; it stays to be read, and no longer counts.

    Raises
    ------
    BadInput
        When the line is not there or holds no longer, or no reason is given.
    """
    at = _book_of(bench, book_name)
    standing = {line.id for line in bench.books().lines.get(at, ())}
    if about not in standing or not why.strip():
        raise BadInput(
            Problem(what="the line to take back", expected="one that holds, with a reason",
                    got=f'"{about}"' if why.strip() else "no reason",
                                       why="an undo leaves a trace that somebody can follow", remedy="choose a line, and say why")
        )  # fmt: skip
    return _keep(bench, _line(by, at, kind="note", text=why.strip(), about=about), "taken back")


def _book_of(bench: Bench, name: str) -> str:
    site = site_of(bench, today())
    return (
        BATH + site.bath(name.removeprefix(BATH)).name
        if name.startswith(BATH)
        else TOOL + site.tool(name.removeprefix(TOOL))
    )


def _line(by: Line, at: str, **more: Any) -> LogbookEntry:
    """A line; somebody must have written it."""
    if not by.who.strip():
        raise BadInput(
            Problem(what="who writes", expected="a name or initials", got="nothing",
                    why="somebody else will ask", remedy="write your name")
        )  # fmt: skip
    written = now()
    return LogbookEntry(
        id=by.id or str(uuid.uuid4()), book=at, happened=by.happened or written, written=written,
        who=by.who.strip(), invented=by.invented, **more,
    )  # fmt: skip


def _keep(bench: Bench, line: LogbookEntry, said: str) -> Written:
    try:
        bench.store.enter([line])
    except BadInput:
        # A second touch of the same form comes a moment later, and its clock alone says something else.
        there = next((each for each in bench.store.logbook(line.book) if each.id == line.id), None)
        if there is None or line.happened != line.written:
            raise
        line = replace(line, happened=there.happened, written=there.written)
        bench.store.enter([line])
    return Written(line=line, kept=True, said=said)


def _read(text: str, dimension: str, what: str, unit: str) -> Quantity:
    """A number with its unit; a bare number has that of the readings before it."""
    typed = text.strip()
    if typed.count(",") == 1 and "." not in typed:
        typed = typed.replace(",", ".", 1)
    bare = typed.replace(".", "", 1).replace("-", "", 1).isdigit()
    try:
        return read(f"{typed} {unit}".strip() if bare else typed, dimension, what)
    except UnitProblem as trouble:
        raise BadInput(trouble.problem) from None


def _slip(name: str, found: Quantity, usual: float) -> str:
    """A question where a reading is many times off what is usual."""
    if usual == 0 or (1 / _FAR < found.value / usual < _FAR):
        return ""
    shown = write(usual, found.unit)
    return (
        f"{name} {write(found.value, found.unit)} entered, {shown} is usual: look at the unit and the point"
    )


def _known_names(material: str, medium: str) -> tuple[str, str]:
    """Names as the book spells them."""
    problems = Problems()
    found = []
    for what, name, resolve in (("material", material, book().material), ("medium", medium, book().medium)):
        try:
            found.append(resolve(name).name if name else "")
        except UnknownName as trouble:
            problems.add(
                Problem(what=f"the {what}", expected="one on file", got=f'"{name}"',
                        why="steps ask for it under its name", remedy=str(trouble))
            )  # fmt: skip
            found.append("")
    problems.raise_any()
    return found[0], found[1]


def names_checked(known: Sequence[str]) -> tuple[str, ...]:
    """What a form offers to check: what this tool was checked for, then everything else."""
    return tuple(dict.fromkeys([*known, *sorted(CHECKED)]))


def reading_words(line: LogbookEntry) -> str:
    """The number of a line as printed."""
    return "" if line.value is None else write(line.value, line.unit)
