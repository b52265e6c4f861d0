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

from filmwright import desk
from filmwright.desk.files import load
from filmwright.emulate import walk
from filmwright.review import review

Row = tuple[str, float, str, float, str]


def _median(call: Callable[[], object], repeats: int) -> float:
    times = []
    for _ in range(repeats):
        begin = time.perf_counter()
        call()
        times.append(time.perf_counter() - begin)
    return statistics.median(times)


def _process(*code: str, threads: int = 2) -> Callable[[], object]:
    environment = {**os.environ, "OPENBLAS_NUM_THREADS": str(threads), "OMP_NUM_THREADS": str(threads)}
    return lambda: subprocess.run([sys.executable, *code], check=False, capture_output=True, env=environment)


def forty_steps(folder: Path) -> Path:
    """A plan of 40 elementary steps on the humidity-switch drawing: the example without its opening lithography and ends."""
    plan = folder / "plan.yaml"
    lines = plan.read_text("utf-8").split("\n\n")
    dropped = (
        "- pattern: opening",
        "name: gate pad opening",
        "name: strip after the opening",
        "- measure:",
        "- park:",
        "- probe:",
    )
    kept = [block for block in lines if not any(word in block for word in dropped)]
    plan.write_text("\n\n".join(kept).split("\nexpect:")[0] + "\n", "utf-8")
    return plan


def cold_start() -> list[Row]:
    """The help page, whole process, beside an interpreter that does nothing and one that imports numpy."""
    code = "import sys; sys.argv[1:] = ['--help']; from filmwright.cli import main; main()"
    ours = _median(_process("-c", code), 7)
    nothing = _median(_process("-c", "pass"), 7)
    numpy = _median(_process("-c", "import numpy"), 7)
    return [
        ("filmwright --help, whole process", ours, "an empty interpreter", nothing, "1 process"),
        ("filmwright --help, whole process", ours, "import numpy", numpy, "1 process"),
    ]


def review_forty(folder: Path) -> list[Row]:
    """Review, whole process and after start."""
    plan = forty_steps(folder)
    work = load(plan)
    code = f"import sys; sys.argv[1:] = ['review', {str(plan)!r}, '--json']; from filmwright.cli import main; main()"
    peer = "import numpy, shapely, gdstk, pint, ruamel.yaml"
    size = f"{len(work.flow.steps)} steps, 4 masks, {sum(len(r.parts()) for r in work.drawing.layers.values())} shapes"
    rows = [
        (f"review, whole process, {threads} thread{'s' if threads > 1 else ''}", _median(_process("-c", code, threads=threads), 5),
         "import of its libraries", _median(_process("-c", peer, threads=threads), 5), size)
        for threads in (1, 2)
    ]  # fmt: skip
    trace = walk(work.flow, work.lab, work.facts, work.drawing, on="2026-11-25")
    rules = _median(lambda: review(trace, work.facts), 9)
    whole = _median(lambda: walk(work.flow, work.lab, work.facts, work.drawing, on="2026-11-25"), 5)
    return [*rows, ("rules alone, after start", rules, "walk of the same flow, memory warm", whole, size)]


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
    return [
        (
            "walk with sections",
            _median(along(True), 5),
            "walk without sections",
            _median(along(False), 5),
            size,
        )
    ]


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


def main() -> int:
    """Print the table."""
    folder = Path(tempfile.mkdtemp(prefix="filmwright-bench-"))
    desk.new(folder / "flow")
    rows: list[Row] = [*cold_start(), *section(folder / "flow"), *review_forty(folder / "flow")]
    rows += extraction()
    print(
        f"Medians, side by side in one run; Python {sys.version.split()[0]}, numpy {np.__version__}, {os.cpu_count()} cores"
    )
    print(f"{'what':<44}{'ours':>10}  {'peer':<40}{'peer':>10}{'peer/ours':>11}  size")
    for name, ours, peer, theirs, size in rows:
        print(f"{name:<44}{ours:>9.3f}s  {peer:<40}{theirs:>9.3f}s{theirs / ours:>11.3g}  {size}")
    return 0


if __name__ == "__main__":
    sys.exit(main())
