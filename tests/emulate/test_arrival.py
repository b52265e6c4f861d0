"""From method to flux."""

import pytest

from filmwright.emulate.deposit import arriving
from filmwright.knowledge import book


@pytest.mark.property
def test_what_a_wall_gets_of_a_flux_lies_within_the_bounds_of_the_method():
    for method in book().methods.values():
        flux, wall = arriving(method)
        assert (flux is None) == (not method.arrival)
        assert method.side_wall.low <= wall <= method.side_wall.high
        if flux is not None and not method.line_of_sight:
            # The shipped share on walls (from memory) and the closed form of the shipped flux tell one story.
            assert wall == pytest.approx(method.side_wall.value, abs=0.02)


@pytest.mark.analytic
def test_an_evaporator_is_seen_from_one_side_of_upright():
    flux, wall = arriving(book().method("electron-beam evaporation"))
    assert wall == 0.0
    assert max(flux.tilts) < 0.1
    assert sum(flux.shares) == pytest.approx(1.0)
