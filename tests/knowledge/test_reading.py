"""How a fact is written."""

import pytest

from filmwright.knowledge.reading import Sources, bare, fact, rate
from filmwright.sources import Source
from filmwright.units import to_si

SOURCES = Sources({"book": Source(citation="A book, 1999", kind="published")})


@pytest.mark.analytic
def test_bounds_condition_and_place():
    value = fact("850 Å, 800 to 900 | dry | book, p. 12", SOURCES)
    assert (value.value, value.low, value.high) == pytest.approx((8.5e-8, 8e-8, 9e-8))
    assert (value.unit, value.condition, value.source.where) == ("Å", "dry", "p. 12")


@pytest.mark.analytic
@pytest.mark.parametrize(
    ("text", "value", "half"),
    [
        ("100 nm/min ± 10 % | | book", to_si(100, "nm/min"), to_si(10, "nm/min")),
        ("200 °C ± 5 | | book", 473.15, 5.0),
        ("5 % ± 2 | | book", 0.05, 0.02),
        ("5 % ± 2 % | | book", 0.05, 0.02),
        ("-300 MPa ± 50 % | | book", -3e8, 1.5e8),
        ("3.9 ± 3 % | | book", 3.9, 0.117),
    ],
)
def test_plus_minus(text, value, half):
    found = fact(text, SOURCES)
    assert found.value == pytest.approx(value)
    assert (found.low, found.high) == pytest.approx((value - half, value + half))


@pytest.mark.property
@pytest.mark.parametrize(
    "text",
    [
        "850 Å, 800 to 900 | dry",  # no source
        "850 Å | dry | book",  # no bounds
        "850 Å, 800 to 900 | dry | letter",  # no such source
        "850 Å, 900 to 800 | dry | book",  # bounds the wrong way round
        "850 parsec, 800 to 900 | | book",  # no such unit
        "about 850 Å, 800 to 900 | | book",
    ],
)
def test_a_fact_without_bounds_unit_or_source_is_refused(text):
    with pytest.raises((ValueError, AttributeError)):
        fact(text, SOURCES)


@pytest.mark.property
def test_verdicts():
    assert rate("none | 20 °C | book", 1.0, SOURCES).verdict == "does not attack"
    assert rate("none | 20 °C | book", 1.0, SOURCES).value is None
    bounded = rate("none, below 2 nm/min | | book", 1.0, SOURCES)
    assert bounded.verdict == "does not attack"
    assert (bounded.value.value, bounded.value.high) == pytest.approx((0.0, to_si(2, "nm/min")))
    assert rate("attacks | fast | book", 1.0, SOURCES).value is None
    assert rate("attacks | fast | book", 1.0, SOURCES).verdict == "attacks"
    hot = rate("9 nm/min ± 10 % | | book | 0.26 eV ± 20 %", 0.4, SOURCES)
    assert hot.activation_energy.value == pytest.approx(to_si(0.26, "eV"))
    assert hot.sideways == 0.4


@pytest.mark.analytic
def test_bare_numbers():
    assert bare("50 °C") == pytest.approx(323.15)
    with pytest.raises(ValueError, match="number with its unit"):
        bare("warm")
