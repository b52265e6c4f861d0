"""Words ↔ desk: the command line."""

from filmwright.cli.app import main

__all__ = ["main"]
