"""Sections in a process of their own: a flow of forty steps, an isotropic front beside a grid, and how both grow."""

from __future__ import annotations

import resource
import statistics
import tempfile
import time
from collections.abc import Callable
from dataclasses import dataclass
from functools import partial
from pathlib import Path

from shapely import Polygon, union_all

from bench import level_set
from filmwright import desk
from filmwright.desk.files import load
from filmwright.emulate import walk
from filmwright.numerics import Polyline, Region
from filmwright.units import to_si
from filmwright.wafer import Action, Clear, Coat, EtchRate, Grow, Print, Remove, Section

GRID = 2.0**-10
"""Grid on which sections lie [nm]; both sides snap to it."""
CUT = 100_000.0
"""Length of the cut through a transistor [nm]."""

Row = tuple[str, float, str, float, str]


def _pair(ours: Callable[[], object], peer: Callable[[], object], repeats: int) -> tuple[float, float]:
    times: tuple[list[float], list[float]] = ([], [])
    for _ in range(repeats):
        for kept, call in zip(times, (ours, peer), strict=True):
            begin = time.perf_counter()
            call()
            kept.append(time.perf_counter() - begin)
    return statistics.median(times[0]), statistics.median(times[1])


def _nm(value: float) -> float:
    return to_si(value, "nm")


def _corners(section: Section) -> int:
    return sum(len(ring) for _, rings in section.polygons() for ring in rings)


def _polygons(section: Section) -> list[Polygon]:
    rings = [part.rings() for body in section.bodies for part in body.shape.parts()]
    return [Polygon(each[0], each[1:]) for each in rings]


def _after(section: Section, actions: list[Action]) -> list[Section]:
    found = [section]
    for action in actions:
        found.append(found[-1].apply(action))
    return found


def _unions(sections: list[Section]) -> Callable[[], object]:
    drawn = [_polygons(each) for each in sections]
    return lambda: [union_all(each, grid_size=GRID) for each in drawn]


def forty(plan: Path) -> Row:
    """Every action of a flow of forty steps on a section of 100 µm through the middle of its cut."""
    work = load(plan)
    trace = walk(work.flow, work.lab, work.facts, work.drawing, on="2026-11-25")
    if trace.start.section is None:
        raise SystemExit("the plan has no cut")
    (x0, y0), (x1, y1) = trace.start.section.cut.points[0], trace.start.section.cut.points[-1]
    long = trace.start.section.cut.length
    dx, dy = (x1 - x0) / long * CUT / 2, (y1 - y0) / long * CUT / 2
    middle = ((x0 + x1) / 2, (y0 + y1) / 2)
    line = Polyline(((middle[0] - dx, middle[1] - dy), (middle[0] + dx, middle[1] + dy)))
    body, *films = trace.start.plan.cells[0].column.layers
    start = Section.start(line, body.material, [(film.material, film.film, film.thickness) for film in films])
    actions = [action for state in trace.states for action in state.actions]
    sections = _after(start, actions)
    ours, peer = _pair(lambda: _after(start, actions), _unions(sections[1:]), 5)
    peak = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
    size = f"{len(trace.states)} steps, {len(actions)} actions, {_corners(sections[-1])} corners, peak {peak:.0f} MB"
    return ("section of 100 µm, 40 steps", ours, "one union of its polygons per action", peer, size)


def front() -> Row:
    """An isotropic etch under a mask beside a level set on the coarsest grid that is within 1 nm of the circle."""
    cut = Polyline(((0.0, 0.0), (level_set.WIDTH, 0.0)))
    section = Section.start(cut, "body", [("film", "film", _nm(level_set.FILM))], margin=100.0)
    section = section.apply(Coat(material="mask", film="mask", thickness=_nm(300), levelling=_nm(500)))
    keep = Region.box(level_set.MASK_EDGE, -1.0, 2 * level_set.WIDTH, 1.0)
    section = section.apply(Print(material="mask", keep=keep))
    etch = Remove(rates={"film": EtchRate(down=_nm(1), sideways=_nm(1))}, time=level_set.DEPTH)
    (edge,) = section.apply(etch).undercuts("film", "mask")
    cell = level_set.coarsest(1.0)
    ours, peer = _pair(lambda: section.apply(etch), lambda: level_set.etched(cell), 9)
    off = abs(edge.top - _nm(level_set.DEPTH))
    size = f"0.9 µm of film, ours off by {off / _nm(1):.2f} nm, cells of {cell:g} nm"
    return ("isotropic front to 1 nm", ours, "level set in a narrow band, numba", peer, size)


@dataclass(frozen=True)
class Grown:
    """Five actions on a section that has met many: how many, its pieces and corners, our time and that of the unions [s]."""

    actions: int
    pieces: int
    corners: int
    ours: float
    peer: float


def times() -> list[Grown]:
    """Films grown, printed and etched one after the other: the last of them, as steps and vertices grow."""
    section = Section.start(Polyline(((0.0, 0.0), (CUT, 0.0))), "body", [("a", "start", _nm(100))])
    found = []
    for k in range(1, 25):
        material = "abc"[k % 3]
        strip = Region.box(20_000.0 + 1500.0 * k, -1.0, 60_000.0 + 1500.0 * k, 1.0)
        actions: list[Action] = [
            Grow(material=material, film=f"film {k}", thickness=_nm(40), side_wall=0.7),
            Coat(material="resist", film=f"resist {k}", thickness=_nm(900), levelling=_nm(5000)),
            Print(material="resist", keep=strip, side_wall_angle=1.45),
            Remove(rates={material: EtchRate(down=_nm(1), sideways=_nm(0.7))}, time=45.0),
            Clear(materials=frozenset({"resist"})),
        ]
        before = section
        sections = _after(before, actions)
        section = sections[-1]
        if k in (3, 6, 12, 24):
            ours, peer = _pair(partial(_after, before, actions), _unions(sections[1:]), 5)
            found.append(Grown(5 * k, len(section.pieces), _corners(section), ours, peer))
    return found


def growth() -> list[Row]:
    """The same as rows."""
    return [
        (
            f"section, actions {g.actions - 4} to {g.actions}",
            g.ours,
            "one union per action",
            g.peer,
            f"after {g.actions} actions, {g.pieces} pieces, {g.corners} corners",
        )
        for g in times()
    ]


def measure(plan: str) -> list[Row]:
    """All rows."""
    return [forty(Path(plan)), front(), *growth()]


def example() -> str:
    """A plan of 40 steps in a folder of its own."""
    from bench.__main__ import forty_steps

    folder = Path(tempfile.mkdtemp(prefix="filmwright-bench-"))
    desk.new(folder / "flow")
    return str(forty_steps(folder / "flow"))
