"""What a step should know of its tool and bath before anything is dialled in."""

from __future__ import annotations

from typing import TYPE_CHECKING

from filmwright.desk.bench.tools import bath_today, site_of
from filmwright.desk.bench.tools import tool as tool_of
from filmwright.desk.files import today
from filmwright.emulate import bath_of
from filmwright.flow import Step, step_of
from filmwright.knowledge import CalibratedQuantity, believe, book, limits
from filmwright.learn import Dummies, RateBelief, dummy_first, usual_reading

if TYPE_CHECKING:
    from filmwright.desk.bench.house import Bench
    from filmwright.desk.bench.tools import Site


def tool_notices(bench: Bench, lot: str, step: str, on: str = "") -> tuple[str, ...]:
    """Sentences for the card of a step: tool down or limited, what is due, what stands out, bath expired, run a dummy first.

    Parameters
    ----------
    bench : Bench
    lot : str
    step : str
        Number or short code.
    on : str
        ISO date; empty for today.
    """
    flow, day = bench.flow(lot), on or today()
    asked = step_of(flow, step)
    # The bench keeps each flow that it has read, so the object itself is its name.
    return bench.shelf.told(("notices", id(flow), asked.number, day), lambda: _notices(bench, asked, day))


def _notices(bench: Bench, asked: Step, day: str) -> tuple[str, ...]:
    site = site_of(bench, day)
    found: list[str] = []
    if asked.tool in site.names:
        found += _of_tool(bench, asked.tool, site.day)
    found += _of_bath(asked, site)
    dummies = dummies_for(asked, site)
    if dummies is not None and dummies.needed:
        found.append(dummies.said)
    return tuple(found)


def _of_tool(bench: Bench, name: str, day: str) -> list[str]:
    told = tool_of(bench, name, day)
    found = []
    if told.state != "up":
        found.append(f"{name} is {told.state}: {told.why} ({told.who}, {told.since[:10]}).")
    found += [f"Due on {name}: {each}." for each in told.due]
    found += [
        f"{each.name} of {name} stands out: {each.alarms[0]}"
        for each in told.checks
        if each.alarmed and each.alarms
    ]
    return found


def _of_bath(step: Step, site: Site) -> list[str]:
    """Of the bath in which a step is done: none where the only one was discarded, expired where its life is over."""
    if not step.medium:
        return []
    standing = bath_of(step, site.lab, site.day)
    if standing is None:
        gone = [
            each.name for each in site.baths if each.medium == step.medium and each.tool in ("", step.tool)
        ]
        return [f"{gone[0]} was discarded and no fresh one is on file."] if gone else []
    told = bath_today(site.bath(standing.name), site.books, site.day)
    return [f"{told.name} is expired: {told.why}."] if told.state == "expired" else []


def dummies_for(step: Step, site: Site) -> Dummies | None:
    """Whether a step's rate is known well enough for what the plan accepts; None where no measured rate decides it.

    The tolerance is the plan's own, else the limit ``rate band`` of the lab or as usual. What is followed to its end point asks
    for none.
    """
    found = _asked_of(step)
    if found is None:
        return None
    of, planned = found
    belief = believe(
        site.lab, book(), of=of, tool=step.tool, material=step.material, medium=step.medium if of == "etch rate" else "",
        recipe=step.recipe, on=site.day,
    )  # fmt: skip
    if belief is None or belief.age_days is None or not belief.value:
        return None
    usual = site.lab.limits.get("rate band", limits()["rate band"].value)
    tolerance = planned or usual
    spread, per_use = _history(step, of, site) or (belief.std, 0.0)
    return dummy_first(
        RateBelief(mean=belief.value, std=belief.std),
        reading_std=spread,
        tolerance=tolerance,
        per_use=per_use * abs(belief.value),
        result="film" if step.kind == "deposit" else "etch",
    )


def _asked_of(step: Step) -> tuple[CalibratedQuantity, float | None] | None:
    """Which number decides a step, and the half width that the plan accepts, relative; None where it is none of these."""
    if step.kind == "deposit" and "thickness" in step.asked:
        wanted = step.asked["thickness"]
        of: CalibratedQuantity = "growth per cycle" if "atomic layer" in step.method else "deposition rate"
        return of, wanted.spread / wanted.value if wanted.spread else None
    if step.kind == "etch" and (step.end is None or step.end.rule != "end point"):
        return "etch rate", None
    return None


def _history(step: Step, of: str, site: Site) -> tuple[float, float] | None:
    """Usual spread of one reading [SI], and the relative drift with a use, of the number of a step."""
    from filmwright.desk.bench.tool_numbers import numbers_of
    from filmwright.desk.wandering import readings_of

    own = [
        each
        for each in numbers_of(step.tool, site.lab, site.day)
        if each.of == of
        and each.material in ("", step.material)
        and each.medium in ("", step.medium)
        and each.recipe in ("", step.recipe)
    ]
    if not own:
        return None
    best = max(own, key=lambda each: (bool(each.recipe), bool(each.material), bool(each.medium)))
    value = abs(best.belief.value) or 1.0
    return usual_reading(readings_of(site.lab, best.readings)), best.wander.per_use / value
