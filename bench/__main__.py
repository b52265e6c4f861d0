"""``python -m bench``: ratios with their size and peer; medians of repeated runs, side by side, never a timed test."""

from __future__ import annotations

import json
import os
import statistics
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable
from pathlib import Path

import numpy as np
from shapely import Polygon, union_all

from bench import as_run, extract, fits, lengths, lots, pages, plan, reading, record, review_growth, taps
from bench.settings import dialled_in
from filmwright import desk
from filmwright.desk.files import load
from filmwright.emulate import Trace, walk
from filmwright.review import review
from filmwright.wafer import Action, Section

GRID = 2.0**-10
"""Grid on which sections lie [nm]; both sides snap to it."""

Row = tuple[str, float, str, float, str]


def _median(call: Callable[[], object], repeats: int) -> float:
    times = []
    for _ in range(repeats):
        begin = time.perf_counter()
        call()
        times.append(time.perf_counter() - begin)
    return statistics.median(times)


def _pair(ours: Callable[[], object], peer: Callable[[], object], repeats: int) -> tuple[float, float]:
    """Medians of two jobs that take turns, so that both meet the same busy machine."""
    times: tuple[list[float], list[float]] = ([], [])
    for _ in range(repeats):
        for kept, call in zip(times, (ours, peer), strict=True):
            kept.append(_median(call, 1))
    return statistics.median(times[0]), statistics.median(times[1])


def _process(*code: str, threads: int = 2) -> Callable[[], object]:
    environment = {**os.environ, "OPENBLAS_NUM_THREADS": str(threads), "OMP_NUM_THREADS": str(threads)}
    return lambda: subprocess.run([sys.executable, *code], check=False, capture_output=True, env=environment)


def forty_steps(folder: Path) -> Path:
    """A plan of 40 elementary steps on the humidity-switch drawing: the example without its opening lithography, parking and probing."""
    plan = folder / "plan.yaml"
    lines = plan.read_text("utf-8").split("\n\n")
    dropped = (
        "- pattern: opening",
        "name: gate pad opening",
        "name: strip after the opening",
        "- park:",
        "- probe:",
    )
    kept = [block for block in lines if not any(word in block for word in dropped)]
    plan.write_text("\n\n".join(kept).split("\nexpect:")[0] + "\n", "utf-8")
    return plan


def cold_start() -> list[Row]:
    """The help page, whole process, beside an interpreter that does nothing and one that imports numpy."""
    code = "import sys; sys.argv[1:] = ['--help']; from filmwright.cli import main; main()"
    peers = {"an empty interpreter": "pass", "import numpy": "import numpy"}
    return [
        ("filmwright --help, whole process", ours, peer, theirs, "1 process")
        for peer, text in peers.items()
        for ours, theirs in [_pair(_process("-c", code), _process("-c", text), 7)]
    ]


def review_forty(folder: Path) -> list[Row]:
    """Review, whole process and after start, and the settings on the wafers of its walk."""
    plan = forty_steps(folder)
    work = load(plan)
    code = f"import sys; sys.argv[1:] = ['review', {str(plan)!r}, '--json']; from filmwright.cli import main; main()"
    peer = "import numpy, shapely, gdstk, pint, ruamel.yaml"
    size = f"{len(work.flow.steps)} steps, 4 masks, {sum(len(r.parts()) for r in work.drawing.layers.values())} shapes"
    rows: list[Row] = []
    for threads in (1, 2):
        ours, theirs = _pair(_process("-c", code, threads=threads), _process("-c", peer, threads=threads), 5)
        name = f"review, whole process, {threads} thread{'s' if threads > 1 else ''}"
        rows.append((name, ours, "import of its libraries", theirs, size))
    trace = walk(work.flow, work.lab, work.facts, work.drawing, on="2026-11-25")
    parts: dict[str, Callable[[], object]] = {
        "rules alone, after start": lambda: review(trace, work.facts),
        "settings alone, wafers known": lambda: dialled_in(trace, work.facts),
    }
    for name, part in parts.items():
        own, whole = _pair(
            part, lambda: walk(work.flow, work.lab, work.facts, work.drawing, on="2026-11-25"), 5
        )
        rows.append((name, own, "walk of the same flow, memory warm", whole, size))
    return rows


