"""A row of a comparison whose number was not measured says why."""

import pytest

from filmwright.desk.answers import CompareRow


@pytest.mark.analytic
def test_a_row_without_a_measured_value_says_why():
    row = CompareRow(
        device="W1 T07", parameter="on off ratio", unit="", planned=1e9, as_run=1e9, measured=None,
        why_not="at least 1e+06: the off current is hidden by the floor",
    )  # fmt: skip
    assert row.cells[-1] == "not measured: at least 1e+06: the off current is hidden by the floor"
    assert row.fields()["why_not_measured"].startswith("at least")
