"""The over-etch that the finding asks for is the one that the step derives."""

import math

import pytest

from filmwright.emulate import walk
from filmwright.flow import flow_from_text, lab_from_text
from filmwright.knowledge import book
from filmwright.review import review

LAB = """\
lab: A lab
tools:
  gun: {does: [sputter], non-uniformity: 6 %}
  bench: {does: [wet etch], non-uniformity: 8 %}
"""

PLAN = """\
flow: A film and its etch
wafer:
  body: silicon
  diameter: 100 mm

steps:
  - deposit: titanium
    method: direct-current sputtering
    tool: gun
    pressure: 5 mTorr
    thickness: 100 nm

  - etch: titanium
    tool: bench
    in: peroxide and ammonia titanium etch
    until: end point + OVER %
"""

GEOMETRY = (1 + 0.06) / (1 - 0.08) - 1
# The eye reads the end point within 5 % (common practice); one-sided 95 % of a normal distribution is 1.645 (tables).
NEED = (1 + GEOMETRY) * math.exp(1.645 * 0.05) - 1


@pytest.mark.analytic
@pytest.mark.parametrize(("over", "short"), [(16, True), (24, True), (26, False)])
def test_the_rule_asks_for_the_number_of_the_step(over: int, short: bool):
    assert 0.15 < GEOMETRY < 0.16
    assert 0.24 < NEED < 0.26
    lab = lab_from_text(LAB, "lab.yaml")
    trace = walk(flow_from_text(PLAN.replace("OVER", str(over)), "plan.yaml", lab), lab, book(), None,
                 on="2026-10-26", sections=False)  # fmt: skip
    etch = trace.states[1]
    told = next(each.value for each in etch.follows if each.name.startswith("over-etch that clears"))
    assert etch.etch is not None
    assert told == etch.etch.needed == pytest.approx(NEED, rel=1e-3)
    found = [
        each for each in review(trace, book()) if "over-etch below unevenness" in (each.rule, *each.also)
    ]
    assert bool(found) is short
