"""The verbs of a lot: run, log, grid and today."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from filmwright.cli.words import Json, LabFile, LotName, NewRecord, Plan, Record, answer

lot_verbs = typer.Typer()
_Words = list[str] | None
Set = Annotated[_Words, typer.Option("--set", help='What was dialled in, "name=value unit".')]
Seen = Annotated[_Words, typer.Option("--seen", help='What was seen, "end point=41 s".')]
Measured = Annotated[_Words, typer.Option("--measured", help='"thickness=58 nm".')]
Mark = Annotated[str, typer.Option("--mark", help="start, finish, skip, repeat, rework or hold.")]
Wafer = Annotated[str, typer.Option("--wafer", help="One wafer or piece; else all of the lot.")]
Exclude = Annotated[
    _Words,
    typer.Option("--exclude", help="Leave this device of --wafer out of statistics; --note says why."),
]
Include = Annotated[_Words, typer.Option("--include", help="Take an excluded device back; --note says why.")]
SplitWords = Annotated[
    _Words,
    typer.Option(
        "--split",
        help='Which wafers get which variant, "annealed=W1,W2"; of a step "thin=W1: thickness=50 nm".',
    ),
]
Curves = Annotated[list[Path] | None, typer.Option("--curves", help="Measured tables to keep.")]
Hold = Annotated[str, typer.Option("--hold", help="Decide at a hold point: go, rework or scrap.")]
PlaceWord = Annotated[str, typer.Option("--place", help='Where it is, "dry box 3".')]
Carrier = Annotated[str, typer.Option("--carrier", help='What it lies in, "carrier 2 slot 4".')]
Orientation = Annotated[str, typer.Option("--orientation", help='How it lies, "flat to the left".')]
Cleave = Annotated[int, typer.Option("--cleave", min=0, max=20, help="Cut so many pieces off --wafer.")]
MoveTo = Annotated[str, typer.Option("--move-to", help="Send --wafer to this lot.")]
TakeFrom = Annotated[str, typer.Option("--take-from", help="Take --wafer from this lot.")]
Acknowledge = Annotated[
    str,
    typer.Option("--acknowledge", help='Accept this finding, or "hold point"; --note says why.'),
]
Extra = Annotated[
    str, typer.Option("--extra", help='Done beyond the plan, after STEP: "strip: resist, in: acetone".')
]
Undo = Annotated[str, typer.Option("--undo", help="Take this entry back: its id, or how that begins.")]
Correct = Annotated[
    str, typer.Option("--correct", help="The one value of this call stands in the place of this entry.")
]
TimerWord = Annotated[str, typer.Option("--timer", help='Start a timer, "soak=5 min".')]
Photo = Annotated[Path | None, typer.Option("--photo", help="Keep this picture.")]
Typed = Annotated[
    str,
    typer.Option(
        "--typed", help='Lines from paper, a file or - : "03C time=41 s seen colour=blue ok 14:05 AB".'
    ),
]
Preview = Annotated[bool, typer.Option("--preview", help="Say what typed lines mean; keep nothing.")]


@lot_verbs.command(epilog="Example:  filmwright run my-run/plan.yaml --wafers 2 --who AB")
def run(  # noqa: PLR0913 - one option per thing that can be said of a lot
    plan: Plan,
    lab: LabFile = None,
    wafers: Annotated[int, typer.Option("--wafers", min=1, max=25, help="How many wafers.")] = 1,
    name: Annotated[
        _Words, typer.Option("--name", help="Name of a wafer, once for each; else W1, W2 and so on.")
    ] = None,
    take: Annotated[
        _Words,
        typer.Option(
            "--take",
            help='A wafer or piece of another lot, "K7M-3XP W1.a", once for each; instead of new wafers.',
        ),
    ] = None,
    at: Annotated[
        str,
        typer.Option("--at", help="Step before which those that were taken go on; else where they stood."),
    ] = "",
    place: Annotated[str, typer.Option("--place", help='Where they are, "dry box 3".')] = "",
    who: Annotated[str, typer.Option("--who", help="Who starts it.")] = "",
    note: Annotated[str, typer.Option("--note", help="Anything to remember.")] = "",
    record: NewRecord = None,
    json: Json = False,
) -> None:
    """Start a lot: freeze the plan and the lab file into the record and name the lot and its wafers."""
    answer(
        "run",
        json,
        plan=plan,
        lab=lab,
        wafers=wafers,
        names=name or [],
        take=take or [],
        at=at,
        place=place,
        who=who,
        note=note,
        record=record,
    )


@lot_verbs.command(
    epilog='Example:  filmwright log K7M-3XP 04A --set "time=230 s" --measured "thickness=58 nm" --who AB'
)
def log(  # noqa: PLR0913 - one option per thing that can be written down
    lot: LotName,
    step: Annotated[str, typer.Argument(help="Number or code of the step.", metavar="[STEP]")] = "",
    setting: Set = None,
    seen: Seen = None,
    measured: Measured = None,
    note: Annotated[str, typer.Option("--note", help="Free words.")] = "",
    mark: Mark = "",
    wafer: Wafer = "",
    when: Annotated[str, typer.Option("--when", help="When it happened (ISO); else now.")] = "",
    who: Annotated[str, typer.Option("--who", help="Who did it.")] = "",
    curves: Curves = None,
    device: Annotated[str, typer.Option("--device", help="Device of the tables, e.g. T07.")] = "",
    exclude: Exclude = None,
    include: Include = None,
    split: SplitWords = None,
    hold: Hold = "",
    place: PlaceWord = "",
    carrier: Carrier = "",
    orientation: Orientation = "",
    cleave: Cleave = 0,
    move_to: MoveTo = "",
    take_from: TakeFrom = "",
    acknowledge: Acknowledge = "",
    extra: Extra = "",
    undo: Undo = "",
    correct: Correct = "",
    timer: TimerWord = "",
    photo: Photo = None,
    typed: Typed = "",
    preview: Preview = False,
    record: Record = None,
    json: Json = False,
) -> None:
    """Write down what was really done, seen and measured. Nothing is ever overwritten; without words, show the log."""
    told = {
        "hold": hold, "place": place, "carrier": carrier, "orientation": orientation, "cleave": cleave,
        "move_to": move_to, "take_from": take_from, "acknowledge": acknowledge, "extra": extra,
        "undo": undo, "correct": correct, "timer": timer, "photo": photo,
    }  # fmt: skip
    answer(
        "log", json, lot=lot, step=step, settings=setting or [], seen=seen or [], measured=measured or [],
        note=note, mark=mark, wafer=wafer, when=when, who=who, curves=curves or [], device=device,
        exclude=exclude or [], include=include or [], split=split or [], told=told, typed=typed,
        preview=preview, record=record,
    )  # fmt: skip


@lot_verbs.command(epilog="Example:  filmwright grid K7M-3XP")
def grid(lot: LotName, record: Record = None, json: Json = False) -> None:
    """Show how far each wafer of a lot has come: steps down, wafers across, with splits and hold points."""
    answer("grid", json, lot=lot, record=record)


@lot_verbs.command(epilog="Example:  filmwright today")
def today(record: Record = None, json: Json = False) -> None:
    """Show which lots are under way: what is next, until when it must begin, what has waited too long."""
    answer("today", json, record=record)
