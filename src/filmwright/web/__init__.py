"""Pages and JSON for the bench: requests to ``desk``, its answers as pages. Knows no SQL and no physics.

The web framework is loaded only when one of the names is used.
"""

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from filmwright.web.app import application
    from filmwright.web.context import Settings
    from filmwright.web.serving import serve

__all__ = ["Settings", "application", "serve"]

_HOMES = {"Settings": "context", "application": "app", "serve": "serving"}


def __getattr__(name: str) -> object:
    """Load a name's own file only: a command that serves nothing must not wait for a web framework."""
    if name in _HOMES:
        import importlib

        return getattr(importlib.import_module(f"filmwright.web.{_HOMES[name]}"), name)
    raise AttributeError(name)
