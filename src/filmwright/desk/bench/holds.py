"""Hold points: where to look before a step that cannot be taken back, and where rework begins."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import TYPE_CHECKING

from filmwright.errors import BadInput, Problem, Problems
from filmwright.flow import Step

if TYPE_CHECKING:
    from filmwright.desk.bench.progress import Progress
    from filmwright.record import Event

IRREVERSIBLE: dict[str, str] = {
    "etch": "what is etched away does not come back",
    "deposit": "what lies beneath is out of sight and out of reach afterwards",
    "lift off": "what floats off does not come back",
    "strip": "the mask that protected the film is gone, and no second print lies exactly where the first one lay",
    "anneal": "heat cannot be taken out of a film again",
}
"""Kinds of step that cannot be taken back, and why."""

_PRINTING = frozenset(
    {"dehydrate", "prime", "coat", "bake", "expose", "reversal bake", "flood expose", "post-exposure bake",
     "develop", "inspect", "hard bake"}
)  # fmt: skip


def irreversible(step: Step) -> bool:
    """Whether a step cannot be taken back."""
    return step.kind in IRREVERSIBLE


def back_to(steps: Sequence[Step], at: int) -> int:
    """Place of the step to which a wafer goes back when rework is decided at a step.

    A print is stripped and begins anew with the first step of the same written pattern; any other step is done again itself.

    Parameters
    ----------
    steps : sequence of Step
    at : int
        Place of the hold point.
    """
    step = steps[at]
    if step.kind not in _PRINTING or not step.mask:
        return at
    first = at
    while first > 0 and steps[first - 1].name == step.name and steps[first - 1].kind in _PRINTING:
        first -= 1
    return first


def next_irreversible(steps: Sequence[Step], after: int) -> int | None:
    """Place of the next step that cannot be taken back; None when none follows."""
    return next((k for k in range(after + 1, len(steps)) if irreversible(steps[k])), None)


HOLD_POINT = "hold point"
"""Name of the acknowledgement with which a process owner lets a step begin whose hold point nobody decided."""


_OPEN = frozenset({"waiting", "ready", "rework", "running"})
"""States of a look that nobody has finished."""


_BEGINS = frozenset({"start", "repeat", "finish"})
"""Entries that say that a step was begun; a finish does so where nobody wrote the start."""


def check_entries(progress: Progress, events: Iterable[Event]) -> None:
    """Refuse entries that begin what cannot be taken back without its look: the one rule of pages, terminal and programs.

    Parameters
    ----------
    progress : Progress
        Before these entries.
    events : iterable of Event
        What one call would write; a decision or an acknowledgement among them counts.

    Raises
    ------
    BadInput
        One problem for each hold point, with what to look at.
    """
    events = tuple(events)
    decided = {(each.step, each.wafer) for each in events if _decides(each)}
    problems = Problems()
    for each in events:
        if each.kind not in _BEGINS or (each.step, each.wafer) in decided:
            continue
        meant = [each.wafer] if each.wafer else [piece.name for piece in progress.present]
        if each.kind == "finish":
            meant = [name for name in meant if not _goes(progress, name, each.step)]
        if not meant:
            continue
        try:
            check_start(progress, each.step, meant)
        except BadInput as bad:
            problems.found.extend(problem for problem in bad.problems if problem not in problems.found)
    problems.raise_any()


def _decides(event: Event) -> bool:
    return (event.kind == "hold" and bool(event.name)) or (
        event.kind == "acknowledge" and event.name == HOLD_POINT
    )


def _goes(progress: Progress, wafer: str, step: str) -> bool:
    """Whether a start, or an end, of the visit that holds is written, so that a finish begins nothing."""
    if wafer not in progress.states or not any(each.number == step for each in progress.steps):
        return True
    cell = progress.cell(wafer, step)
    return cell.state not in {"waiting", "ready", "rework"} and bool(cell.started or cell.finished)


def check_start(progress: Progress, step: str, wafers: Iterable[str] = ()) -> None:
    """Refuse to begin a step that cannot be taken back while a hold point before it is not decided, or was never begun.

    A process owner lets it begin all the same by an acknowledgement with a reason, at the hold point or at the step itself.

    Parameters
    ----------
    progress : Progress
    step : str
        Number.
    wafers : iterable of str
        None: all that are in the lot.

    Raises
    ------
    BadInput
        One problem for each hold point, with what to look at.
    """
    places = {each.number: k for k, each in enumerate(progress.steps)}
    at = places.get(step)
    if at is None or not irreversible(progress.steps[at]):
        return
    meant = [
        piece.name
        for piece in progress.pieces
        if (piece.name in wafers if wafers else piece.standing == "present")
        and not _acknowledged(progress, piece.name, step)
    ]
    here, problems = progress.steps[at], Problems()
    held = {(hold.wafer, hold.step) for hold in progress.holds}
    for k, point in enumerate(progress.steps[:at]):
        undecided = [name for name in meant if (name, point.number) in held]
        unbegun = [name for name in meant if _unbegun(progress, name, k)]
        got = [
            *([f"nothing for {', '.join(undecided)}"] if undecided else []),
            *([f"a look that was not taken of {', '.join(unbegun)}"] if unbegun else []),
        ]
        if got:
            problems.add(
                Problem(
                    what=f"the hold point {point.code} before {here.code} {here.title}",
                    expected="decided: go, rework or scrap",
                    got="; ".join(got),
                    why=IRREVERSIBLE[here.kind],
                    remedy=f"look at {point.hold or point.title}, then decide at {point.code}; "
                    "or the process owner acknowledges it with a reason",
                )
            )
    problems.raise_any()


def _acknowledged(progress: Progress, wafer: str, step: str) -> bool:
    """Whether it was said for a reason that a step may begin as things stand."""
    said = progress.decisions.get((wafer, step))
    return said is not None and said.kind == "acknowledge"


def _unbegun(progress: Progress, wafer: str, place: int) -> bool:
    """Whether a look is still to be taken of a wafer, and what it was to be taken before was not begun either."""
    point = progress.steps[place]
    if (
        not point.hold
        or progress.states[wafer][place] not in _OPEN
        or _acknowledged(progress, wafer, point.number)
    ):
        return False
    after = next_irreversible(progress.steps, place)
    return after is not None and not _goes(progress, wafer, progress.steps[after].number)
