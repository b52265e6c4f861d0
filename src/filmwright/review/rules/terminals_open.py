"""A terminal that is in pieces, or that has no metal."""

from __future__ import annotations

from collections.abc import Iterator

from filmwright.review.case import Case, Rule, finding
from filmwright.review.finding import Finding

_SHOWN = 4


def check(case: Case) -> Iterator[Finding]:
    """Labels that stand on several nets, and labels with no conductor at their place."""
    if not case.finished:
        return
    nets = case.trace.nets
    if nets.parted:
        yield finding(
            case.last,
            "stop",
            "each named terminal",
            "one net",
            f"{len(nets.parted)} in several pieces: {_some(nets.parted)}",
            "a lead between two places of one name is missing or breaks at a step",
            "follow the lead in plan and look at the steps that it climbs, or give the places names of their own",
            "read off the emulated wafer",
        )
    if nets.absent:
        yield finding(
            case.last,
            "warn",
            "metal under each named terminal",
            "some",
            f"none at {_some(nets.absent)}",
            "the metal was etched away there, floated off, or was never drawn",
            "check the tone of the mask, and the place of the label on the drawing",
            "read off the emulated wafer",
        )


def _some(labels: tuple[str, ...]) -> str:
    return ", ".join(labels[:_SHOWN]) + (f" and {len(labels) - _SHOWN} more" if len(labels) > _SHOWN else "")


RULE = Rule(
    name="terminal open",
    loses="the device",
    quantity="nets under each label of the drawing",
    source="read off the emulated wafer",
    answers=("leads and gate",),
    follows=True,
    check=check,
)
