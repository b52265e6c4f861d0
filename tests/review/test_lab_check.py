"""Every rule about the lab file has a lab that passes and one that fails; the bands that are told are worked out by hand."""

import math
import sys
from pathlib import Path

import pytest

from filmwright.emulate import walk
from filmwright.flow import flow_from_text, lab_from_text
from filmwright.knowledge import book
from filmwright.review import LAB_RULES, Finding, check_lab
from filmwright.units import convert, to_si

sys.path.insert(0, str(Path(__file__).resolve().parent))
from broken_labs import BROKEN_LABS, ON, PLAN, SOUND, BrokenLab


def checked(text: str, planned: bool = False, on: str = ON) -> tuple[Finding, ...]:
    """Findings of a lab text."""
    lab = lab_from_text(text, "lab.yaml")
    trace = None
    if planned:
        trace = walk(flow_from_text(PLAN, "plan.yaml", lab), lab, book(), None, on=on, sections=False)
    return check_lab(lab, book(), on, trace)[0]


@pytest.mark.property
def test_every_rule_has_a_row():
    assert {rule.name for rule in LAB_RULES} == {broken.rule for broken in BROKEN_LABS}


@pytest.mark.whole
@pytest.mark.parametrize("planned", [False, True])
def test_the_sound_lab_says_nothing(planned: bool):
    assert checked(SOUND, planned) == ()


@pytest.mark.whole
@pytest.mark.parametrize("broken", BROKEN_LABS, ids=lambda each: f"{each.rule}: {each.word}")
def test_the_rule_fires_at_its_line(broken: BrokenLab):
    findings = checked(broken.text, broken.planned)
    mine = [each for each in findings if each.rule == broken.rule]
    assert [each.severity for each in mine] == [broken.severity], findings
    (found,) = mine
    assert broken.at in broken.text.splitlines()[(found.line or 0) - 1]
    assert broken.word in f"{found.what} {found.got}", found
    assert found.expected
    assert found.why
    assert found.remedy
    assert found.source


@pytest.mark.analytic
def test_the_band_of_a_number_grows_with_the_days_and_each_maintenance():
    lab = lab_from_text(SOUND.replace("date: 2026-09-15", "date: 2026-10-22"), "lab.yaml")
    drift, jump = book().drifts["deposition rate"].value, book().jumps["deposition rate"].value
    for on, days, jumps in (("2026-10-20", 0, 0), ("2026-10-21", 1, 0), ("2026-11-29", 40, 1)):
        numbers = check_lab(lab, book(), on)[1]
        rate = next(each for each in numbers if each.of == "deposition rate")
        assert rate.belief is not None
        assert convert(rate.belief.value, "nm/s") == pytest.approx(0.1)
        assert rate.band == pytest.approx(2 * math.sqrt(0.04**2 + drift**2 * days + jump**2 * jumps))
        assert rate.age == pytest.approx(to_si(days, "day"))


@pytest.mark.analytic
def test_two_readings_of_one_day_that_agree_say_nothing():
    line = next(each for each in SOUND.splitlines() if "0.1 nm/s" in each)
    assert checked(SOUND.replace(line, f"{line}\n{line.replace('0.1 nm/s', '0.11 nm/s')}")) == ()


@pytest.mark.analytic
def test_a_lab_of_its_name_alone_is_judged_too():
    assert [each.rule for each in checked("lab: x\n")] == ["no process owner named"]


@pytest.mark.analytic
def test_a_lab_changes_a_limit():
    text = SOUND.replace("date: 2026-10-24", "date: 2026-10-14") + "limits:\n  lamp age: 30 day\n"
    assert checked(text) == ()
