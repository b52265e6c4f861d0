"""Answers → words or JSON; problems → the same shape on screen and in JSON; exit codes."""

from __future__ import annotations

import json
import os
import sys
from collections.abc import Callable, Sequence
from itertools import groupby
from typing import TYPE_CHECKING, Any

from rich.console import Console
from rich.progress import BarColumn, Progress, TextColumn, TimeElapsedColumn
from rich.table import Table
from rich.text import Text

from filmwright import desk
from filmwright.cli.extracted import print_extracted
from filmwright.cli.findings import NO_PERMISSION, counted, print_findings
from filmwright.cli.heat import print_heat
from filmwright.errors import BadInput
from filmwright.units import convert, read

if TYPE_CHECKING:
    from filmwright.emulate import Listing, Reading
    from filmwright.review import Lost

WELL, STOP, BAD_INPUT, OUR_FAULT = 0, 1, 2, 3
MANY = 100
"""Tables from which their reading is worth a bar."""
_console = Console(soft_wrap=False)


def carry_out(verb: str, request: dict[str, Any], as_json: bool) -> int:
    """Call one use case, print its answer, and return the exit code."""
    try:
        slow = verb == "demo" or verb.startswith("record_") or _many_tables(verb, request)
        slow = slow or any(request.get(word) for word in ("png", "gif", "section"))
        answer = _with_progress(verb, request) if slow and not as_json else _use_case(verb)(**request)
    except BadInput as bad:
        _print_problems(bad, as_json)
        return BAD_INPUT
    except KeyboardInterrupt:
        Console(stderr=True).print("Stopped; what was written before is kept.")
        return 130
    except Exception as fault:  # noqa: BLE001 - the last door: a person gets a sentence, a program a field
        return _confess(verb, fault, as_json)
    if answer is None:
        return WELL
    try:
        if as_json:
            sys.stdout.write(
                json.dumps(answer.fields(), ensure_ascii=False, indent=2, allow_nan=False) + "\n"
            )
        else:
            _print(answer)
        sys.stdout.flush()
    except BrokenPipeError:
        # The reader (a pager, head) has seen enough; nothing is wrong.
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
    return STOP if getattr(answer, "stopped", False) else WELL


def _many_tables(verb: str, request: dict[str, Any]) -> bool:
    return verb == "extract" and len(request["files"]) >= MANY and not request["reading"]["explain"]


def _confess(verb: str, fault: Exception, as_json: bool) -> int:
    """Say that the fault is ours, so that no crash is taken for a stop finding."""
    fault_said = f"{verb} met a fault of filmwright itself ({type(fault).__name__}: {fault})"
    said = f"{fault_said}; nothing more was written. Keep the input and report it."
    if as_json:
        sys.stdout.write(json.dumps({"fault": said}, ensure_ascii=False) + "\n")
    else:
        sys.stderr.write(said + "\n")
    return OUR_FAULT


def _print_problems(bad: BadInput, as_json: bool) -> None:
    if as_json:
        fields = {"problems": [problem.fields() for problem in bad.problems]}
        sys.stdout.write(json.dumps(fields, ensure_ascii=False, indent=2) + "\n")
        return
    for problem in bad.problems:
        sys.stderr.write(f"{problem}\n")
    count = len(bad.problems)
    sys.stderr.write(f"{count} problem{'s' if count != 1 else ''}; nothing was written.\n")


def _with_progress(verb: str, request: dict[str, Any]) -> Any:
    columns = (
        TextColumn("{task.description:<46}"),
        BarColumn(),
        TextColumn("{task.completed:.0f}/{task.total:.0f}"),
        TimeElapsedColumn(),
    )
    with Progress(*columns, console=_console) as progress:
        task = progress.add_task("", total=1)

        def tell(done: int, total: int, what: str) -> None:
            progress.update(task, completed=done, total=total, description=what)

        return _use_case(verb)(**request, tell=tell)


def _use_case(verb: str) -> Callable[..., Any]:
    """The one function behind a verb; that which starts the pages lives above ``desk``."""
    if verb == "serve":
        from filmwright import web

        return web.serve
    call: Callable[..., Any] = getattr(desk, verb)
    return call


def _review(answer: desk.ReviewAnswer) -> None:
    print_findings(answer.findings, answer.flow, _console)
    _console.print(Text(f"{counted(answer.counts)} — {NO_PERMISSION}."))
    if answer.losses is not None:
        _losses(answer.losses)
    if answer.heat is not None:
        print_heat(answer.heat, _console)
    if answer.suggestion is not None:
        _suggestion(answer.suggestion)


