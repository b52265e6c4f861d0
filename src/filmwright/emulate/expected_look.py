"""What a step should look like afterwards: the computed colour of the field and of what lies on it, in a few words."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from filmwright.emulate.look import Look, Seen
from filmwright.emulate.marks import MarkContrast
from filmwright.emulate.trace import Trace
from filmwright.units import show

_SHARE = 1e-3
"""Films that are on top of less of the die are not named: nobody looks for them first."""

_NAMED = 5
_COLOURS = 2
"""Colours named of one film, those of the largest places."""

_LARGE = 0.15
"""A further colour of a film is named from this share of the film's largest on."""


def with_colours(trace: Trace, looks: Sequence[Look], marks: Sequence[MarkContrast] = ()) -> Trace:
    """The trace with the expected colours added to what each step should look like.

    A step that changes no colour gets no more words; an exposure is told how well its mark is seen.

    Parameters
    ----------
    trace : Trace
    looks : sequence of Look
        Of the wafer as bought and after each step.
    marks : sequence of MarkContrast
    """
    if len(looks) != len(trace.states) + 1:
        raise ValueError(
            f"a look is wanted of the start and of each of {len(trace.states)} steps, got {len(looks)}"
        )
    states, before = [], colours_in_words(looks[0])
    for state, look in zip(trace.states, looks[1:], strict=True):
        words = colours_in_words(look)
        more = [words] if words and words != before else []
        more += [mark_in_words(each) for each in marks if each.state.step.number == state.step.number]
        states.append(replace(state, look=(*state.look, *more)) if more else state)
        before = words
    return replace(trace, states=tuple(states))


def mark_in_words(mark: MarkContrast) -> str:
    """How well a mark is seen at an exposure.

    Parameters
    ----------
    mark : MarkContrast
    """
    step = f"step of {show(mark.step, 'length')}" if mark.step > 0 else "no step"
    if mark.viewing is None:
        return f"alignment mark: {step}, its contrast is not known"
    return f"alignment mark: contrast {100 * mark.viewing:.2g} % with its field in the viewing light, {step} (computed)"


def colours_in_words(look: Look) -> str:
    """The colours of a die by the film on top, the field first; empty when the optics of the field are not known.

    Parameters
    ----------
    look : Look
    """
    field = max(look.seen, key=lambda seen: seen.area)
    if not field.name:
        return ""
    total = sum(seen.area for seen in look.seen)
    by_film: dict[str, list[Seen]] = {}
    for seen in sorted(look.seen, key=lambda each: -each.area):
        if seen is not field and seen.area >= _SHARE * total:
            by_film.setdefault(_called(seen, field), []).append(seen)
    parts = [f"field ({field.column.top.material}) {field.name}"]
    for called, places in list(by_film.items())[:_NAMED]:
        names = _names(places)
        if names and names != field.name:
            parts.append(f"{called} {names}")
    lens = "" if look.aperture == 0 else f", aperture {look.aperture:g}"
    return "colours: " + "; ".join(parts) + f" (computed, {look.light}{lens})"


def _called(seen: Seen, field: Seen) -> str:
    """The film on top; where the field has the same, also the uppermost film that the field has not."""
    top = seen.column.top.material
    if top != field.column.top.material:
        return top
    there = {layer.material for layer in field.column.layers}
    beneath = next((each.material for each in reversed(seen.column.layers) if each.material not in there), "")
    return f"{top} over {beneath}" if beneath else f"{top} elsewhere"


def _names(places: Sequence[Seen]) -> str:
    """Up to two names, of the largest places; empty when one of them is not known."""
    largest = places[0].area
    named = [each for each in places if each.area >= _LARGE * largest]
    if not all(each.name for each in named):
        return ""
    return " or ".join(list(dict.fromkeys(each.name for each in named))[:_COLOURS])
