"""What each measurement of a walked flow should find, where, how often, and what to write down."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace

from filmwright.emulate.expected_readings import EXPECTED, Expected
from filmwright.emulate.expected_widths import line_width
from filmwright.emulate.exposed import of_limit
from filmwright.emulate.follows import chosen, follows
from filmwright.emulate.spots import EVEN_AS_THICKNESS, Spot
from filmwright.emulate.trace import Reading, State, Trace
from filmwright.knowledge import Book
from filmwright.masks import Drawing
from filmwright.process import READINGS_NEEDED, Input, Setting, readings_needed
from filmwright.sources import Source
from filmwright.units import show, write

_OF_FILM = Source(citation="tool or method of the film", kind="plan")


def with_readings(
    trace: Trace, facts: Book, drawing: Drawing | None = None, only: Iterable[str] = ()
) -> Trace:
    """The trace with what each measurement should find.

    Parameters
    ----------
    trace : Trace
    facts : Book
    drawing : Drawing or None
        For widths as drawn.
    only : iterable of str
        Numbers of the steps that are wanted; empty for all.
    """
    wanted = set(only)
    states = tuple(
        _told(Spot(trace, facts, drawing, k))
        if state.step.kind == "measure" and (not wanted or state.step.number in wanted)
        else state
        for k, state in enumerate(trace.states)
    )
    return replace(trace, states=states)


def _told(spot: Spot) -> State:
    state, kind = spot.state, spot.kind
    found = _expected(spot)
    counts, said = _counts(spot, found)
    sites = next((round(each.value) for each in counts if each.name == "sites" and each.value), kind.sites)
    expected, accepted = found.told or _in_words(found), _accepted(spot, found)
    first = Reading(name=kind.writes[0], expected=expected, accepted=accepted, times=sites)
    name = found.numbers[0].name if found.numbers and not found.told else kind.name
    look = [f"expect {name} {expected}"] if expected else []
    if accepted:
        look[0] = f"{look[0]}; the plan accepts {accepted}"
    on_die = kind.of in _ON_DIE or spot.device is not None
    where = found.place or (spot.place if on_die else "")
    look += [*found.words, "where: " + "; ".join(part for part in (where, kind.places) if part), said]
    return replace(
        state,
        look=(*state.look, *look),
        follows=(*state.follows, *found.numbers, *counts),
        readings=(*state.readings, first, *(Reading(name=each) for each in kind.writes[1:])),
        warnings=(*state.warnings, *found.warnings),
    )


_ON_DIE = frozenset({"film", "line", "cross", "capacitor"})
"""What has a place on the die; a bow or a contact angle has none."""

_PREFIXED = {"ohm": "resistance", "A": "current", "V": "voltage"}
"""Units of numbers that run over many decades."""


def _expected(spot: Spot) -> Expected:
    if spot.kind.name == "line width":
        return line_width(spot)
    return EXPECTED[spot.kind.name](spot) if spot.kind.name in EXPECTED else Expected()


def _written(value: float, unit: str) -> str:
    return show(value, _PREFIXED[unit]) if unit in _PREFIXED else write(value, unit)


def _in_words(found: Expected) -> str:
    """The reading with its 95 % band."""
    if not found.numbers:
        return ""
    derived = found.numbers[0].derivation
    value, band = _written(derived.result or 0.0, derived.unit), derived.band
    return f"{value} ({' to '.join(_written(end, derived.unit) for end in band)})" if band else value


def _accepted(spot: Spot, found: Expected) -> str:
    """From where to where the plan accepts the reading."""
    part = spot.tolerance(spot.step.material)
    if part is None or not found.numbers or not found.numbers[0].value:
        return ""
    derived = found.numbers[0].derivation
    value = derived.result or 0.0
    ends = (_written(value * (1 + way * part), derived.unit) for way in (-1, 1))
    return " to ".join(ends)


def _counts(spot: Spot, found: Expected) -> tuple[tuple[Setting, ...], str]:
    """How many places on a wafer and how many runs tell the mean to a part of the tolerance."""
    film, kind = spot.step.material, spot.kind
    part = spot.tolerance(film)
    uneven = spot.unevenness(film) if kind.name in EVEN_AS_THICKNESS else None
    value = found.numbers[0].value if found.numbers else None
    if part is None or uneven is None or not value:
        return (
            (),
            f"{kind.sites} {'place' if kind.sites == 1 else 'places'} on the wafer by custom, on every wafer",
        )
    share = of_limit(spot.trace.lab, "p", "part of the tolerance", "mean share")
    confidence = of_limit(spot.trace.lab, "C", "confidence", "confidence")
    unit = found.numbers[0].unit
    half = f"{share.shown} of the tolerance of {write(part, '%')}"
    numbers = []
    for name, spread, why in (
        ("sites", uneven, "unevenness over the wafer, from half its width to one standard deviation"),
        ("runs", spot.film_spread(film), "spread of the film from run to run"),
    ):
        inputs = {
            "std": Input(symbol="σ", name=why, value=spread * abs(value), unit=unit, source=_OF_FILM),
            "within": chosen("e", "half width of the mean", share.value * part * abs(value), unit, half),
            "confidence": confidence,
        }  # fmt: skip
        try:
            derived = READINGS_NEEDED.derive(
                lambda std, within, confidence: float(readings_needed(std, within, confidence)),
                inputs,
                unit="",
            )
        except ValueError:
            continue
        numbers.append(follows(name, derived))
    found_by = {each.name: round(each.value or 0.0) for each in numbers}
    sites = max(found_by.get("sites", kind.sites), 2)
    runs = found_by.get("runs")
    said = (
        f"{sites} places tell the mean of a wafer to {write(share.value * part, '%')} at {confidence.shown}"
    )
    said += (
        f"; {runs} runs tell that of the tool" if runs else "; the runs spread too far for a mean of the tool"
    )
    return tuple(numbers), said
