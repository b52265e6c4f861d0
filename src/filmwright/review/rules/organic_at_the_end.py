"""Resist that is still there at the end."""

from __future__ import annotations

from collections.abc import Iterator

from filmwright.review.case import Case, Rule, finding
from filmwright.review.changes import adds_after, stripper
from filmwright.review.finding import Change, Finding


def check(case: Case) -> Iterator[Finding]:
    """Organics on the finished wafer; polymers that the plan wants are named under ``present``."""
    wanted = case.flow.expect.present if case.flow.expect else ()
    left = sorted(m for m in case.materials_at_the_end if case.kind(m) == "organic" and m not in wanted)
    if left and case.finished:
        yield finding(
            case.last,
            "warn",
            "the finished wafer",
            "free of resist",
            ", ".join(left),
            "probes do not land on resist and it takes up water",
            "add a strip, or name the polymer under expect: present",
            "read off the emulated wafer",
            _strip_last(case, left),
        )


def _strip_last(case: Case, left: list[str]) -> Change | None:
    bath = stripper(case, left)
    if not bath or case.last is None:
        return None
    return adds_after(case, case.last, "strip: resist", "name: last strip", f"in: {bath}")


RULE = Rule(
    name="resist at the end",
    loses="contact to the probes",
    quantity="organics on the finished wafer",
    source="read off the emulated wafer",
    answers=("organic in heat",),
    follows=True,
    because_of=(
        "forgotten strip",
        "bath leaves resist",
        "organic in heat",
    ),
    check=check,
)