_SMALL = "1 ang"
"""Losses below it are left to the answer for programs."""


def _losses(losses: Sequence[Lost]) -> None:
    """One row for each film, place and step; a film's and a place's name once, several steps of a place summed."""
    table = Table(box=None, pad_edge=False)
    for name in ("film", "place", "step", "typical nm", "at most nm", "of nm"):
        table.add_column(name, justify="right" if name.endswith("nm") else "left")
    least = read(_SMALL, "length").value
    film = ""
    for (own, place), group in groupby(losses, key=lambda each: (each.film, each.place)):
        rows = [each for each in group if each.most >= least]
        cells = [(f"{each.step} {each.kind}", each.typical, each.most, each.before) for each in rows]
        if len(rows) > 1:
            lost = sum(each.typical for each in rows), sum(each.most for each in rows)
            cells.append(("together", *lost, rows[0].before))
        for at, (step, *lengths) in enumerate(cells):
            names = ("" if film == own else own, "" if at else place)
            film = own
            table.add_row(
                *(Text(each) for each in (*names, step, *(f"{convert(x, 'nm'):.3g}" for x in lengths)))
            )
    _console.print()
    _console.print(
        Text("Lost where the film is meant to stay; under resist: sideways; edge, back: whatever went")
    )
    _console.print(table)


def _suggestion(suggestion: desk.Suggestion) -> None:
    _console.print()
    if not suggestion.followed:
        _console.print(Text("No remedy is a mere change of lines: nothing to suggest."))
        return
    for line in suggestion.difference.splitlines():
        style = {"+": "green", "-": "red", "@": "dim"}.get(line[:1], "")
        _console.print(Text(line, style=style), soft_wrap=True)
    follows = ", ".join(f"{each.rule} (line {each.line})" for each in suggestion.followed)
    _console.print(Text(f"It follows: {follows}."))
    _console.print(Text(f"Reviewed again with it: {counted(suggestion.counts)}; nothing was written."))
    for each in suggestion.left:
        if each.severity != "note":
            _console.print(
                Text(f"   {each.severity}  {each.rule}  step {each.step}: {each.what}"), soft_wrap=True
            )


def _settings(answer: desk.SettingsAnswer) -> None:
    for step in answer.steps:
        _console.print(
            Text.assemble(
                (f"{step.code}  ", "bold"),
                (step.title, "bold"),
                (f"  {step.tool or 'no tool named'}  step {step.number}  line {step.line}", "dim"),
            )
        )
        if step.settings:
            table = Table(box=None, pad_edge=False, show_header=False, padding=(0, 2, 0, 3))
            for setting in step.settings:
                table.add_row(Text(setting.name), Text(setting.shown), Text(setting.evidence, style="dim"))
            _console.print(table)
        if step.follows:
            told = ", ".join(f"{each.name} {each.setting.derivation.shown}" for each in step.follows)
            _console.print(Text(f"   Expect: {told}", style="dim"))
        for each in step.readings:
            _reading(each)
        for listing in step.tables:
            _listing(listing)
        if step.cautions:
            _console.print(Text("   Caution: " + " ".join(step.cautions), style="yellow"))
            _console.print(Text("   " + _guarded(step), style="yellow"))
    _console.print(
        Text(
            "The site's procedures, local codes and licensed practice go first; no value here is a permission.",
            style="bold",
        )
    )


def _guarded(step: desk.StepSettings) -> str:
    """Gear, waste, neighbours, interlock and alarm of a step in one line."""
    parts = (
        ("wear", ", ".join(step.gear)),
        ("waste", step.waste),
        ("keep apart from", ", ".join(step.neighbours)),
        ("interlock", step.interlock),
        ("alarm", ", ".join(step.alarms)),
    )
    said = "; ".join(f"{name} {text}" for name, text in parts if text)
    return ("Second person needed. " if step.second_person else "") + said[:1].upper() + said[1:] + "."


def _reading(reading: Reading) -> None:
    expected = f": expect {reading.expected}" if reading.expected else ""
    accepted = f"; the plan accepts {reading.accepted}" if reading.accepted else ""
    times = f" ({reading.times} times)" if reading.times > 1 else ""
    _console.print(Text(f"   Write down {reading.name}{times}{expected}{accepted}"))


