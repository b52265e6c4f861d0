"""The verbs that keep a record: prove it, back it up, bring it back, move it, hand a lot over."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from filmwright.cli.words import Json, LotName, NewRecord, Record, answer

record_verbs = typer.Typer(
    help="The record itself: prove it, back it up, bring it back, move it, hand a lot over.",
    no_args_is_help=True,
)


@record_verbs.command("verify", epilog="Example:  filmwright record verify")
def record_verify(record: Record = None, json: Json = False) -> None:
    """Walk every chain of lots and logbooks and read every kept file again; names the first entry that was changed."""
    answer("record_verify", json, record=record)


@record_verbs.command("backup", epilog="Example:  filmwright record backup backups/2031-05-04")
def record_backup(
    into: Annotated[Path, typer.Argument(help="A folder that is not there yet.", metavar="FOLDER")],
    record: Record = None,
    json: Json = False,
) -> None:
    """Back the record up while others go on writing, with its files and a list of hashes, and prove the copy."""
    answer("record_backup", json, into=into, record=record)


@record_verbs.command(
    "restore", epilog="Example:  filmwright record restore backups/2031-05-04 --record new.sqlite"
)
def record_restore(
    backup: Annotated[Path, typer.Argument(help="The folder of the backup.", metavar="FOLDER")],
    record: NewRecord = None,
    replace: Annotated[
        bool, typer.Option("--replace", help="A file that is there gives way; it is kept under another name.")
    ] = False,
    json: Json = False,
) -> None:
    """Prove a backup, then bring it back as a new file or into an empty database."""
    answer("record_restore", json, backup=backup, record=record, replace=replace)


@record_verbs.command("copy", epilog="Example:  filmwright record copy postgresql://keeper@host/lab")
def record_copy(
    into: Annotated[str, typer.Argument(help="A new file, or an empty database.", metavar="PLACE")],
    record: Record = None,
    json: Json = False,
) -> None:
    """Copy the record to an empty one, from a file to a database or back; every digest stays as it is."""
    answer("record_copy", json, into=into, record=record)


@record_verbs.command("export", epilog="Example:  filmwright record export K7M-3XP --into hand-over.zip")
def record_export(
    lot: LotName,
    into: Annotated[
        Path | None, typer.Option("--into", help="A new folder or a .zip; else hand-over-LOT.zip here.")
    ] = None,
    report: Annotated[
        bool, typer.Option("--report/--no-report", help="The report of the lot goes along; it takes a while.")
    ] = True,
    record: Record = None,
    json: Json = False,
) -> None:
    """Hand a lot over as open files: a page to read, tables, JSON, the raw files, their hashes and RO-Crate metadata."""
    answer("record_export", json, lot=lot, into=into, report=report, record=record)


@record_verbs.command(
    "import", epilog="Example:  filmwright record import hand-over.zip --record mine.sqlite"
)
def record_import(
    bundle: Annotated[Path, typer.Argument(help="What record export wrote.", metavar="BUNDLE")],
    record: NewRecord = None,
    json: Json = False,
) -> None:
    """Prove a bundle and take it into the record; its lots keep their names, entries and seals."""
    answer("record_import", json, bundle=bundle, record=record)
