"""Plates so large that one of them catches a pinhole."""

from __future__ import annotations

import math
from collections.abc import Iterator

from filmwright.review.case import Case, Rule, finding, percent
from filmwright.review.finding import Finding
from filmwright.units import show
from filmwright.wafer import Device


def check(case: Case) -> Iterator[Finding]:
    """Chance of at least one pinhole under the largest plate of a die, with pinholes at random."""
    if not case.finished:
        return
    sizes = {
        device.name or f"a {device.kind}": _plate(device)
        for device in (*case.transistors, *case.trace.devices.capacitors)
        if device.dielectric
    }
    if not sizes:
        return
    largest = max(sizes, key=lambda name: sizes[name])
    odds = -math.expm1(-sizes[largest] / case.limit("area per pinhole"))
    if odds > case.limit("pinhole odds"):
        yield finding(
            case.last,
            "warn",
            "pinholes under the largest plate",
            f"in at most {case.limit_text('pinhole odds')} of them",
            f"in {percent(odds)}: {show(sizes[largest], 'area')} at {largest}, one pinhole in {case.limit_text('area per pinhole')}",
            "one pinhole shorts the whole plate, and a leak through it looks like a poor insulator",
            "split the plate, deposit the insulator in two runs with a clean between, or count shorts on plates of several sizes",
            f"{case.limit_source('area per pinhole')}; {case.limit_source('pinhole odds')}",
        )


def _plate(device: Device) -> float:
    """Area [m²] of insulator between conductors: channel and overlaps of a transistor, the plate of a capacitor."""
    return device.area + (device.width or 0.0) * sum(device.overlaps.values())


RULE = Rule(
    name="pinholes under a plate",
    loses="large capacitors and wide transistors",
    quantity="1 − exp(−area of the plate / area per pinhole)",
    limits=("area per pinhole", "pinhole odds"),
    source="Poisson yield of defects at random (statistics)",
    answers=("capacitance", "gate edge"),
    check=check,
)
