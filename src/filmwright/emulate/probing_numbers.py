"""Numbers of a probe plan: currents to expect, steps and waits, the weakest of many, how many devices."""

from __future__ import annotations

from dataclasses import dataclass, replace

from filmwright.device import drain_current, subthreshold_limit
from filmwright.emulate.exposed import of_limit
from filmwright.emulate.follows import chosen, follows
from filmwright.emulate.predict import Prediction
from filmwright.knowledge import Book, Lab
from filmwright.process import (
    CHARGING,
    DEVICES_FOR_YIELD,
    DRAIN_CURRENT,
    SWEEP_STEP,
    WEAKEST,
    Input,
    Noted,
    Setting,
    charging_current,
    devices_needed,
    weakest_voltage,
)
from filmwright.sources import Value
from filmwright.wafer import Device


@dataclass(frozen=True)
class Bias:
    """A device with its prediction and the highest voltages that are put on it [V]."""

    device: Device
    predicted: Prediction
    gate: float
    drain: float
    low_drain: float


def current(bias: Bias, drain: float, name: str) -> Setting:
    """The drain current at the highest gate voltage.

    Parameters
    ----------
    bias : Bias
    drain : float [V]
    name : str
    """
    design, rests = bias.predicted.design, bias.predicted.rests_on
    made = "the emulated wafer"
    inputs = {
        "gate": chosen("V_G", "gate voltage", bias.gate, "V", "the plan"),
        "drain": chosen("V_D", "drain voltage", drain, "V", "the plan"),
        "width": chosen("W", "width as made", design.width, "um", made),
        "length": chosen("L", "length as made", design.length, "um", made),
        "capacitance": chosen("C", "areal capacitance", design.areal_capacitance, "nF/cm^2", made),
        "threshold": chosen("V_T", "threshold, predicted", design.threshold_voltage, "V", "values on file"),
        "mobility": _as_predicted("µ", "mobility", rests["mobility"], design.mobility),
        "contact": _as_predicted(
            "r", "one contact, times the width", rests["contact resistance"], design.contact_resistance
        ),
    }  # fmt: skip

    def of(  # noqa: PLR0913 - the inputs of the law
        gate: float,
        drain: float,
        width: float,
        length: float,
        capacitance: float,
        threshold: float,
        mobility: float,
        contact: float,
    ) -> float:
        moved = replace(
            design,
            width=width,
            length=length,
            areal_capacitance=capacitance,
            threshold_voltage=threshold,
            mobility=mobility,
            contact_resistance=contact,
        )
        return float(drain_current(moved, gate, drain))

    derived = DRAIN_CURRENT.derive(
        of, inputs, unit="µA", notes=(f"device {bias.device.name or bias.device.kind}",)
    )
    return follows(name, derived)


def _as_predicted(symbol: str, name: str, known: Value, value: float) -> Input:
    """A value on file, moved to what the charge of the film makes of it; its spread goes with it."""
    given = Input.known(symbol, name, known)
    return replace(given, value=value, std=given.std * value / given.value if given.value else given.std)


def step_of_gate(bias: Bias, facts: Book) -> Setting:
    """Step of the gate from the swing and the points that are wanted in a decade.

    Parameters
    ----------
    bias : Bias
    facts : Book
    """
    design = bias.predicted.design
    per_decade = design.ideality * subthreshold_limit(design.temperature)
    swing = chosen("S", "subthreshold swing, predicted, per decade", per_decade, "V", "values on file")
    points = Input.known("k", "points in a decade", facts.models["probing"]["points in a decade"])
    inputs = {"swing": replace(swing, std=0.0), "points": replace(points, std=0.0)}
    derived = SWEEP_STEP.derive(lambda swing, points: swing / points, inputs, unit="V")
    return follows("finest step of the gate", derived)


def settled(bias: Bias, step: float, facts: Book) -> Setting:
    """The current that charging hides at the usual delay.

    Parameters
    ----------
    bias : Bias
    step : float [V]
    facts : Book
    """
    usual = facts.models["probing"]
    cable = usual["cable"]
    gate = bias.predicted.design.areal_capacitance * bias.device.area
    total = chosen(
        "C",
        "cable and gate",
        cable.value + gate,
        "pF",
        f"cable {cable.value * 1e12:.3g} pF, the rest from the emulated wafer",
    )
    inputs = {
        "capacitance": replace(total, std=cable.std),
        "step": chosen("V_s", "step of the gate", step, "V", "this plan"),
        "delay": replace(Input.known("t", "delay before the reading", usual["delay"]), std=0.0),
    }
    derived = CHARGING.derive(
        lambda capacitance, step, delay: charging_current(capacitance, step, delay), inputs, unit="pA"
    )
    return follows("current that charging hides", derived)


def weakest(sparing: Setting, count: int, facts: Book) -> Setting:
    """The voltage at which the first of so many insulators may break down.

    Parameters
    ----------
    sparing : Setting
        The voltage that spares one of them, a share of what breaks it.
    count : int
    facts : Book
    """
    derived = sparing.derivation
    share = next((each.value for each in derived.inputs if each.symbol == "s"), 1.0)
    inputs = {
        "typical": chosen("V", "breakdown of one", (derived.result or 0.0) / share, "V", "breakdown field × thinnest place"),
        "shape": replace(Input.known("β", "Weibull shape", facts.models["probing"]["weak spot shape"])),
        "devices": chosen("n", "insulators on the die", float(count), "", "the emulated wafer"),
    }  # fmt: skip
    found = WEAKEST.derive(
        lambda typical, shape, devices: Noted(value=weakest_voltage(typical, shape, devices).value),
        inputs,
        unit="V",
    )
    return follows(f"breakdown of the weakest of {count}", found)


def devices_for_yield(facts: Book, lab: Lab) -> Setting:
    """How many devices without a failure show the yield that is wanted.

    Parameters
    ----------
    facts : Book
    lab : Lab
    """
    wanted = Input.known("Y", "yield that is to be shown", facts.models["probing"]["wanted yield"])
    inputs = {
        "wanted": replace(wanted, std=0.0),
        "confidence": of_limit(lab, "C", "confidence", "confidence"),
    }
    derived = DEVICES_FOR_YIELD.derive(
        lambda wanted, confidence: float(devices_needed(wanted, confidence)), inputs, unit=""
    )
    return follows("devices that show the yield", derived)