def section(folder: Path) -> list[Row]:
    """Sections of the example along its cut beside the same walk without them."""
    work = load(folder / "plan.yaml")

    def along(sections: bool) -> Callable[[], object]:
        return lambda: walk(work.flow, work.lab, work.facts, work.drawing, on="2026-11-25", sections=sections)

    trace = walk(work.flow, work.lab, work.facts, work.drawing, on="2026-11-25")
    corners = (
        sum(len(ring) for _, rings in trace.final.section.polygons() for ring in rings)
        if trace.final.section
        else 0
    )
    size = (
        f"{len(trace.states)} steps, cut of {trace.cut_length_nm / 1000:.0f} µm, {corners} corners at the end"
    )
    ours, theirs = _pair(along(True), along(False), 5)
    return [("walk with sections", ours, "walk without sections", theirs, size), *actions(trace)]


def actions(trace: Trace) -> list[Row]:
    """One action on a section, mean of all of a kind in the flow, beside one union of the same section's polygons in shapely."""
    met: dict[str, list[tuple[Section, Action]]] = {}
    before = trace.start
    for state in trace.states:
        for action in state.actions:
            if before.section is not None:
                met.setdefault(type(action).__name__, []).append((before.section, action))
        before = state.wafer
    rows: list[Row] = []
    for kind in ("Grow", "Coat", "Print", "Remove", "Clear"):
        some = met.get(kind, [])
        drawn = [_polygons(each) for each, _ in some]

        def ours(some: list[tuple[Section, Action]] = some) -> None:
            for each, action in some:
                each.apply(action)

        def peer(drawn: list[list[Polygon]] = drawn) -> None:
            for polygons in drawn:
                union_all(polygons, grid_size=GRID)

        own, theirs = (seconds / max(len(some), 1) for seconds in _pair(ours, peer, 5))
        corners = sum(len(p.exterior.coords) for polygons in drawn for p in polygons) / max(len(some), 1)
        size = f"{len(some)} actions, {corners:.0f} corners each"
        rows.append((f"section, one {kind}", own, "one union of its polygons in shapely", theirs, size))
    return rows


def _polygons(section: Section) -> list[Polygon]:
    rings = [part.rings() for body in section.bodies for part in body.shape.parts()]
    return [Polygon(each[0], each[1:]) for each in rings]


def sections_alone() -> list[Row]:
    """Sections without the rest of the walk, with one thread and with two, each in a process of its own."""
    rows: list[Row] = []
    code = "import json; from bench.section import example, measure; print(json.dumps(measure(example())))"
    for threads in (1, 2):
        environment = {
            **os.environ,
            "OPENBLAS_NUM_THREADS": str(threads),
            "NUMBA_NUM_THREADS": str(threads),
        }
        done = subprocess.run(
            [sys.executable, "-c", code], check=True, capture_output=True, text=True, env=environment
        )
        word = f"{threads} thread{'s' if threads > 1 else ''}"
        rows += [
            (f"{name}, {word}", ours, peer, theirs, size)
            for name, ours, peer, theirs, size in json.loads(done.stdout)
        ]
    return rows


def prediction() -> list[Row]:
    """Charge table and families of one predicted transistor, in processor seconds, with one and two threads."""
    code = "import json; from bench.prediction import measure_ratio; print(json.dumps(measure_ratio()))"
    rows = []
    for threads in (1, 2):
        environment = {**os.environ, "OPENBLAS_NUM_THREADS": str(threads), "NUMBA_NUM_THREADS": str(threads)}
        done = subprocess.run(
            [sys.executable, "-c", code], check=True, capture_output=True, text=True, env=environment
        )
        found = json.loads(done.stdout)
        said = f"{threads} thread{'s' if threads > 1 else ''}"
        peer = "scipy solve_bvp for each of 125 drives"
        rows.append(
            (f"charge table of a film, {said}", found["table"], peer, found["peer table"], "125 drives")
        )
        rows.append(
            (
                f"5 × 101 output, 2 × 201 transfer after it, {said}",
                found["family"],
                "without gated contacts",
                found["family without contacts"],
                "907 points",
            )
        )
    return rows


