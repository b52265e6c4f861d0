"""The verb that lists what the finished die holds: devices, sets, and what is wrong with the nets between them."""

from __future__ import annotations

from pathlib import Path

from filmwright.desk.accepted import informed
from filmwright.desk.device_answers import DevicesAnswer
from filmwright.desk.files import today
from filmwright.emulate import list_devices, walk
from filmwright.review import review as judge
from filmwright.wafer import length_sets, sheet_crosses

_OF_NETS = (
    "terminals joined or apart",
    "pad unreachable",
    "expected devices",
    "metal climbs a step",
    "fringe current",
    "few channel lengths",
    "fence along walls",
    "terminal open",
    "terminals shorted",
    "weak climb",
)
"""Rules of the review that tell of nets and devices."""


def devices(
    plan: Path, lab: Path | None = None, everything: bool = False, as_csv: bool = False, on: str = ""
) -> DevicesAnswer:
    """Every device of the finished die with its place, nets and dimensions as drawn and as made."""
    work = informed(plan, lab)
    trace = walk(work.flow, work.lab, work.facts, work.drawing, on=on or today(), sections=False)
    findings = tuple(each for each in judge(trace, work.facts) if {each.rule, *each.also} & set(_OF_NETS))
    return DevicesAnswer(
        flow=str(plan),
        devices=list_devices(trace, work.facts, work.drawing),
        sets=length_sets(trace.devices),
        crosses=sheet_crosses(trace.devices),
        nets=trace.nets,
        findings=findings,
        drawing=work.drawing.notes if work.drawing else (),
        everything=everything,
        as_csv=as_csv,
    )