def _listing(listing: Listing) -> None:
    _console.print(Text(f"   {listing.title}", style="bold"))
    for row in listing.rows:
        # One sweep a paragraph: its eight cells fit no narrow terminal side by side.
        named = [
            f"{name} {cell}"
            for name, cell in zip(listing.columns[2:], row[2:], strict=True)
            if cell not in {"", "–"}
        ]
        _console.print(Text(f"   {row[0]}. {row[1]}"))
        _console.print(Text("      " + "; ".join(named), style="dim"))
    if listing.note:
        _console.print(Text(f"   {listing.note}", style="dim"))


def _files(answer: desk.FilesAnswer) -> None:
    for line in answer.said:
        _console.print(Text(line))
    for path in answer.written[:12]:
        _console.print(Text(f"   {path}", style="dim"), soft_wrap=True)
    if len(answer.written) > 12:
        _console.print(Text(f"   … and {len(answer.written) - 12} more", style="dim"))
    if answer.open:
        _console.print(Text.assemble("Open ", (str(answer.open), "bold")), soft_wrap=True)


def _lot(answer: desk.LotAnswer) -> None:
    _console.print(
        Text.assemble(
            "Lot ", (answer.lot, "bold"), f" with wafers {', '.join(answer.wafers)} of {answer.title}"
        )
    )
    _console.print(
        Text(
            f"Write down what is done with:  filmwright log {answer.lot} STEP --set … --measured …",
            style="dim",
        ),
        soft_wrap=True,
    )


def _log(answer: desk.LogAnswer) -> None:
    for line in answer.understood:
        _console.print(Text(line))
    if answer.preview:
        _console.print(Text("Nothing of it is kept yet: leave --preview out to keep it.", style="dim"))
        return
    if not answer.events:
        _console.print(Text(f"Nothing is written down for lot {answer.lot} yet."))
        return
    table = Table(box=None, pad_edge=False)
    for name in ("when", "step", "wafer", "what", "value", "who", "", "id"):
        table.add_column(name)
    for event in answer.events:
        table.add_row(*(Text(str(cell)) for cell in event.row))
    _console.print(table)


def _compare(answer: desk.CompareAnswer) -> None:
    table = Table(box=None, pad_edge=False)
    for name in ("device", "parameter", "as planned", "as run", "measured"):
        table.add_column(name)
    for row in answer.rows:
        table.add_row(*(Text(cell) for cell in row.cells))
    _console.print(table)
    if answer.explained:
        from filmwright.cli.fitting import print_explained

        print_explained(answer.explained, _console)
    for line in answer.said:
        _console.print(Text(line))
    if answer.open:
        _console.print(Text.assemble("Open ", (str(answer.open), "bold")), soft_wrap=True)


def _next(answer: desk.NextAnswer) -> None:
    for number, proposal in enumerate(answer.proposals, start=1):
        style = "bold" if proposal.change_worthwhile else "dim"
        _console.print(Text.assemble((f"{number}. {proposal.what}", style)))
        _console.print(Text(f"   {answer.shown(proposal)}"))
        _console.print(Text(f"   {proposal.why}", style="dim"))
        for warning in proposal.warnings:
            _console.print(Text(f"   ▲ {warning}", style="yellow"))
    for line in answer.said:
        _console.print(Text(line))


def _print(answer: Any) -> None:
    """Answers with long tables load their room only when they are there."""
    if type(answer) in _PRINTERS:
        _PRINTERS[type(answer)](answer)
        return
    from filmwright.cli import (
        day,
        fitting,
        kept,
        lab,
        lots,
        people,
        population,
        predicted,
        structure_printing,
        tables,
        thickness,
        tools,
        why,
    )

    rooms = (
        tables,
        fitting,
        thickness,
        why,
        day,
        kept,
        lab,
        lots,
        people,
        population,
        predicted,
        structure_printing,
        tools,
    )
    printers = {kind: shown for room in rooms for kind, shown in room.PRINTERS.items()}
    printers[type(answer)](answer, _console)


_PRINTERS: dict[type, Callable[[Any], None]] = {
    desk.ReviewAnswer: _review,
    desk.SettingsAnswer: _settings,
    desk.FilesAnswer: _files,
    desk.LotAnswer: _lot,
    desk.LogAnswer: _log,
    desk.ExtractAnswer: lambda answer: print_extracted(answer, _console),
    desk.CompareAnswer: _compare,
    desk.NextAnswer: _next,
}
