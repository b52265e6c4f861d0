"""What comes next in a lot, wafers at the same step together, with the latest start that a wait sets."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from filmwright.desk.bench import Bench, Piece, State
from filmwright.desk.bench.today import lot_now
from filmwright.desk.bench.waits import Waiting
from filmwright.desk.files import now as clock

AT_WORK: tuple[State, ...] = ("held", "rework", "running", "ready")
"""States that want somebody, the most urgent first."""


@dataclass(frozen=True, kw_only=True)
class Next:
    """What one or more wafers do next.

    Attributes
    ----------
    code, title : str
    wafers : tuple of str
    state : State
    latest : str
        ISO time of the latest start that a wait sets; empty: none does.
    late : bool
        Whether that is over.
    back : str
        Code of the step to go back to when it is; empty where none makes up for it.
    why : str
        Why the wait has an end.
    """

    code: str
    title: str
    wafers: tuple[str, ...]
    state: State
    latest: str = ""
    late: bool = False
    back: str = ""
    why: str = ""

    def path(self, lot: str) -> str:
        """The page of the step, for the one wafer where it is one."""
        return f"/lot/{lot}/step/{self.code}" + (f"?wafer={self.wafers[0]}" if len(self.wafers) == 1 else "")


def coming_of(bench: Bench, lot: str, waits: Sequence[Waiting] | None = None) -> tuple[Next, ...]:
    """What comes next in a lot, the most urgent first.

    Parameters
    ----------
    bench : Bench
    lot : str
    waits : sequence of Waiting, or None
        That run; None asks for them.
    """
    progress = bench.progress(lot)
    running = lot_now(bench, progress, clock()).waits if waits is None else waits
    steps = {step.number: (k, step) for k, step in enumerate(progress.steps)}
    held = {(each.wafer, each.step) for each in progress.holds}
    found: dict[tuple[str, State], list[str]] = {}
    for piece in progress.present:
        number = _attended(piece, held)
        if number:
            state = progress.states[piece.name][steps[number][0]]
            found.setdefault((number, state), []).append(piece.name)
    order = {state: k for k, state in enumerate(AT_WORK)}
    told = []
    for (number, state), wafers in found.items():
        place, step = steps[number]
        wait = _soonest(running, number, wafers)
        back = steps[wait.back][1].code if wait is not None and wait.back in steps else ""
        line = Next(
            code=step.code,
            title=step.title,
            wafers=tuple(wafers),
            state=state,
            latest=wait.latest if wait else "",
            late=wait.expired if wait else False,
            back=back,
            why=wait.why if wait else "",
        )
        told.append(((not line.late, order.get(state, 9), place), line))
    return tuple(line for _, line in sorted(told, key=lambda each: each[0]))


def _attended(piece: Piece, held: set[tuple[str, str]]) -> str:
    """The step at which a wafer wants somebody: an open hold point, what runs, what is next."""
    at_hold = next((step for wafer, step in held if wafer == piece.name), "")
    return at_hold or piece.running or piece.next


def _soonest(waits: Sequence[Waiting], number: str, wafers: Sequence[str]) -> Waiting | None:
    """The wait that ends first before this step; what already runs waits no longer."""
    return next((each for each in waits if each.before == number and each.wafer in wafers), None)
