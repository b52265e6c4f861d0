"""What a person says a column means: ``gate current, nA, sign turned``."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

from filmwright.errors import nearest
from filmwright.measure.columns import MEASURED, ROLES, Column, is_unit, read_biases, with_unit

MEANINGS = {
    role.replace("_", " ").replace("bias voltage", "voltage").replace("flag", "limit mark"): role
    for role in ROLES
}


def misread(text: str) -> tuple[str, str] | None:
    """What a meaning must be and a hint, where it is not understood."""
    first, *rest = (part.strip() for part in text.split(","))
    if first not in MEANINGS:
        return "one of " + ", ".join(MEANINGS), nearest(first, MEANINGS)
    for part in rest:
        if not (is_unit(part) or part in _MARKS or read_biases(part)[0]):
            return "a meaning, a unit and marks (" + ", ".join(_MARKS) + ", VD = 5 V)", nearest(
                part, [*_MARKS, "A", "nA", "V"]
            )
    column = column_of(text)
    if not column.role and first != "ignore":
        return f"a unit of the {first}", column.ignored
    return None


_MARKS: dict[str, dict[str, Any]] = {
    "sign turned": {},
    "size alone": {"absolute": True},
    "from the source": {"referred": True},
    "forward": {"way": 1},
    "backward": {"way": -1},
}


def column_of(text: str) -> Column:
    first, *rest = (part.strip() for part in text.split(","))
    role = MEANINGS[first]
    column = Column(
        name=text,
        role="" if role == "ignore" else role,
        ignored="as the rule says" if role == "ignore" else "",
    )
    for part in rest:
        if part in _MARKS:
            column = replace(column, **_MARKS[part])
            if part == "sign turned":
                column = replace(column, factor=-column.factor)
        elif is_unit(part):
            column = with_unit(column, part)
        elif column.role in MEASURED:
            column = replace(column, biases={**column.biases, **read_biases(part)[0]})
    return column
