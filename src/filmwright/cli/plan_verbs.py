"""The verbs of a plan: new, review, lab check, settings, why, day."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from filmwright.cli.words import Json, LabFile, Plan, Record, answer, app

__all__ = ["app"]
"""The command with these verbs, which come first in its help; ``filmwright.cli.app`` adds the others."""


@app.command(epilog="Example:  filmwright new my-run --example humidity-switch")
def new(
    folder: Annotated[Path, typer.Argument(help="Folder to make.", metavar="FOLDER")],
    example: Annotated[
        str, typer.Option("--example", help="humidity-switch, delay-line or platinum-thermometer.")
    ] = "humidity-switch",
    json: Json = False,
) -> None:
    """Start a plan: plan, lab file, mask drawing and schema, copied from an example to change."""
    answer("new", json, folder=folder, example=example)


@app.command(epilog="Example:  filmwright review my-run/plan.yaml")
def review(
    plan: Plan,
    lab: LabFile = None,
    losses: Annotated[
        bool, typer.Option("--losses", help="Also list what every film lost, by step and place.")
    ] = False,
    heat: Annotated[
        bool,
        typer.Option("--heat", help="Also list the heat of every step and film, and what diffused in it."),
    ] = False,
    suggest: Annotated[
        bool, typer.Option("--suggest", help="Also show the lines to change, and review the changed plan.")
    ] = False,
    record: Record = None,
    json: Json = False,
) -> None:
    """Say what would go wrong: findings at their lines, each with limit, numbers and remedy."""
    answer("review", json, plan=plan, lab=lab, losses=losses, suggest=suggest, heat=heat, record=record)


lab_verbs = typer.Typer(
    help="The lab's own file: tools, admission, recipes, readings, hours.", no_args_is_help=True
)
app.add_typer(lab_verbs, name="lab")


@lab_verbs.command("check", epilog="Example:  filmwright lab check my-run/lab.yaml --plan my-run/plan.yaml")
def lab_check(
    lab_file: Annotated[Path, typer.Argument(help="The lab file (YAML).", metavar="LABFILE")],
    plan: Annotated[
        Path | None, typer.Option("--plan", help="Also ask for what the steps of this plan need.")
    ] = None,
    schema: Annotated[
        Path | None, typer.Option("--schema", help="Write the JSON Schema of lab files, for editors.")
    ] = None,
    json: Json = False,
) -> None:
    """Say what a lab file lacks for good work, and how far each of its numbers is to be trusted today."""
    answer("check_lab", json, lab=lab_file, plan=plan, schema=schema)


@app.command(epilog="Example:  filmwright settings my-run/plan.yaml --step 03C")
def settings(
    plan: Plan,
    lab: LabFile = None,
    step: Annotated[str, typer.Option("--step", help="Only this step, by number, code or name.")] = "",
    record: Record = None,
    json: Json = False,
) -> None:
    """What to dial in at each step: value, unit, spread, and what it rests on."""
    answer("settings", json, plan=plan, lab=lab, step=step, record=record)


@app.command(epilog="Example:  filmwright why my-run/plan.yaml --step 02A")
def why(
    plan: Plan,
    step: Annotated[str, typer.Option("--step", help="The step, by number, code or name.")] = "",
    lab: LabFile = None,
    record: Record = None,
    json: Json = False,
) -> None:
    """Show how every setting of a step came about: law, equation, inputs with source and spread, result, 95 % band, limits."""
    answer("why", json, plan=plan, step=step, lab=lab, record=record)


@app.command(
    epilog='Example:  filmwright day my-run/plan.yaml --start "2026-11-26 09:00" --closing 18:00 --into day.ics'
)
def day(  # noqa: PLR0913 - one option per thing that can be said of a day
    plan: Plan,
    lab: LabFile = None,
    start: Annotated[
        str, typer.Option("--start", help='Date and clock time, "2026-11-26 09:00"; else now.')
    ] = "",
    closing: Annotated[
        str, typer.Option("--closing", help="When the first day ends, 18:00; else as the lab file says.")
    ] = "",
    first: Annotated[str, typer.Option("--from", help="Begin with this step, by number or code.")] = "",
    wafers: Annotated[
        int, typer.Option("--wafers", min=1, max=100, help="How many; a tool takes as many as it holds.")
    ] = 1,
    zone: Annotated[
        str, typer.Option("--zone", help="Time zone of your clock, Europe/Berlin; else as the lab file says.")
    ] = "",
    into: Annotated[Path | None, typer.Option("--into", help="Write a calendar file (iCalendar).")] = None,
    record: Record = None,
    json: Json = False,
) -> None:
    """Plan the day: clock times, the latest start of each step, where a wafer may wait, what ends before closing."""
    answer(
        "day",
        json,
        plan=plan,
        lab=lab,
        start=start,
        closing=closing,
        first=first,
        wafers=wafers,
        zone=zone,
        into=into,
        record=record,
    )
