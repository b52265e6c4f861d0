"""A number that is old, or whose band has grown wide."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from filmwright.review.case import percent
from filmwright.review.finding import Finding
from filmwright.review.lab_case import LabCase, LabRule, Number, told
from filmwright.units import show, write

_READ_OFTEN = {"lamp intensity", "hot-plate offset"}


def check(case: LabCase) -> Iterator[Finding]:
    """Age of every number and half width of its 95 % band today, its drift and every maintenance since counted in."""
    known = [number for number in case.numbers if number.of not in _READ_OFTEN and number.age is not None]
    old = [number for number in known if (number.age or 0.0) > case.limit("calibration age")]
    wide = [
        number for number in known if (number.band or 0.0) > case.limit("rate band") and number not in old
    ]
    for number in old:
        yield told(
            "warn",
            f"the {number.name}",
            f"younger than {case.limit_text('calibration age')}",
            f"{_grown(number)}, {show(number.age or 0.0, 'time')} old",
            "rates drift while a tool stands and after maintenance",
            "run a dummy, measure it and write the reading into the lab file",
            case.limit_source("calibration age"),
            number.line,
        )
    if wide:
        yield told(
            "note",
            "the numbers of the lab",
            f"within {case.limit_text('rate band')} (95 %)",
            _counted(wide),
            "a band as wide decides between too thin and too thick",
            "measure the ones that the next run needs",
            case.limit_source("rate band"),
            wide[0].line,
        )


def _counted(wide: Sequence[Number]) -> str:
    """How many are wide, the widest in full, the lines of all: their bands stand in the table of the numbers."""
    widest = max(wide, key=lambda number: number.band or 0.0)
    lines = ", ".join(str(line) for line in sorted({number.line for number in wide}))
    said = f"{widest.name} of line {widest.line}, {_grown(widest)}"
    return said if len(wide) == 1 else f"{len(wide)} are wider (lines {lines}), the widest {said}"


def _grown(number: Number) -> str:
    """As read, and as it is believed today."""
    known, newest = number.belief, number.readings[-1]
    if known is None:
        return ""
    read = f"± {percent(2 * newest.std / abs(newest.value))} (95 %)" if newest.value else ""
    band = f" ± {percent(number.band)}" if number.band is not None else ""
    return f"{write(newest.value, newest.unit)} {read} on {newest.date}, today {write(known.value, known.unit)}{band}"


RULE = LabRule(
    name="number stale or wide",
    loses="thickness",
    quantity="age of a reading; 95 % band today: σ² as read + drift² × days + jump² for each maintenance",
    limits=(
        "rate band",
        "calibration age",
    ),
    source="rates drift (common practice)",
    check=check,
)
