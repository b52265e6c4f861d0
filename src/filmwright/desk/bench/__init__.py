"""What the pages and the verbs of the bench ask: the life of a lot, answered from what was written down.

Answers are projections of the record, so that a tap never waits; what must be emulated is worked out by a process of its own
(``emulation``), or here by a verb that waits (``answering``).
"""

from typing import TYPE_CHECKING

# A function that is called like its file is bound here, else the file would hide it once it is loaded.
from filmwright.desk.bench.grid import grid
from filmwright.desk.bench.settled import settled
from filmwright.desk.bench.today import today

if TYPE_CHECKING:
    from filmwright.desk.bench.answering import Answers
    from filmwright.desk.bench.as_run import AsRunWafer, FilmNow, Moment
    from filmwright.desk.bench.emulation import Emulation, Known
    from filmwright.desk.bench.example import ExampleBench, example_bench
    from filmwright.desk.bench.following import progress_of
    from filmwright.desk.bench.grid import GridAnswer
    from filmwright.desk.bench.house import Bench
    from filmwright.desk.bench.lot_list import all_lots
    from filmwright.desk.bench.papers import labels_file
    from filmwright.desk.bench.people import Added, People, Person
    from filmwright.desk.bench.people_verbs import PeopleAnswer
    from filmwright.desk.bench.permissions import (
        ACTIONS,
        LEAST,
        ROLES,
        WORDS,
        Action,
        Role,
        Way,
        action_of_entry,
        refuse,
    )
    from filmwright.desk.bench.pieces import Move, move, parts
    from filmwright.desk.bench.planned import PlannedLot, PlannedStep
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
    from filmwright.desk.bench.resume import HandOver, ResumeAnswer, hand_over, where_was_i
    from filmwright.desk.bench.signing_in import Begun, Shown, SignIns
    from filmwright.desk.bench.starting import Wafers, start_lot
    from filmwright.desk.bench.today import LotNow, TodayAnswer
    from filmwright.desk.bench.uploads import Upload, read_table, safe_name
    from filmwright.desk.bench.visitors import NOBODY, Visitor, alone
    from filmwright.desk.bench.waits import Waiting

_WHERE = {
    "ACTIONS": "permissions",
    "LEAST": "permissions",
    "ROLES": "permissions",
    "WORDS": "permissions",
    "Action": "permissions",
    "Role": "permissions",
    "Way": "permissions",
    "action_of_entry": "permissions",
    "refuse": "permissions",
    "NOBODY": "visitors",
    "Visitor": "visitors",
    "alone": "visitors",
    "Upload": "uploads",
    "read_table": "uploads",
    "safe_name": "uploads",
    "People": "people",
    "PeopleAnswer": "people_verbs",
    "Added": "people",
    "Person": "people",
    "SignIns": "signing_in",
    "Begun": "signing_in",
    "Shown": "signing_in",
    "Bench": "house",
    "Answers": "answering",
    "AsRunWafer": "as_run",
    "Emulation": "emulation",
    "FilmNow": "as_run",
    "Known": "emulation",
    "Moment": "as_run",
    "PlannedLot": "planned",
    "PlannedStep": "planned",
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
    "labels_file": "papers",
    "progress_of": "following",
    "GridAnswer": "grid",
    "TodayAnswer": "today",
    "LotNow": "today",
    "ResumeAnswer": "resume",
    "HandOver": "resume",
    "hand_over": "resume",
    "where_was_i": "resume",
    "Waiting": "waits",
    "Move": "pieces",
    "move": "pieces",
    "parts": "pieces",
    "Wafers": "starting",
    "all_lots": "lot_list",
    "start_lot": "starting",
}

__all__ = [
    "GridAnswer",
    "HandOver",
    "LotNow",
    "Move",
    "ResumeAnswer",
    "TodayAnswer",
    "Waiting",
    "grid",
    "hand_over",
    "move",
    "parts",
    "today",
    "where_was_i",
    "ACTIONS",
    "Acknowledged",
    "Action",
    "Added",
    "Answers",
    "AsRunWafer",
    "Begun",
    "Bench",
    "Cell",
    "Emulation",
    "ExampleBench",
    "FilmNow",
    "FlowVersion",
    "Known",
    "LEAST",
    "Moment",
    "NOBODY",
    "OpenHold",
    "People",
    "PeopleAnswer",
    "Person",
    "Piece",
    "PlannedLot",
    "PlannedStep",
    "Progress",
    "ROLES",
    "Role",
    "Shown",
    "SignIns",
    "Split",
    "State",
    "Timer",
    "Upload",
    "Visit",
    "Visitor",
    "WORDS",
    "Way",
    "action_of_entry",
    "alone",
    "example_bench",
    "labels_file",
    "progress_of",
    "read_table",
    "refuse",
    "safe_name",
    "settled",
    "Wafers",
    "all_lots",
    "start_lot",
]


def __getattr__(name: str) -> object:
    """An answer loads only what it needs."""
    if name in _WHERE:
        import importlib

        return getattr(importlib.import_module(f"filmwright.desk.bench.{_WHERE[name]}"), name)
    raise AttributeError(name)
