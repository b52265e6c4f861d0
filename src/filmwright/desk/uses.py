"""What lots did with tools and baths: each finished step is a use, told by nobody but its own entries."""

from __future__ import annotations

import functools
from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import replace
from typing import TYPE_CHECKING

from filmwright.desk.logbooks import Books, Use, read_books
from filmwright.errors import BadInput, OutOfReach
from filmwright.flow import Flow, Step, flow_from_text, lab_from_text
from filmwright.knowledge import Lab

if TYPE_CHECKING:
    from filmwright.record import Event, Lot, Store


def uses_of(
    lot: str, steps: Iterable[Step], events: Iterable[Event], wafers: Sequence[str], lab: Lab
) -> tuple[Use, ...]:
    """The uses of tools by one lot, in order of day.

    Wafers that finished a step on one day went into the tool together, as many runs as it takes for what it holds.

    Parameters
    ----------
    lot : str
    steps : iterable of Step
        Of the newest flow.
    events : iterable of Event
        Those that hold.
    wafers : sequence of str
        Of the lot; an entry without a wafer is about all of them.
    lab : Lab
    """
    of = {step.number: step for step in steps if step.tool}
    done: dict[tuple[str, str], list[str]] = defaultdict(list)
    for event in events:
        if event.kind == "finish" and event.step in of:
            done[event.step, event.happened[:10]] += [event.wafer] if event.wafer else list(wafers)
    found = []
    for (number, day), went in done.items():
        step = of[number]
        use = Use(
            tool=step.tool,
            day=day,
            lot=lot,
            step=step.code,
            wafers=len(went),
            medium=step.medium,
            material=step.material,
        )
        found.append(in_runs(use, lab))
    return tuple(sorted(found, key=lambda use: (use.day, use.step)))


def in_runs(use: Use, lab: Lab) -> Use:
    """A use with as many runs as its wafers take in a tool of this lab; one each where the tool is not known."""
    tool = lab.tools.get(use.tool)
    return replace(use, runs=tool.runs(use.wafers) if tool is not None else use.wafers)


def books_in(store: Store) -> Books:
    """Logbooks and uses of a record; nothing where no logbook of a tool or bath was ever written.

    A lab that keeps no logbooks is planned from its file alone, as before; flows of many lots are not read for it.
    """
    from filmwright.desk.bench.settled import settled

    lines = read_books(store)
    if not lines:
        return Books()
    uses: list[Use] = []
    for lot in store.lots():
        try:
            steps, lab = _steps(store, lot)
        except OutOfReach:
            raise
        except BadInput:
            # A lot whose plan cannot be read says nothing about tools, and keeps no other from being planned.
            continue
        uses += uses_of(lot.name, steps, settled(store.events(lot.name)), lot.wafers, lab)
    return Books(lines=lines, uses=tuple(uses))


def _steps(store: Store, lot: Lot) -> tuple[tuple[Step, ...], Lab]:
    from filmwright.desk.bench.settled import settled

    versions = [each.sha256 for each in settled(store.events(lot.name)) if each.kind == "flow"]
    text = store.raw(versions[-1]).decode("utf-8") if versions else lot.flow_text
    flow, lab = _flow(text, lot.lab_text)
    return flow.steps, lab


@functools.lru_cache(maxsize=256)
def _flow(text: str, lab_text: str) -> tuple[Flow, Lab]:
    lab = lab_from_text(lab_text, "lab.yaml") if lab_text else Lab(name="no lab file")
    return flow_from_text(text, "plan of a lot", lab), lab
