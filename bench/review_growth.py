"""How rules and settings grow with the steps of a flow: a film put down, cleaned, etched and rinsed again and again."""

from __future__ import annotations

import statistics
import time
from collections.abc import Callable
from functools import partial

from bench.settings import dialled_in
from filmwright.emulate import walk
from filmwright.flow import flow_from_text
from filmwright.knowledge import Lab, book
from filmwright.review import review

STEPS = (40, 100, 200, 400)

_HEAD = """\
flow: The same film again and again
wafer:
  body: silicon
  diameter: 100 mm
  films:
    - {material: silicon dioxide, thickness: 300 nm}
steps:
"""

_ROUND = """\
  - deposit: titanium
    name: film {k}
    method: electron-beam evaporation
    thickness: 60 nm
  - clean: solvent clean
    name: clean {k}
  - etch: titanium
    name: etch {k}
    in: dilute hydrogen peroxide and ammonia
    until: end point + 25 %
"""
"""Four elementary steps: the etch brings its rinse."""


def times() -> dict[int, tuple[float, float, float]]:
    """Rules alone, settings on known wafers and the walk of the same flow [s], medians of five that take turns, for each number of
    steps."""
    found = {}
    for steps in STEPS:
        text = _HEAD + "".join(_ROUND.format(k=k) for k in range(steps // 4))
        flow, lab, facts = flow_from_text(text, "plan.yaml", Lab(name="none")), Lab(name="none"), book()

        walked = partial(walk, flow, lab, facts, None, on="2026-11-25", sections=False)
        trace = walked()
        jobs = (partial(review, trace, facts), partial(dialled_in, trace, facts), walked)
        runs = [[_seconds(job) for job in jobs] for _ in range(5)]
        rules, settings, walking = (statistics.median(each) for each in zip(*runs, strict=True))
        found[steps] = (rules, settings, walking)
    return found


def rows() -> list[tuple[str, float, str, float, str]]:
    """Rules alone, and settings alone, beside the walk of the same flow."""
    return [
        (f"{name}, {steps} steps", ours, "walk of the same flow", walking, "no masks")
        for steps, (rules, settings, walking) in times().items()
        for name, ours in (("rules alone", rules), ("settings alone, wafers known", settings))
    ]


def _seconds(call: Callable[[], object]) -> float:
    begin = time.perf_counter()
    call()
    return time.perf_counter() - begin
