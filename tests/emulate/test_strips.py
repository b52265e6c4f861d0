"""Dips, strips and what they take, by hand."""

from collections.abc import Callable

import pytest

from filmwright.emulate import State, Trace
from filmwright.knowledge import book

Walked = Callable[..., Trace]

DIP = """\
flow: A dip
wafer:
  body: silicon
  diameter: 100 mm

steps:
  - clean: dilute hydrofluoric acid
    name: dip
"""

TAKEN = """\
flow: A bath on a film
wafer:
  body: silicon
  diameter: 100 mm
  films:
    - {material: FILM, thickness: 500 nm}

steps:
  - clean: BATH
    time: 60 s
"""

LAB = "lab: A lab\n"


def of(state: State, name: str) -> float:
    return next(each.value for each in (*state.settings, *state.follows) if each.name == name)


@pytest.mark.analytic
def test_a_native_oxide_in_fifty_to_one(walked: Walked):
    # 1 nm at the 4.9 nm/min of Williams 2003 (published) is 12.2 s, with half as much again 18.4 s
    state = walked(DIP, lab=LAB).states[0]
    assert of(state, "time") == pytest.approx(1.0 / 4.9 * 60 * 1.5, rel=1e-6)
    # x = 0.5 nm of 1 nm: half of it is back after ln 2 of two days
    assert of(state, "native oxide of silicon felt again after") == pytest.approx(
        2 * 86400 * 0.6931, rel=1e-3
    )


@pytest.mark.analytic
@pytest.mark.parametrize(
    ("bath", "film"),
    [
        ("SC-1", "titanium"),
        ("SC-1", "silicon dioxide"),
        ("piranha", "aluminium oxide"),
        ("dilute hydrofluoric acid", "silicon dioxide"),
        ("buffered hydrofluoric acid 10:1", "silicon nitride"),
        ("SC-2", "aluminium oxide"),
        ("water rinse", "molybdenum"),
        ("oxygen plasma ash", "polyimide"),
        ("argon ion etch", "gold"),
    ],
)
def test_a_clean_counts_its_loss(walked: Walked, bath: str, film: str):
    state = walked(TAKEN.replace("FILM", film).replace("BATH", bath), lab=LAB).states[0]
    rate = book().medium(bath).rate(film)
    taken = max((loss.taken for loss in state.losses["nominal"] if loss.material == film), default=0.0)
    expected = rate.value.value * 60 if rate.value is not None else 0.0
    assert taken == pytest.approx(min(expected, 500e-9), rel=1e-6)
    assert (
        expected > 0
        or rate.verdict == "unknown"
        or film in state.unknown
        or rate.verdict == "does not attack"
    )


@pytest.mark.analytic
def test_a_strip_after_a_plasma_takes_the_hardened_factor(walked: Walked):
    trace = walked("humidity-switch")
    strips = [s for s in trace.states if s.step.kind == "strip" and "dimethyl" in s.step.medium]
    wet, dry = (of(each, "time to take the resist off") for each in strips[:2])
    models = book().models
    rate = models["dissolution of resist"]["dimethyl sulfoxide stripper"].value
    assert wet == pytest.approx(1.3e-6 / rate * 2, rel=0.1)
    assert dry / wet == pytest.approx(models["strip"]["hardened"].value, rel=0.15)
