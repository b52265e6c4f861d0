"""Who asks: a person or a program, the role, and how they came in."""

from __future__ import annotations

from dataclasses import dataclass

from filmwright.desk.bench.permissions import Action, Role, Way, may, refuse
from filmwright.desk.bench.tokens import Scope, allowed


@dataclass(frozen=True, kw_only=True)
class Visitor:
    """Somebody who asks for something.

    Attributes
    ----------
    name : str
        The account, or alone the name that was typed; empty where nobody is known.
    role : Role or None
        None: nobody is signed in.
    way : Way
    sign_in : str
        Id of the sign-in or of the program's token.
    tablet : str
        Id of the paired tablet, at which a PIN is enough.
    scopes : tuple of Scope
        Of a program's token.
    """

    name: str = ""
    role: Role | None = None
    way: Way = "password"
    sign_in: str = ""
    tablet: str = ""
    scopes: tuple[Scope, ...] = ()

    def may(self, action: Action) -> bool:
        """Whether role, way and scopes allow this."""
        return may(self.role, action, self.way) and (self.way != "token" or allowed(self.scopes, action))

    def must(self, action: Action) -> None:
        """Refuse with words what is not allowed."""
        if not self.may(action):
            raise refuse(action, self.role, self.way)


NOBODY = Visitor()


def alone(name: str) -> Visitor:
    """The one person at the machine itself: may everything, and is asked for a name only."""
    return Visitor(name=name, role="administrator", way="alone")
