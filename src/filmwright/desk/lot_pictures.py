"""The verb draw on a lot: a wafer as it is, or as it was at a step or a time."""

from __future__ import annotations

import datetime
import re
from pathlib import Path
from typing import TYPE_CHECKING

from filmwright.desk.answers import FilesAnswer
from filmwright.desk.files import write
from filmwright.errors import BadInput, Problem, nearest
from filmwright.units import show, to_si

if TYPE_CHECKING:
    from filmwright.desk.bench.as_run import AsRunWafer, FilmNow, Moment

NOW = "now"


def draw_wafer(
    lot: str, wafer: str = "", at: str = "", record: Path | None = None, into: Path | None = None
) -> FilesAnswer:
    """Sections of a wafer from what was really done to it.

    Parameters
    ----------
    lot : str
    wafer : str
        Empty: the first one.
    at : str
        Code or number of a step, an ISO time or ``now``; empty: after everything that was done.
    record, into : Path or None
        ``into`` is the folder of the pictures.
    """
    from filmwright.desk.bench.answering import Answers
    from filmwright.desk.bench.house import Bench

    with Bench.open(record) as bench:
        found = Answers(bench).as_run(lot, wafer)
    moments = (moment_at(found, at),) if at else found.moments
    folder = into or Path("pictures")
    files = tuple(
        write(folder / f"{found.lot}-{found.wafer}-{_name(each)}.svg", each.section)
        for each in moments
        if each.section and (each.changed or each is moments[-1])
    )
    last = moments[-1]
    return FilesAnswer(
        written=files,
        open=files[-1] if files else None,
        said=(
            f"Wafer {found.wafer} of lot {found.lot} {_when(last)}",
            *(_film(each) for each in reversed(last.films)),
            *(f"open to the air: {each.material} on {each.share:.1%} of the die" for each in last.places[:3]),
            *last.warnings,
            *found.problems,
            *(() if files else ("no drawing, so no section",)),
        ),
    )


def moment_at(found: AsRunWafer, at: str) -> Moment:
    """The moment of a wafer that a word names: after the last visit of a step, or at a time.

    Raises
    ------
    BadInput
        When it is neither a step that was done nor a time.
    """
    word = at.strip()
    if word.lower() == NOW:
        return found.now
    named = [each for each in found.moments if word.upper() == each.code or word == each.step]
    if named and word:
        return named[-1]
    try:
        time = datetime.datetime.fromisoformat(word)
    except ValueError:
        codes = [each.code for each in found.moments if each.code]
        raise BadInput(
            Problem(
                what="the moment",
                expected='a step that was done, such as "03C", a time such as 2026-03-31T14:05, or now',
                got=f'"{at}"',
                why="a wafer is shown as what was done to it left it",
                remedy=nearest(word.upper(), codes)
                if codes
                else "nothing was done to it yet: leave --at out",
            )
        ) from None
    when = time if time.tzinfo else time.astimezone()
    began = [each for each in found.moments if _began(each, when)]
    return began[-1] if began else found.moments[0]


def _began(moment: Moment, when: datetime.datetime) -> bool:
    said = moment.started or moment.finished
    return bool(said) and datetime.datetime.fromisoformat(said) <= when


def _when(moment: Moment) -> str:
    if not moment.code:
        return "as bought"
    again = f", time {moment.visit}" if moment.visit > 1 else ""
    told = "" if moment.told else " (not written down, taken as done as planned)"
    return f"after {moment.code} {moment.title}{again}{told}"


def _film(film: FilmNow) -> str:
    """A film in one line: what was put down, what is left, what took the rest."""
    ends = [_nm(film.low), _nm(film.high)]
    now = ends[0] if ends[0] == ends[1] else " to ".join(ends)
    lost = "; ".join(f"{_nm(each.high)} in {each.code} ({each.by})" for each in film.losses if each.high > 0)
    said = f"{film.material}: {now} on {film.share:.1%} of the die, put down {_nm(film.put_down)}"
    return said + (f"; lost {lost}" if lost else "")


def _nm(length: float) -> str:
    return show(to_si(float(f"{length:.4g}"), "nm"), "length")


def _name(moment: Moment) -> str:
    title = re.sub(r"[^a-z0-9]+", "-", moment.title.lower()).strip("-")[:40]
    return f"{moment.place:02d}-{title}"
