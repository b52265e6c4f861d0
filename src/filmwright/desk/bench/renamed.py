"""What was entered at a step under a name that its plan does not have any more, or never had."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from typing import TYPE_CHECKING

from filmwright.flow import LOGGED, SPREAD
from filmwright.units import write

if TYPE_CHECKING:
    from filmwright.desk.bench.house import Bench
    from filmwright.desk.bench.step_card import Knob
    from filmwright.record import Event


def earlier_names(bench: Bench, lot: str, number: str) -> frozenset[str]:
    """Names of the settings that earlier versions of a flow asked for at a step.

    Parameters
    ----------
    bench : Bench
    lot, number : str
    """
    flows = [bench.flow(lot, each.digest) for each in bench.versions(lot)[:-1]]
    return frozenset(
        name for flow in flows for step in flow.steps if step.number == number for name in step.asked
    )


def with_entered(
    knobs: Sequence[Knob], entered: Mapping[str, Event], earlier: frozenset[str]
) -> tuple[tuple[Knob, ...], tuple[str, ...]]:
    """Settings with what was entered of them, and in words what was entered of others.

    A value under an earlier name stands at the one setting of the same dimension that has none of its own.

    Parameters
    ----------
    knobs : sequence of Knob
    entered : mapping from name to Event
    earlier : frozenset of str
        Names that the plan once had here.
    """
    valued = {
        name: each for name, each in entered.items() if each.value is not None and not name.endswith(SPREAD)
    }
    found = [_with(each, valued[each.name]) if each.name in valued else each for each in knobs]
    also = []
    for name, event in valued.items():
        if any(each.name == name for each in knobs):
            continue
        like = [
            k
            for k, each in enumerate(found)
            if each.plan and not each.actual and LOGGED.get(each.name) == LOGGED.get(name, "")
        ]
        of_kind = [each for each in valued if each in earlier and LOGGED.get(each) == LOGGED.get(name)]
        if name in earlier and len(like) == 1 and of_kind == [name]:
            found[like[0]] = replace(_with(found[like[0]], event), earlier=name)
        else:
            words = (
                "entered under its earlier name"
                if name in earlier
                else "the plan asks for no such setting here"
            )
            also.append(f"{name} {_shown(event)}: {words}")
    return tuple(found), tuple(also)


def _with(knob: Knob, event: Event) -> Knob:
    return replace(knob, actual=_shown(event))


def _shown(event: Event) -> str:
    return "" if event.value is None else write(event.value, event.unit)
