"""What is on file about resists, put into the laws of exposure and development."""

import pytest

from filmwright.knowledge import book
from filmwright.process import dill_bleaching, dill_development_rate
from filmwright.units import convert, to_si

BOOK = book()
UM = to_si(1, "µm")


@pytest.mark.literature
@pytest.mark.parametrize(
    ("line", "top", "bottom"),
    [
        # Dill et al. (1975), A, B, C from memory; M after 100 mJ/cm² at the top and the bottom of 1 µm on a matched
        # substrate, arithmetic recomputed
        ("405", 0.1653, 0.34785),
        ("436", 0.2466, 0.37156),
        ("365", 0.30119, 0.54954),
    ],
)
def test_bleaching_of_a_positive_resist(line, top, bottom):
    values = BOOK.resist("positive 1.3 µm").values
    a, b, c = (values[f"Dill {letter} at {line} nm"].value for letter in "ABC")
    left = dill_bleaching(to_si(100, "mJ/cm^2"), UM, a, b, c)
    assert (left[0], left[-1]) == pytest.approx((top, bottom), rel=1e-3)


@pytest.mark.literature
def test_development_of_a_positive_resist():
    # Dill et al. (1975), development part, from memory: µm/min at M of 0.5, 0.7 and 1
    values = BOOK.resist("positive 1.3 µm").values
    e1, e2, e3 = (values[f"Dill {name}"].value for name in ("E1", "E2", "E3"))
    for remaining, rate in ((0.5, 2.9417), (0.7, 0.6319), (1.0, 0.0095)):
        found = dill_development_rate(remaining, e1, e2, e3, to_si(6, "nm/min"))
        assert convert(found, "µm/min") == pytest.approx(rate, rel=0.01)


@pytest.mark.property
def test_the_dark_rate_of_the_polynomial_is_that_on_file():
    # two ways to the same number: the polynomial at M = 1, and the dark rate that is on file
    values = BOOK.resist("positive 1.3 µm").values
    dark = dill_development_rate(
        1.0, *(values[f"Dill {name}"].value for name in ("E1", "E2", "E3")), to_si(6, "nm/min")
    )
    assert values["dark development rate"].low < dark < values["dark development rate"].high


@pytest.mark.property
@pytest.mark.parametrize("name", BOOK.resists)
def test_a_resist_dissolves_where_it_should_and_stays_where_it_should(name):
    resist = BOOK.resist(name)
    clear = BOOK.known(resist, "clear development rate")
    dark = BOOK.known(resist, "dark development rate")
    thickness = resist.values["thickness at reference speed"].value
    longest = resist.values["develop time"].high
    assert clear.high * longest > thickness, "it would never clear"
    if resist.material != "lift-off under-layer resist":
        assert dark.value * resist.values["develop time"].value < 0.2 * thickness, "nothing would stay"


@pytest.mark.property
def test_only_what_bleaches_has_a_speed_of_bleaching():
    for resist in BOOK.resists.values():
        bleaches = "Dill A at 405 nm" in resist.values
        assert bleaches == ("Dill C at 405 nm" in resist.values), resist.name
        assert bleaches == (
            resist.material
            in {"positive novolak resist", "image-reversal resist", "two-layer lift-off resist"}
        )
