"""Who may do what: one table of actions and roles that pages, programs and words use alike."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Literal, get_args

from filmwright.errors import BadInput, Problem, nearest

Role = Literal["reader", "operator", "process owner", "administrator"]
ROLES: tuple[Role, ...] = get_args(Role)
"""From the one who may least to the one who may most."""

Action = Literal[
    "anyone", "read", "log", "decide", "acknowledge", "save flow", "edit tools", "own things", "administer"
]  # fmt: skip
ACTIONS: tuple[Action, ...] = get_args(Action)

Way = Literal["alone", "password", "pin", "token"]
"""How somebody came in: alone on the machine itself, by password, by PIN at a paired tablet, or a program by token."""

WORDS: Mapping[Action, str] = {
    "anyone": "see the page at which one signs in",
    "read": "read lots, steps, tools and measurements",
    "log": "write down what was done, seen and measured",
    "decide": "decide at a hold point: go, rework or scrap; plan a step otherwise for one wafer",
    "acknowledge": "accept a finding of the review for a reason",
    "save flow": "save a new version of a flow or a plan",
    "edit tools": "change recipes, limits and calibrations of tools",
    "own things": "change the own password and PIN, end own sign-ins, make own tokens",
    "administer": "add people, change roles, pair tablets, read the log of accounts",
}

LEAST: Mapping[Action, Role] = {
    "read": "reader",
    "own things": "reader",
    "log": "operator",
    "decide": "process owner",
    "acknowledge": "process owner",
    "save flow": "process owner",
    "edit tools": "process owner",
    "administer": "administrator",
}
"""The least role of each action; who stands higher may too. Somebody without an account may only what anyone may."""

_WITHHELD: Mapping[Way, frozenset[Action]] = {
    "alone": frozenset(),
    "password": frozenset(),
    "pin": frozenset({"own things", "administer"}),
    "token": frozenset({"decide", "acknowledge", "save flow", "edit tools", "own things", "administer"}),
}
"""What a way of coming in does not allow, whatever the role: a PIN is short and typed in sight of others."""

_OF_ENTRY: Mapping[str, Action] = {
    "hold": "decide", "split": "decide", "acknowledge": "acknowledge", "flow": "save flow",
}  # fmt: skip


def may(role: Role | None, action: Action, way: Way = "password") -> bool:
    """Whether somebody of a role who came in this way may do this.

    Parameters
    ----------
    role : Role or None
        None: nobody is signed in.
    action : Action
    way : Way
    """
    if action == "anyone":
        return True
    if role is None or action in _WITHHELD[way]:
        return False
    return ROLES.index(role) >= ROLES.index(LEAST[action])


def action_of_entry(kind: str) -> Action:
    """What one must be allowed to do to write an entry of this kind: a decision at a hold point is more than a number."""
    return _OF_ENTRY.get(kind, "log")


def read_role(text: str) -> Role:
    """A role as a person writes it; BadInput with the nearest when there is none of this name."""
    wanted = " ".join(text.lower().replace("-", " ").replace("_", " ").split())
    for role in ROLES:
        if role == wanted:
            return role
    raise BadInput(
        Problem(
            what="the role", expected="one of " + ", ".join(ROLES), got=f'"{text}"',
            why="it says who may write, decide and administer", remedy=nearest(wanted, ROLES),
        )
    )  # fmt: skip


def refuse(action: Action, role: Role | None, way: Way = "password") -> BadInput:
    """The refusal of an action, told to the person: what it takes and whom to ask."""
    least = LEAST.get(action, ROLES[0])
    if role is None:
        got, remedy = "nobody signed in", "sign in and try again"
    elif action in _WITHHELD[way] and way == "pin":
        got, remedy = "signed in by PIN", "sign in with your password"
    elif action in _WITHHELD[way]:
        got, remedy = "a token for programs", "do it on the page, signed in with a password"
    else:
        got, remedy = (
            f"the role {role}",
            f"ask somebody with the role {least}, or an administrator for it",
        )
    expected = "signed in" if action == "anyone" else f"of the role {least} or above"
    return BadInput(
        Problem(
            what=f"who may {WORDS[action]}", expected=expected, got=got,
            why="entries, decisions and accounts are shared by everybody in the lab", remedy=remedy,
        )
    )  # fmt: skip
