"""All rules about a lab file: ranked by what can be lost."""

from __future__ import annotations

from dataclasses import replace

from filmwright.emulate import Trace
from filmwright.knowledge import Book, Lab
from filmwright.review.finding import SEVERITIES, Finding
from filmwright.review.lab_case import LabCase, Number
from filmwright.review.lab_rules import LAB_RULES


def check_lab(
    lab: Lab, facts: Book, on: str, trace: Trace | None = None
) -> tuple[tuple[Finding, ...], tuple[Number, ...]]:
    """What a lab file lacks for good work, and every number of it as it is believed on a day.

    Parameters
    ----------
    lab : Lab
    facts : Book
    on : str
        ISO date.
    trace : Trace or None
        A walked plan that the lab file is meant for.
    """
    case = LabCase(lab, facts, on, trace)
    found = [replace(each, rule=rule.name) for rule in LAB_RULES for each in rule.check(case)]
    ranked = sorted(found, key=lambda each: (SEVERITIES.index(each.severity), each.line or 0))
    return tuple(ranked), case.numbers
