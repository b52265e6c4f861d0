"""A reading of which nobody knows who took it, or how."""

from __future__ import annotations

from collections.abc import Iterator

from filmwright.knowledge import Calibration, ToolRun
from filmwright.review.finding import Finding
from filmwright.review.lab_case import LabCase, LabRule, told


def check(case: LabCase) -> Iterator[Finding]:
    """Readings and runs without by or evidence."""
    readings: list[Calibration | ToolRun] = [*case.lab.calibrations, *case.lab.runs]
    without = [each for each in readings if not each.by or not each.evidence]
    if without:
        yield told(
            "note",
            "what the readings rest on",
            "said of each: by whom and how",
            "; ".join(f"line {each.line}: no {_missing(each)}" for each in without),
            "a number that nobody signed cannot be asked about when it looks wrong",
            "write by: and evidence: (instrument, sites, run)",
            "the lab's own file",
            without[0].line,
        )


def _missing(each: Calibration | ToolRun) -> str:
    return " and ".join(word for word, said in (("by", each.by), ("evidence", each.evidence)) if not said)


RULE = LabRule(
    name="reading without evidence",
    loses="the way back to the measurement",
    quantity="readings − those with who and how",
    source="the lab's own file",
    check=check,
)
