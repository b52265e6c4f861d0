"""Heat, measurement, probing and waiting."""

from __future__ import annotations

from filmwright.emulate.context import Context, Planned, acted, asked_settings, nothing
from filmwright.emulate.trace import Corner
from filmwright.flow import Step
from filmwright.wafer import Action, Heat, Plan


def plan_anneal(step: Step, ctx: Context, now: Plan) -> Planned:
    """Hold at a temperature in an atmosphere."""
    hot = acted(step, "temperature", step.asked["temperature"].value)
    long = acted(step, "time", step.asked["time"].value)

    def actions(corner: Corner, there: Plan) -> tuple[Action, ...]:
        return (Heat(temperature=hot, time=long, atmosphere=step.medium),)

    return Planned(
        settings=asked_settings(step), time=step.asked["time"].value, actions=actions, hazards=("hot plate",)
    )


def plan_measure(step: Step, ctx: Context, now: Plan) -> Planned:
    """Nothing happens to the wafer; what to expect is told when the whole flow has been walked."""
    # The tolerance is no knob: it stands beside the reading that it judges.
    return Planned(settings=asked_settings(step, "tolerance"), time=0.0, actions=nothing)


def plan_probe(step: Step, ctx: Context, now: Plan) -> Planned:
    """Sweep the devices within the voltages that spare the insulator."""
    return Planned(
        settings=asked_settings(step),
        time=0.0,
        actions=nothing,
        hazards=("high voltage probing",),
    )


def plan_park(step: Step, ctx: Context, now: Plan) -> Planned:
    """A place where the wafer may wait."""
    return Planned(settings=asked_settings(step), time=0.0, actions=nothing)
