"""The verbs on accounts of a shared record. A password is typed on the terminal, unseen; it never stands on the command line."""

from __future__ import annotations

import sys
from typing import Annotated

import typer

from filmwright.cli.words import Json, NewRecord, Record, answer

people_verbs = typer.Typer(
    help="Accounts of a shared record: who there is and what they may do.", no_args_is_help=True
)

Name = Annotated[str, typer.Argument(help="Name of the account.", metavar="NAME")]
At = Annotated[str, typer.Option("--at", help='Address of the bench, for the link: "https://bench.example".')]


@people_verbs.command("list", epilog="Example:  filmwright people list")
def people_list(record: Record = None, json: Json = False) -> None:
    """Everybody with an account."""
    answer("people_list", json, record=record)


@people_verbs.command("add", epilog="Example:  filmwright people add mara --role administrator")
def people_add(
    name: Name,
    role: Annotated[
        str, typer.Option("--role", help="reader, operator, process owner or administrator.")
    ] = "operator",
    link: Annotated[
        bool, typer.Option("--link", help="Ask for no password: print a link by which the person sets one.")
    ] = False,
    at: At = "",
    record: NewRecord = None,
    json: Json = False,
) -> None:
    """Add an account; its password is asked for here, or set by the person through a link that works once."""
    answer(
        "people_add",
        json,
        name=name,
        role=role,
        password="" if link or json else _asked(),
        at=at,
        record=record,
    )


@people_verbs.command("link", epilog='Example:  filmwright people link mara --at "https://bench.example"')
def people_link(name: Name, at: At = "", record: Record = None, json: Json = False) -> None:
    """Draw a new link that sets a forgotten password, once."""
    answer("people_link", json, name=name, at=at, record=record)


@people_verbs.command("role", epilog='Example:  filmwright people role mara "process owner"')
def people_role(
    name: Name,
    role: Annotated[
        str, typer.Argument(help="reader, operator, process owner or administrator.", metavar="ROLE")
    ],
    record: Record = None,
    json: Json = False,
) -> None:
    """Give an account another role."""
    answer("people_change", json, name=name, role=role, record=record)


@people_verbs.command("close", epilog="Example:  filmwright people close mara")
def people_close(name: Name, record: Record = None, json: Json = False) -> None:
    """Close an account: its sign-ins and tokens end; entries keep its name."""
    answer("people_change", json, name=name, active=False, record=record)


@people_verbs.command("open", epilog="Example:  filmwright people open mara")
def people_open(name: Name, record: Record = None, json: Json = False) -> None:
    """Open a closed account again."""
    answer("people_change", json, name=name, active=True, record=record)


def _asked() -> str:
    """A password typed twice, unseen; empty where nobody sits at a terminal, and then a link is drawn."""
    if not sys.stdin.isatty():
        return ""
    return str(
        typer.prompt("Password, unseen", hide_input=True, confirmation_prompt="The same again", err=True)
    )
