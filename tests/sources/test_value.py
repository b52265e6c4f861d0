"""A value keeps its bounds and its source."""

import dataclasses
import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from filmwright.sources import KINDS, Source, Value

PAPER = Source(citation="a paper", kind="published")


@pytest.mark.analytic
def test_a_value_lies_within_its_bounds_and_tells_its_spread():
    source = Source(citation="a paper", kind="published", where="Table 2", date="2003-01-01")
    value = Value(value=10.0, low=8.0, high=12.0, unit="nm", source=source)
    # The bounds enclose 95 %, four standard deviations apart.
    assert value.std == pytest.approx(1.0)
    assert value.relative_std == pytest.approx(0.1)
    assert str(source) == "a paper, Table 2, 2003-01-01 (published)"
    assert math.isinf(Value(value=0.0, low=0.0, high=1.0, unit="nm", source=source).relative_std)


@pytest.mark.analytic
@pytest.mark.parametrize(
    ("value", "low", "high"),
    [(13.0, 8.0, 12.0), (7.0, 8.0, 12.0), (10.0, 12.0, 8.0), (math.nan, 8.0, 12.0), (10.0, math.nan, 12.0)],
)
def test_bounds_that_do_not_enclose_the_value_are_refused(value: float, low: float, high: float):
    with pytest.raises(ValueError, match="enclose"):
        Value(value=value, low=low, high=high, unit="nm", source=PAPER)


@pytest.mark.analytic
@pytest.mark.parametrize("value", [math.inf, -math.inf])
def test_an_infinite_value_is_refused(value: float):
    with pytest.raises(ValueError, match="finite"):
        Value(value=value, low=-math.inf, high=math.inf, unit="nm", source=PAPER)


@pytest.mark.analytic
def test_a_kind_of_source_is_one_of_the_known():
    assert set(KINDS) >= {"published", "common practice", "from memory", "lab", "fitted"}
    with pytest.raises(ValueError, match="kind"):
        Source(citation="hearsay", kind="rumour")  # type: ignore[arg-type]


@pytest.mark.analytic
@pytest.mark.parametrize("citation", ["", "   "])
def test_a_source_that_cites_nothing_is_refused(citation: str):
    with pytest.raises(ValueError, match="citation"):
        Source(citation=citation, kind="published")


@pytest.mark.analytic
@pytest.mark.parametrize("kind", KINDS)
def test_every_kind_is_printed_beside_the_citation(kind: str):
    assert str(Source(citation="a paper", kind=kind)) == f"a paper ({kind})"  # type: ignore[arg-type]


@pytest.mark.analytic
def test_a_value_and_its_source_cannot_be_changed_in_place():
    value = Value(value=10.0, low=8.0, high=12.0, unit="nm", source=PAPER)
    with pytest.raises(dataclasses.FrozenInstanceError):
        value.value = 11.0
    with pytest.raises(dataclasses.FrozenInstanceError):
        value.source.kind = "lab"


@pytest.mark.property
@given(st.floats(-1e6, 1e6), st.floats(0.0, 1e6), st.floats(0.0, 1e6))
def test_the_spread_is_a_quarter_of_the_range_whatever_its_shape(middle: float, below: float, above: float):
    value = Value(value=middle, low=middle - below, high=middle + above, unit="", source=PAPER)
    assert value.std == pytest.approx((below + above) / 4, rel=1e-6, abs=1e-9)
    assert value.relative_std >= 0
