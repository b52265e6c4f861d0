"""The edge and the middle of one wafer, by hand: film and rate uneven, one time for both."""

from collections.abc import Callable
from importlib import resources

import pytest

from filmwright.emulate import EDGE, MIDDLE, State, Trace
from filmwright.errors import BadInput
from filmwright.flow import lab_from_text
from filmwright.knowledge import book

Walked = Callable[..., Trace]

PLAN = """
flow: One film
because: unevenness
wafer:
  body: silicon
  diameter: 100 mm
  films: [{material: silicon dioxide, thickness: 500 nm}]
steps:
  - deposit: silicon nitride
    method: plasma-enhanced chemical vapour deposition
    thickness: 280 nm
    temperature: 300 degC

  - etch: silicon nitride
    with: carbon tetrafluoride and oxygen plasma
    until: end point + 5 %
    power: 100 W
    pressure: 50 mTorr
"""
FILM, ETCH, OVER = 0.08, 0.10, 0.05


def lab(faster_at: str = "") -> str:
    """The example lab with uneven tools; the etcher faster at one end, if somebody knows."""
    text = resources.files("filmwright.desk").joinpath("examples", "lab.yaml").read_text("utf-8")
    reactor = "organics: free of them, alkali: none}\n    non-uniformity: 4 %"
    etcher = "admits: {metals: [none, clean metals, zinc and tin]}\n    non-uniformity: 6 %"
    assert text.count(reactor) == text.count(etcher) == 1
    known = f"\n    faster at: {faster_at}" if faster_at else ""
    text = text.replace(reactor, reactor.replace("4 %", f"{FILM:.0%}"))
    return text.replace(etcher, etcher.replace("6 %", f"{ETCH:.0%}") + known)


def etched(trace: Trace) -> State:
    return next(state for state in trace.states if state.step.kind == "etch")


def of(state: State, place: str, material: str) -> tuple[float, float]:
    """Thickness before and after the etch at a place of the wafer."""
    (loss,) = (loss for loss in state.on_wafer[place] if loss.material == material)
    return loss.before, loss.after


@pytest.mark.analytic
def test_one_time_leaves_film_at_the_edge_and_takes_from_the_film_beneath_in_the_middle(walked: Walked):
    """Left: d (1 + u_d) − R (1 − u_R) T; below: (T − d (1 − u_d) / (R (1 + u_R))) R₂ (1 + u_R).

    T = (1 + (1 + k) OE) d/R at the rates of a chip: all is open up to the end point, and nothing loads the over-etch.
    """
    loaded = OVER * (1 + book().models["loading"]["carbon tetrafluoride and oxygen plasma"].value)
    state = etched(walked(PLAN, lab=lab()))
    before, after = of(state, EDGE.name, "silicon nitride")
    assert before == pytest.approx(280e-9 * (1 + FILM))
    assert after == pytest.approx(280e-9 * (1 + FILM - (1 - ETCH) * (1 + loaded)), rel=1e-6)
    remove = state.actions[0]
    beneath = remove.rates["silicon dioxide"].down / remove.rates["silicon nitride"].down
    oxide = of(state, MIDDLE.name, "silicon dioxide")
    over = (1 + loaded) - (1 - FILM) / (1 + ETCH)
    assert oxide[0] - oxide[1] == pytest.approx(280e-9 * over * beneath * (1 + ETCH), rel=1e-6)
    assert all(loss.material != "silicon dioxide" for loss in state.on_wafer[EDGE.name])


@pytest.mark.analytic
def test_an_etcher_that_is_faster_where_the_film_is_thicker_evens_it_out(walked: Walked):
    state = etched(walked(PLAN, lab=lab("edge")))
    assert all(of(state, place, "silicon nitride")[1] == 0 for place in (EDGE.name, MIDDLE.name))


@pytest.mark.property
def test_the_mean_place_is_that_of_the_nominal_walk(walked: Walked):
    state = etched(walked(PLAN, lab=lab()))
    assert state.losses["nominal"][0].before == pytest.approx(280e-9)


@pytest.mark.property
def test_a_tool_is_faster_at_the_edge_or_in_the_middle_and_nowhere_else():
    with pytest.raises(BadInput, match="edge or middle"):
        lab_from_text(lab("the left"), "lab.yaml")
