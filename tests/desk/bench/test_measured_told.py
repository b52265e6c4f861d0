"""What the page of measurements tells is what the words statistics and compare tell."""

import pytest

from filmwright import desk
from filmwright.desk.bench.measured_told import told

pytestmark = pytest.mark.whole


def test_it_is_what_the_command_line_tells(made):
    (record,) = made.rglob("record.sqlite")
    from filmwright.record import Store

    with Store.open(record) as store:
        (lot,) = (each.name for each in store.lots())
    found = told(record, lot)
    assert found.statistics["medians"] == desk.statistics(lot=lot, record=record).fields()["medians"]
    assert found.compared["cells"]
    assert all(svg.lstrip().startswith(("<?xml", "<svg")) for _, svg in found.figures)
    assert len(found.figures) > 1
    assert not found.problems
