"""The verb that tells how the die looks: colours, a spectrum, a synthetic micrograph."""

from __future__ import annotations

from pathlib import Path

import numpy as np

from filmwright.desk.accepted import informed
from filmwright.desk.files import today, write
from filmwright.desk.look_answers import LookAnswer
from filmwright.desk.places import box_of, point_of
from filmwright.emulate import (
    Look,
    Seen,
    Trace,
    check_aperture,
    end_traces,
    film_results,
    lamp_named,
    looks_of,
    mark_contrasts,
    spectra_of,
    walk,
)
from filmwright.errors import BadInput, Problem
from filmwright.flow import step_of
from filmwright.knowledge import Book
from filmwright.outputs import end_trace_svg, legend_of, micrograph, png_of, spectrum_csv, spectrum_svg
from filmwright.process import eye
from filmwright.wafer import Plan

_LARGE = (900.0, 900.0)
"""Size of a micrograph by itself [px]."""

_POINTS = 401
"""Of a spectrum over visible light: thick films need them closer than colours do."""

AS_BOUGHT = "start"
"""Instead of a step: the wafer before the first."""


def look(  # noqa: PLR0913 - one for each thing that can be asked for
    plan: Path,
    lab: Path | None = None,
    step: str = "",
    at: str = "",
    light: str = "D65",
    aperture: float = 0.0,
    spectrum: Path | None = None,
    picture: Path | None = None,
    window: str = "",
    trace: Path | None = None,
    on: str = "",
) -> LookAnswer:
    """How every kind of place of the die looks after a step, and what is asked for besides.

    Parameters
    ----------
    plan, lab, on
        As for every verb that walks a plan.
    step : str
        Number or code of the step; ``start`` is the wafer as bought, nothing the finished wafer.
    at : str
        One place: a device, or two lengths x, y.
    light : str
        A lamp, or a part of its name.
    aperture : float
        Numerical aperture of the objective; 0 looks straight down.
    spectrum : Path or None
        Where the spectrum of the place goes: a table (``.csv``) or a picture (``.svg``, ``.png``).
    picture : Path or None
        Where the micrograph goes (``.svg`` or ``.png``).
    window : str
        What of the die the micrograph shows: a device, or four lengths x0, y0, x1, y1.
    trace : Path or None
        Where the picture of what is seen during an etch goes (``.svg`` or ``.png``); the step is then one.
    """
    work = informed(plan, lab)
    lamp = lamp_named(light)
    check_aperture(aperture)
    _check_ending(spectrum, (".csv", ".svg", ".png"))
    _check_ending(picture, (".svg", ".png"))
    _check_ending(trace, (".svg", ".png"))
    walked = walk(work.flow, work.lab, work.facts, work.drawing, on=on or today(), sections=False)
    name, wafer_plan = _after(walked, step)
    own = {film: each.value for film, each in film_results(walked.states, "refractive index").items()}
    (seen,) = looks_of([wafer_plan], light=lamp, aperture=aperture, own=own)
    point = point_of(at, walked, plan) if at else None
    box = box_of(window, walked, plan) if window else None
    ranked = tuple(sorted(seen.seen, key=lambda each: -each.area))
    places = ranked if point is None else (_place(seen, point),)
    ends = eye(lamp).wavelength
    waves = np.linspace(ends[0], ends[-1], _POINTS)
    (curve,) = spectra_of([places[0].column], waves, aperture, own=own)
    legend = legend_of(work.facts.materials)
    answer = LookAnswer(
        flow=str(plan),
        step=name,
        look=seen,
        places=places,
        at=point,
        spectrum=() if curve is None else tuple(zip(waves.tolist(), curve.tolist(), strict=True)),
        marks=mark_contrasts(walked, work.facts),
        symbols=legend.symbols,
    )
    files = [_spectrum(answer, spectrum)] if spectrum is not None else []
    if picture is not None:
        files.append(_picture(micrograph(seen, window=box, size=_LARGE, title=_title(walked, name)), picture))
    if trace is not None:
        files.append(_picture(_traced(walked, work.facts, step, plan), trace))
    return LookAnswer(**{**vars(answer), "written": tuple(files)})


def _traced(walked: Trace, facts: Book, step: str, plan: Path) -> str:
    """What is seen during an etch, as a picture."""
    numbers = () if not step or step.strip().lower() == AS_BOUGHT else (step_of(walked.flow, step).number,)
    found = end_traces(walked, facts, numbers) if numbers else {}
    if not found:
        etches = ", ".join(state.step.code for state in walked.states if state.etch is not None)
        raise BadInput(
            Problem(
                what="the step of the trace",
                expected="an etch whose rate is known and whose film lies open",
                got=f'"{step}"' if step else "no step",
                why="the end of an etch is what shows",
                remedy=f"add --step with one of {etches}"
                if etches
                else "write the rate into the lab file first",
                file=str(plan),
            )
        )
    number, seen = next(iter(found.items()))
    state = next(each for each in walked.states if each.step.number == number)
    invented = " (invented example)" if walked.flow.invented else ""
    return end_trace_svg(seen, title=f"{state.step.title}: what is seen{invented}")


def _after(trace: Trace, step: str) -> tuple[str, Plan]:
    """The step in words, and the plan view after it."""
    if step.strip().lower() == AS_BOUGHT:
        return "as bought", trace.start.plan
    if not step:
        return "the finished wafer", trace.final.plan
    wanted = step_of(trace.flow, step).number
    state = next(each for each in trace.states if each.step.number == wanted)
    return f"after step {state.step.number} ({state.step.title})", state.wafer.plan


def _place(look: Look, point: tuple[float, float]) -> Seen:
    column = look.plan.column_at(*point)
    return next(each for each in look.seen if each.column == column)


def _title(trace: Trace, name: str) -> str:
    invented = ", invented example" if trace.flow.invented else ""
    return f"{trace.flow.title}, {name}{invented}"


def _check_ending(path: Path | None, endings: tuple[str, ...]) -> None:
    if path is not None and path.suffix.lower() not in endings:
        raise BadInput(
            Problem(
                what="the file to write",
                expected="a name that ends in " + " or ".join(endings),
                got=f'"{path.name}"',
                why="the ending says what is written",
                remedy=f"write {path.stem or 'look'}{endings[0]}",
                file=str(path),
            )
        )


def _spectrum(answer: LookAnswer, path: Path) -> Path:
    if not answer.spectrum:
        seen = answer.places[0]
        raise BadInput(
            Problem(
                what="the spectrum of the place",
                expected="films whose optical constants are on file",
                got="; ".join(seen.unknown),
                why="light cannot be followed through a film that is not known",
                remedy="ask for another place with --at",
                file=answer.flow,
            )
        )
    if path.suffix.lower() == ".csv":
        return write(path, spectrum_csv(answer.spectrum))
    seen = answer.places[0]
    drawn = spectrum_svg(
        answer.spectrum, colour=seen.hex, name=seen.name, films=answer.films(seen), seen_with=answer.seen_with
    )
    return _picture(drawn, path)


def _picture(svg: str, path: Path) -> Path:
    return write(path, png_of(svg) if path.suffix.lower() == ".png" else svg)
