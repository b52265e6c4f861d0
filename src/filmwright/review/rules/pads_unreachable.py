"""A pad that no probe can reach."""

from __future__ import annotations

from collections.abc import Iterator

from filmwright.review.case import Case, Rule, finding
from filmwright.review.finding import Finding


def check(case: Case) -> Iterator[Finding]:
    """Labelled terminals whose conductor lies under an insulator or resist at the label."""
    hidden = case.trace.nets.unreachable
    if not hidden or case.flow.expect is None or not case.finished:
        return
    names = sorted(label for label, _ in hidden)
    films = sorted({film for _, film in hidden})
    yield finding(
        case.last,
        "stop",
        "every labelled pad",
        "uncovered conductor",
        f"{len(names)} under {', '.join(films)}: {', '.join(names[:4])}{' …' if len(names) > 4 else ''}",
        "a probe must be able to land",
        "open the film over the pads, or move the pad",
        "read off the emulated wafer",
        line=case.flow.expect.line,
    )


RULE = Rule(
    name="pad unreachable",
    loses="the measurement",
    quantity="uppermost film at each terminal label",
    source="read off the emulated wafer",
    answers=("needle",),
    follows=True,
    check=check,
)
