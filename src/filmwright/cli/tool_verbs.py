"""The verb on tools and baths."""

from __future__ import annotations

from typing import Annotated

import typer

from filmwright.cli.words import Json, LabFile, Record, answer

tool_verbs = typer.Typer()


@tool_verbs.command(epilog='Example:  filmwright tools evaporator --check "base pressure = 4e-5 Pa" --who AB')
def tools(  # noqa: PLR0913 - one option per kind of line
    name: Annotated[str, typer.Argument(help="A tool; all of them without.", metavar="[TOOL]")] = "",
    check: Annotated[
        str, typer.Option("--check", help='A check before use: "base pressure = 4e-5 Pa".')
    ] = "",
    state: Annotated[str, typer.Option("--state", help='up, or "limited: why", or "down: why".')] = "",
    bath: Annotated[
        str,
        typer.Option(
            "--bath", help='"NAME: fresh", "NAME: topped up", "NAME: used 4" wafers, "NAME: discarded".'
        ),
    ] = "",
    qualify: Annotated[
        str, typer.Option("--qualify", help='Point of the month: "deposition rate = 0.1 nm/s +- 3 %".')
    ] = "",
    calibrate: Annotated[str, typer.Option("--calibrate", help="Any other calibration, written alike.")] = "",
    of: Annotated[str, typer.Option("--of", help="Material of the reading.")] = "",
    medium: Annotated[str, typer.Option("--in", help="Bath or plasma of the reading.")] = "",
    recipe: Annotated[str, typer.Option("--recipe", help="Recipe of the reading or the check.")] = "",
    version: Annotated[
        str, typer.Option("--recipe-version", help='New version of a recipe: "NAME: power 80 W, was 75 W".')
    ] = "",
    maintain: Annotated[str, typer.Option("--maintain", help="What was done when it was opened.")] = "",
    who: Annotated[str, typer.Option("--who", help="Who writes.")] = "",
    sure: Annotated[bool, typer.Option("--sure", help="Keep a reading although it looks odd.")] = False,
    lab: LabFile = None,
    record: Record = None,
    on: Annotated[str, typer.Option("--on", help="As of this date, 2031-05-04; else today.")] = "",
    json: Json = False,
) -> None:
    """Tell the state of tools and baths, what is due and what stands out, and write into their logbooks."""
    words = {
        "check": check, "state": state, "bath": bath, "qualify": qualify, "calibrate": calibrate, "of": of,
        "in": medium, "recipe": recipe, "recipe version": version, "maintain": maintain,
    }  # fmt: skip
    answer("tools", json, name=name, words=words, who=who, sure=sure, lab=lab, record=record, on=on)