def extraction() -> list[Row]:
    """Ten thousand curves beside a loop over curves, each in a process of its own, with one thread and with two."""
    rows: list[Row] = []
    code = "import json; from bench.extract import measure_ratio; print(json.dumps(measure_ratio()))"
    for threads in (1, 2):
        environment = {**os.environ, "OPENBLAS_NUM_THREADS": str(threads)}
        done = subprocess.run(
            [sys.executable, "-c", code], check=True, capture_output=True, text=True, env=environment
        )
        rows += [
            (
                f"{name}, {threads} thread{'s' if threads > 1 else ''}",
                ours,
                "a loop over curves, numpy and scipy",
                peer,
                size,
            )
            for name, ours, peer, _, size in json.loads(done.stdout)
        ]
    return rows


def colours() -> list[Row]:
    """A hundred thousand different columns beside a transfer-matrix library in a loop, with one thread and with two."""
    rows: list[Row] = []
    for threads in (1, 2):
        code = f"import json; from bench.optics import measure; print(json.dumps(measure({threads})))"
        environment = {**os.environ, "OPENBLAS_NUM_THREADS": str(threads)}
        done = subprocess.run(
            [sys.executable, "-c", code], check=True, capture_output=True, text=True, env=environment
        )
        word = f"{threads} thread{'s' if threads > 1 else ''}"
        rows += [
            (f"{name}, {word}", ours, "tmm in a loop, from a sample", peer, size)
            for name, ours, peer, _, size in json.loads(done.stdout)
        ]
    return rows


def channels() -> list[Row]:
    """A transfer curve in two dimensions beside general sparse elimination, with one thread and with two."""
    rows: list[Row] = []
    code = "import json; from bench.channel import measure; print(json.dumps(measure()))"
    for threads in (1, 2):
        environment = {**os.environ, "OPENBLAS_NUM_THREADS": str(threads)}
        done = subprocess.run(
            [sys.executable, "-c", code], check=True, capture_output=True, text=True, env=environment
        )
        word = f"{threads} thread{'s' if threads > 1 else ''}"
        rows += [
            (f"{name}, {word}", ours, peer, theirs, size)
            for name, ours, peer, theirs, size in json.loads(done.stdout)
        ]
    return rows


def _time(seconds: float) -> str:
    return f"{seconds:.3f} s" if seconds >= 0.1 else f"{seconds * 1000:.2f} ms"


def main() -> int:
    """Print the table."""
    folder = Path(tempfile.mkdtemp(prefix="filmwright-bench-"))
    desk.new(folder / "flow")
    rows: list[Row] = [*cold_start(), *section(folder / "flow"), *review_forty(folder / "flow")]
    rows += review_growth.rows()
    rows += as_run.rows(folder / "flow" / "plan.yaml")
    rows += sections_alone()
    rows += [*extraction(), *extract.first_curves()]
    rows += prediction()
    rows += channels()
    rows += reading.rows()
    rows += plan.growth()
    rows += colours()
    rows += fits.rows()
    rows += lengths.rows()
    rows += lots.rows()
    rows += pages.rows()
    rows += record.rows()
    rows += taps.rows()
    print(
        f"Medians, side by side in one run; Python {sys.version.split()[0]}, numpy {np.__version__}, {os.cpu_count()} cores"
    )
    print(f"{'what':<50}{'ours':>10}  {'peer':<40}{'peer':>10}{'peer/ours':>11}  size")
    for name, ours, peer, theirs, size in rows:
        print(f"{name:<50}{_time(ours):>10}  {peer:<40}{_time(theirs):>10}{theirs / ours:>11.3g}  {size}")
    return 0


if __name__ == "__main__":
    sys.exit(main())
