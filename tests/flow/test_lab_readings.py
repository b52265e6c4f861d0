"""Readings and maintenance of a lab file, refused at the line of what is wrong."""

import pytest

from filmwright.errors import BadInput
from filmwright.flow import lab_from_text

LAB = """lab: a lab
process owners: [thin films, lithography]
tools:
  aligner:
    does: [expose]
    maintenance:
      - {date: 2026-09-01, done: new lamp, by: the site}
      - {date: 2026-03-01, done: mirror cleaned}
  plate: {does: [bake]}
calibrations:
  - {tool: aligner, lamp intensity: 11 mW/cm^2 ± 3 %, wavelength: 365 nm, date: 2026-10-01}
  - {tool: plate, hot-plate offset: -2 kelvin ± 0.5 kelvin, plate: 100 degC, date: 2026-10-01}
  - {tool: plate, hot-plate offset: -4 kelvin ± 0.5 kelvin, plate: 150 degC, date: 2026-10-01}
  - {tool: plate, hot-plate offset: -9 kelvin ± 0.5 kelvin, plate: 150 degC, date: 2026-10-01, set aside: the probe lay loose}
"""


@pytest.mark.analytic
def test_as_read():
    lab = lab_from_text(LAB, "lab.yaml")
    assert lab.owners == ("thin films", "lithography")
    assert [each.date for each in lab.tools["aligner"].maintenance] == ["2026-03-01", "2026-09-01"]
    assert lab.tools["aligner"].maintenance[1].line == 7
    lamp, low, high, spoiled = lab.calibrations
    assert lamp.setting == pytest.approx(365e-9)
    assert (low.setting, high.setting) == pytest.approx((373.15, 423.15))
    assert spoiled.set_aside == "the probe lay loose"


WRONG = [
    ("date: 2026-09-01", "date: 1 September", 7, "year-month-day"),
    ("done: new lamp, ", "", 7, "what was done"),
    ("- {date: 2026-09-01, done: new lamp, by: the site}\n      - {date", "{date", 7, "a list"),
    ("wavelength: 365 nm", "wavelength: 365 W", 11, "length"),
    ("wavelength: 365 nm", "plate: 100 degC", 11, "beside a hot-plate offset"),
    ("plate: 100 degC", "wavelength: 365 nm", 12, "beside a lamp intensity"),
    ("plate: 100 degC", "speed: 100 rpm", 12, "beside a resist thickness"),
    ("plate: 100 degC", "plate: 150 degC", 13, "the first is on line 12"),
    ("set aside: the probe lay loose", "set aside: yes", 14, "the reason"),
    (", set aside: the probe lay loose", "", 14, "the first is on line 13"),
    ("± 3 %", "± -3 %", 11, "without its sign"),
    ("{does: [bake]}", "{does: [bake], holds: 0}", 9, "one wafer or more"),
    ("process owners: [thin films, lithography]", "process owners: {a: b}", 2, "a list of texts"),
]


@pytest.mark.analytic
@pytest.mark.parametrize(("old", "new", "line", "word"), WRONG)
def test_what_is_wrong_is_told_at_its_line(old: str, new: str, line: int, word: str):
    assert old in LAB
    with pytest.raises(BadInput) as bad:
        lab_from_text(LAB.replace(old, new, 1), "lab.yaml")
    told = [each for each in bad.value.problems if word in str(each)]
    assert told, [str(each) for each in bad.value.problems]
    assert line in {each.line for each in told}, [str(each) for each in told]
