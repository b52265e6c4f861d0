"""A value keeps its bounds and its source."""

import math

import pytest

from filmwright.sources import KINDS, Source, Value


@pytest.mark.analytic
def test_a_value_lies_within_its_bounds_and_tells_its_spread():
    source = Source(citation="a paper", kind="published", where="Table 2", date="2003-01-01")
    value = Value(value=10.0, low=8.0, high=12.0, unit="nm", source=source)
    # The bounds enclose 95 %, four standard deviations apart.
    assert value.std == pytest.approx(1.0)
    assert value.relative_std == pytest.approx(0.1)
    assert str(source) == "a paper, Table 2, 2003-01-01 (published)"
    assert math.isinf(Value(value=0.0, low=0.0, high=1.0, unit="nm", source=source).relative_std)
    with pytest.raises(ValueError, match="enclose"):
        Value(value=13.0, low=8.0, high=12.0, unit="nm", source=source)


@pytest.mark.analytic
def test_a_kind_of_source_is_one_of_the_known():
    assert "from memory" in KINDS
    with pytest.raises(ValueError, match="kind"):
        Source(citation="hearsay", kind="rumour")  # type: ignore[arg-type]
