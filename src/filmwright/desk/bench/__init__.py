"""What the pages and the verbs of the bench ask: the life of a lot, answered from what was written down.

Every answer is a projection of the record; nothing is emulated here, so that a tap never waits.
"""

from typing import TYPE_CHECKING

# A function that is called like its file is bound here, else the file would hide it once it is loaded.
from filmwright.desk.bench.settled import settled

if TYPE_CHECKING:
    from filmwright.desk.bench.example import ExampleBench, example_bench
    from filmwright.desk.bench.following import progress_of
    from filmwright.desk.bench.house import Bench
    from filmwright.desk.bench.progress import (
        Acknowledged,
        Cell,
        FlowVersion,
        OpenHold,
        Piece,
        Progress,
        Split,
        State,
        Timer,
        Visit,
    )

_WHERE = {
    "Bench": "house",
    "Cell": "progress",
    "ExampleBench": "example",
    "FlowVersion": "progress",
    "OpenHold": "progress",
    "Acknowledged": "progress",
    "Piece": "progress",
    "Progress": "progress",
    "Split": "progress",
    "State": "progress",
    "Timer": "progress",
    "Visit": "progress",
    "example_bench": "example",
    "progress_of": "following",
}

__all__ = [
    "Acknowledged",
    "Bench",
    "Cell",
    "ExampleBench",
    "FlowVersion",
    "OpenHold",
    "Piece",
    "Progress",
    "Split",
    "State",
    "Timer",
    "Visit",
    "example_bench",
    "progress_of",
    "settled",
]


def __getattr__(name: str) -> object:
    """An answer loads only what it needs."""
    if name in _WHERE:
        import importlib

        return getattr(importlib.import_module(f"filmwright.desk.bench.{_WHERE[name]}"), name)
    raise AttributeError(name)
