"""The verb that starts the pages."""

from __future__ import annotations

import json as as_text
import sys
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from filmwright.cli.words import Json, LabFile, answer

if TYPE_CHECKING:
    from filmwright.web.serving import Served

serving_verbs = typer.Typer()


@serving_verbs.command(epilog="Example:  filmwright serve --example")
def serve(  # noqa: PLR0913 - one option per thing that can be said
    record: Annotated[
        str | None,
        typer.Option(
            "--record", help="File or address of the record; else record.sqlite here, made if need be."
        ),
    ] = None,
    plans: Annotated[
        Path | None, typer.Option("--plans", help="Folder of plans to start lots from and to change.")
    ] = None,
    lab: LabFile = None,
    host: Annotated[str, typer.Option("--host", help="Address to listen on.")] = "127.0.0.1",
    port: Annotated[int, typer.Option("--port", min=0, max=65535, help="Port; 0 takes a free one.")] = 8537,
    shared: Annotated[
        bool, typer.Option("--shared", help="People sign in, from other machines too.")
    ] = False,
    name: Annotated[
        list[str] | None, typer.Option("--name", help="A name that browsers call a shared server by.")
    ] = None,
    behind: Annotated[
        list[str] | None,
        typer.Option("--behind", help="Address of the proxy that encrypts; its word on callers is believed."),
    ] = None,
    example: Annotated[
        bool, typer.Option("--example", help="Show an invented bench, thrown away afterwards.")
    ] = False,
    json: Json = False,
) -> None:
    """Open the bench in a browser: lots, steps, settings, what was done. Ctrl-C ends it."""

    def tell(served: Served) -> None:
        if json:
            sys.stdout.write(as_text.dumps(served.fields()) + "\n")
        else:
            about = "an invented bench" if served.example else f"{served.record}, lots: {served.lots}"
            sys.stdout.write(f"The bench is open at {served.address} ({about}). Ctrl-C ends it.\n")
        sys.stdout.flush()

    if example and not json:
        sys.stdout.write("Making an invented bench, a few seconds …\n")
        sys.stdout.flush()
    answer(
        "serve",
        json,
        record=record,
        plans=plans,
        lab=lab,
        host=host,
        port=port,
        shared=shared,
        names=tuple(name or ()),
        behind=tuple(behind or ()),
        example=example,
        tell=tell,
    )
