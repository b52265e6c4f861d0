"""The whole lot: wafers across, steps down, each meeting a state."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import groupby

from starlette.requests import Request
from starlette.responses import Response
from starlette.routing import Route

from filmwright.desk.bench import Progress, State, grid
from filmwright.desk.bench.house import Unread
from filmwright.web.coming import AT_WORK, coming_of
from filmwright.web.context import bench_of
from filmwright.web.render import page


@dataclass(frozen=True, kw_only=True)
class Line:
    """One elementary step across the wafers.

    Attributes
    ----------
    number, code, title : str
    states : tuple of State
    variants : tuple of str
        What a split plans for each wafer here, or the lot in which it is or was instead.
    hold : bool
    """

    number: str
    code: str
    title: str
    states: tuple[State, ...]
    variants: tuple[str, ...]
    hold: bool


@dataclass(frozen=True, kw_only=True)
class Group:
    """One written step with its elementary ones.

    Attributes
    ----------
    number : str
        Of the written step.
    name : str
    lines : tuple of Line
    states : tuple of State
        What the group comes to for each wafer.
    shown : bool
        Whether its lines are shown.
    """

    number: str
    name: str
    lines: tuple[Line, ...]
    states: tuple[State, ...]
    shown: bool

    @property
    def single(self) -> bool:
        """Whether it is one elementary step."""
        return len(self.lines) == 1


def groups_of(progress: Progress, opened: frozenset[str]) -> tuple[Group, ...]:
    """The rows of the grid.

    Parameters
    ----------
    progress : Progress
    opened : frozenset of str
        Numbers of written steps to show in full; ``all`` for every one.
    """
    return tuple(
        _group(number, tuple(lines), opened)
        for number, lines in groupby(_lines(progress), key=lambda line: line[0].number.partition(".")[0])
    )


def _lines(progress: Progress) -> Iterator[tuple[Line, str]]:
    for k, step in enumerate(progress.steps):
        variants = {
            wafer: split.variant
            for split in progress.splits
            if split.step == step.number
            for wafer in split.wafers
        }
        yield (
            Line(
                number=step.number,
                code=step.code,
                title=step.title,
                states=tuple(progress.states[piece.name][k] for piece in progress.pieces),
                variants=tuple(
                    variants.get(piece.name, "") or progress.elsewhere(piece.name, k)
                    for piece in progress.pieces
                ),
                hold=bool(step.hold),
            ),
            step.name,
        )


def _group(number: str, lines: Sequence[tuple[Line, str]], opened: frozenset[str]) -> Group:
    states = tuple(_comes_to(column) for column in zip(*(line.states for line, _ in lines), strict=True))
    return Group(
        number=number,
        name=lines[0][1] or lines[0][0].title,
        lines=tuple(line for line, _ in lines),
        states=states,
        shown=len(lines) > 1
        and (bool(opened & {"all", number}) or any(state in AT_WORK for state in states)),
    )


def _comes_to(column: Sequence[State]) -> State:
    """What the elementary steps of one written step say together of one wafer."""
    for state in AT_WORK:
        if state in column:
            return state
    if all(state == "skipped" for state in column):
        return "skipped"
    if all(state in ("done", "skipped") for state in column):
        return "done"
    return next(state for state in reversed(column) if state not in ("done", "skipped"))


def grid_page(request: Request) -> Response:
    """The grid of a lot; what was written where its plan cannot be read."""
    bench, name = bench_of(request), request.path_params["lot"]
    lot, problems = bench.lot(name), bench.trouble(name)
    if problems:
        return _unread_page(request, Unread(lot=lot, problems=problems))
    progress = bench.progress(name)
    answer = grid(bench, name)
    return page(
        request,
        "grid.html",
        title=bench.flow(name).title,
        lot=lot.name,
        progress=progress,
        groups=groups_of(progress, frozenset(request.query_params.getlist("open"))),
        opened=request.query_params.getlist("open"),
        coming=coming_of(bench, name),
        labels=dict(zip((each.name for each in progress.pieces), answer.labels, strict=True)),
        joined=answer.joined,
    )


def _unread_page(request: Request, unread: Unread) -> Response:
    """A lot of which nothing can be worked out: what is wrong, what was written, and the text of the plan."""
    bench, name = bench_of(request), unread.lot.name
    return page(
        request,
        "unread.html",
        title="A plan that cannot be read",
        lot=name,
        unread=unread,
        entries=bench.written(name),
        text=bench.plain_text(name),
    )


routes = [Route("/lot/{lot}", grid_page)]
