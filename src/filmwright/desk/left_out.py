"""What the record says of devices and wafers beside measuring them: who is excluded and why, which wafer got which variant."""

from __future__ import annotations

from collections.abc import Iterable, Mapping

from filmwright.errors import BadInput, Problem, Problems, nearest
from filmwright.record import Event

VARIANT = "variant"
"""Name under which the variant of a wafer stands in the record."""


def left_out(events: Iterable[Event], wafers: Iterable[str]) -> dict[tuple[str, str], str]:
    """Excluded devices with reason, who and when; an entry that takes one back ends it, a later one begins it again.

    Parameters
    ----------
    events : iterable of Event
        In the order of writing.
    wafers : iterable of str
        Of the lot: an entry without a wafer is meant for all.
    """
    found: dict[tuple[str, str], str] = {}
    every = tuple(wafers)
    for event in events:
        if event.kind not in ("exclude", "include"):
            continue
        for wafer in (event.wafer,) if event.wafer else every:
            if event.kind == "exclude":
                found[wafer, event.name] = f"{event.text} ({event.who}, {event.happened[:10]})"
            else:
                found.pop((wafer, event.name), None)
    return found


def variants(events: Iterable[Event]) -> dict[str, str]:
    """The variant of each wafer that has one; a later entry replaces an earlier one."""
    return {event.wafer: event.text for event in events if event.kind == "split"}


def read_splits(texts: Iterable[str], wafers: Iterable[str] | None = None) -> dict[str, str]:
    """Variants of wafers from words such as ``A=W1,W2``.

    Parameters
    ----------
    texts : iterable of str
    wafers : iterable of str or None
        Those there are; None takes any name.

    Raises
    ------
    BadInput
        For words of another shape, a wafer that is not there, or one in two variants; all at once.
    """
    problems = Problems()
    found: dict[str, str] = {}
    known = None if wafers is None else tuple(wafers)
    for text in texts:
        name, equals, listed = (part.strip() for part in text.partition("="))
        own = [each.strip() for each in listed.split(",") if each.strip()]
        if not (equals and name and own):
            problems.add(_problem("the split", "NAME=WAFER,WAFER", text, 'write it like "annealed=W1,W2"'))
        for wafer in own if equals and name else ():
            if known is not None and wafer not in known:
                problems.add(
                    _problem("the wafer of a split", "a wafer of the lot", wafer, nearest(wafer, known))
                )
            elif found.get(wafer, name) != name:
                problems.add(
                    _problem(
                        "the wafer of a split",
                        "in one variant",
                        f"{wafer} in {found[wafer]} and {name}",
                        "halves of a wafer are named in a table, device by device",
                    )
                )
            found[wafer] = name
    problems.raise_any()
    return found


def _problem(what: str, expected: str, got: str, remedy: str) -> Problem:
    return Problem(
        what=what,
        expected=expected,
        got=f'"{got}"',
        why="wafers are the replicates by which splits are compared",
        remedy=remedy,
    )


def check_exclusion(excluded: Iterable[str], note: str, who: str) -> None:
    """An exclusion without a reason and a name would be a way to better medians.

    Raises
    ------
    BadInput
    """
    wanted: Mapping[str, tuple[str, str]] = {
        "the reason": (note, '--note "probe slipped, pad torn"'),
        "who says so": (who, "--who AB"),
    }
    if not any(excluded):
        return
    problems = Problems()
    for what, (given, remedy) in wanted.items():
        if not given.strip():
            problems.add(
                Problem(
                    what=f"{what} of leaving a device out or taking it back",
                    expected="given",
                    got="nothing",
                    why="it stands in every table and report, with what it does to the medians",
                    remedy=f"add {remedy}",
                )
            )
    if problems.found:
        raise BadInput(*problems.found)
