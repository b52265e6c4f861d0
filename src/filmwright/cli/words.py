"""The command and the words that several verbs share; each verb turns its words into one call of ``desk``."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated, Any

import typer

from filmwright import __version__

app = typer.Typer(
    name="filmwright",
    help="From a stack and a few masks to a run sheet, a reviewed wafer, honest transistor parameters and the next run.\n\n"
    "Start with:  filmwright new my-run  then  filmwright review my-run/plan.yaml",
    no_args_is_help=True,
    pretty_exceptions_enable=False,
    context_settings={"help_option_names": ["-h", "--help"]},
)

Plan = Annotated[Path, typer.Argument(help="The plan (YAML).", metavar="PLAN")]
LabFile = Annotated[Path | None, typer.Option("--lab", help="The lab file; else lab.yaml beside the plan.")]
Record = Annotated[
    str | None,
    typer.Option(
        "--record",
        help="The record: a file or postgresql://…; else record.sqlite in this folder, if it is there.",
    ),
]
NewRecord = Annotated[
    str | None,
    typer.Option(
        "--record",
        help="The record: a file or postgresql://…; else record.sqlite in this folder, made if it is not there.",
    ),
]
LotName = Annotated[str, typer.Argument(help="Name of the lot.", metavar="LOT")]
Json = Annotated[bool, typer.Option("--json", help="Print fields for programs.")]
Into = Annotated[Path | None, typer.Option("--into", help="Where to write.")]
Figure = Annotated[
    Path | None,
    typer.Option("--figure", help="Write figures for print, one journal column wide: .svg, .pdf or .png."),
]
Cut = Annotated[str, typer.Option("--cut", help='A cut of the plan, or a device as T07 or "T07 across".')]


def answer(verb: str, as_json: bool, **request: Any) -> None:
    """Call one use case and print its answer; heavy rooms are imported only now."""
    from filmwright.cli.printing import carry_out

    for name, value in request.items():
        if str(value).startswith("--"):
            raise typer.BadParameter(
                f"{name.replace('_', '-')} must have a value, got the next option {value}"
            )
    raise typer.Exit(carry_out(verb, request, as_json))


def _version(wanted: bool) -> None:
    if wanted:
        typer.echo(f"filmwright {__version__}")
        raise typer.Exit


@app.callback()
def _root(
    version: Annotated[
        bool, typer.Option("--version", callback=_version, is_eager=True, help="Print the version.")
    ] = False,
) -> None:
    """Nothing to do before a verb."""
