"""Verbs that print what goes along with a lot."""

from __future__ import annotations

from typing import Annotated

import typer

from filmwright.cli.words import Into, Json, LotName, Record, answer

paper_verbs = typer.Typer()


@paper_verbs.command(
    epilog="Example:  filmwright labels K7M-3XP --kind carrier --kind beaker --into labels.pdf"
)
def labels(
    lot: LotName,
    kind: Annotated[
        list[str] | None, typer.Option("--kind", help="box, carrier or beaker; else all of them.")
    ] = None,
    into: Into = None,
    record: Record = None,
    json: Json = False,
) -> None:
    """Print labels with QR codes as PDF: the lot's box, a carrier for each wafer, a beaker for each bath of the flow."""
    answer("labels", json, lot=lot, kinds=kind or [], into=into, record=record)
