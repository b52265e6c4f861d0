"""Expected colours in words: the field first, what lies on it by the film on top, nothing said twice."""

from collections.abc import Callable

import pytest

from filmwright.emulate import Look, Seen, Trace, colours_in_words, looks_of, mark_contrasts, with_colours
from filmwright.knowledge import book
from filmwright.numerics import Region
from filmwright.wafer import Plan

Walked = Callable[..., Trace]
BODY = ("silicon", 5e-4)


def seen(name: str, side: float, *films: str) -> Seen:
    """A square of a side [µm] with films on silicon, lowest first."""
    plan = Plan.start(Region.box(0, 0, side * 1e3, side * 1e3), BODY, [(film, 50e-9) for film in films])
    column = plan.column_at(1.0, 1.0)
    assert column is not None
    return Seen(column=column, area=plan.die.area * 1e-18, hex="#000000" if name else "", name=name)


def look(*places: Seen, aperture: float = 0.0) -> Look:
    nowhere = Plan.start(Region.box(0, 0, 1e3, 1e3), BODY)
    return Look(plan=nowhere, seen=places, light="halogen", aperture=aperture)


@pytest.mark.analytic
def test_the_field_comes_first_and_films_follow_by_size() -> None:
    words = colours_in_words(
        look(
            seen("gold", 20, "oxide", "gold"),
            seen("green", 100, "oxide"),
            seen("tan", 30, "titanium", "oxide"),
        )
    )
    assert words == "colours: field (oxide) green; oxide over titanium tan; gold gold (computed, halogen)"


@pytest.mark.analytic
def test_small_places_and_places_of_unknown_colour_are_not_named() -> None:
    small = seen("red", 2, "oxide", "gold")  # 4 of 10,000 parts
    unknown = seen("", 30, "oxide", "copper oxide")
    assert (
        colours_in_words(look(seen("green", 100, "oxide"), small, unknown, aperture=0.3))
        == "colours: field (oxide) green (computed, halogen, aperture 0.3)"
    )
    assert colours_in_words(look(seen("", 100, "copper oxide"), seen("gold", 20, "gold"))) == ""


@pytest.mark.property
def test_only_steps_that_change_a_colour_get_words(walked: Walked) -> None:
    trace = walked("humidity-switch")
    told = with_colours(trace, looks_of([trace.start.plan, *(s.wafer.plan for s in trace.states)]))
    for state, before in zip(told.states, trace.states, strict=True):
        assert state.look[: len(before.look)] == before.look
    coloured = {state.step.kind for state in told.states if any("colours" in each for each in state.look)}
    assert coloured <= {"deposit", "coat", "develop", "etch", "strip", "lift off"}
    assert coloured >= {"deposit", "etch", "strip", "lift off"}
    last = next(state for state in reversed(told.states) if state.step.kind == "lift off")
    assert "gold pale gold" in last.look[-1]
    with pytest.raises(ValueError, match="look"):
        with_colours(trace, [])


@pytest.mark.property
def test_an_exposure_is_told_how_well_its_mark_is_seen(walked: Walked) -> None:
    trace = walked("delay-line")
    looks = looks_of([trace.start.plan, *(s.wafer.plan for s in trace.states)])
    told = with_colours(trace, looks, mark_contrasts(trace, book()))
    exposed = [words for state in told.states if state.step.kind == "expose" for words in state.look]
    said = [words for words in exposed if words.startswith("alignment mark: contrast")]
    assert len(said) == 3  # of four levels, the first has nothing to be aligned to
    assert all("70 nm" in words for words in said)
    assert "0.0" in said[-1]  # under molybdenum
