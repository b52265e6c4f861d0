"""The examples, walked once for all tests of the room."""

from collections.abc import Callable
from functools import cache
from importlib import resources

import pytest

from filmwright.emulate import Trace, walk
from filmwright.flow import Done, as_run, flow_from_text, lab_from_text
from filmwright.knowledge import book
from filmwright.masks import chip, drawing_of

Walked = Callable[..., Trace]


def shipped(*names: str) -> str:
    """A shipped text."""
    return resources.files("filmwright.desk").joinpath("examples", *names).read_text("utf-8")


@pytest.fixture(scope="session")
def walked() -> Walked:
    """The trace of an example, or of a plan text without masks; with what a record says, when there is one."""
    drawings = cache(lambda name: drawing_of(chip(name)))

    @cache
    def trace(plan: str, record: tuple[Done, ...] = (), lab: str = "") -> Trace:
        example = plan if "\n" not in plan else ""
        read = lab_from_text(lab or shipped("lab.yaml"), "lab.yaml")
        text = shipped(example, "plan.yaml") if example else plan
        flow = flow_from_text(text, "plan.yaml", read)
        flow = as_run(flow, record) if record else flow
        drawing = drawings(example) if example else None
        return walk(flow, read, book(), drawing, on="2026-10-26", sections=False)

    return trace
