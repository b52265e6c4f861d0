"""Which number is believed, and what is said of the others."""

import math

import pytest

from filmwright.knowledge import Calibration, Lab, Maintenance, Tool, believe, book
from filmwright.units import convert, to_si

BOOK = book()
NM_MIN = to_si(1.0, "nm/min")
TODAY = "2026-06-30"


def reading(value, date, std=0.2, **more):
    given = {"of": "deposition rate", "tool": "evaporator", "material": "titanium", "unit": "nm/min", **more}
    return Calibration(value=value * NM_MIN, std=std * NM_MIN, date=date, **given)


def belief(*calibrations, on=TODAY, **wanted):
    asked = {"of": "deposition rate", "tool": "evaporator", "material": "titanium", **wanted}
    return believe(Lab(name="lab", calibrations=calibrations), BOOK, on=on, **asked)


def nm_min(found):
    return convert(found.value, "nm/min")


@pytest.mark.analytic
def test_nothing_known_is_none():
    assert belief() is None
    assert belief(of="etch rate", material="parylene", medium="aqua regia") is None
    assert belief(of="etch rate", material="parylene", medium="no such bath") is None


@pytest.mark.analytic
def test_the_book_is_the_weakest_prior():
    etch = {
        "of": "etch rate",
        "material": "silicon dioxide",
        "medium": "buffered hydrofluoric acid 5:1",
        "tool": "bench",
    }
    shipped = belief(**etch)
    assert nm_min(shipped) == pytest.approx(100)
    assert convert(shipped.std, "nm/min") == pytest.approx(5)  # ± 10 % encloses 95 %
    assert shipped.age_days is None
    assert "book" in shipped.reason
    own = belief(reading(88, "2026-06-01", **etch), **etch)
    assert nm_min(own) == pytest.approx(88)
    assert any("100 nm/min" in line and "this lab has its own" in line for line in own.alternatives)


@pytest.mark.analytic
def test_what_does_not_attack_is_believed_to_be_zero_only_with_a_bound():
    bounded = belief(of="etch rate", material="tungsten", medium="buffered hydrofluoric acid 5:1")
    assert bounded.value == 0
    assert convert(bounded.std, "nm/min") == pytest.approx(0.5)


@pytest.mark.analytic
def test_variance_grows_linearly_with_idle_time():
    fresh = belief(reading(10, TODAY))
    assert convert(fresh.std, "nm/min") == pytest.approx(0.2)
    daily = BOOK.drifts["deposition rate"].value * 10
    for days, date in ((1, "2026-06-29"), (16, "2026-06-14"), (100, "2026-03-22")):
        old = belief(reading(10, date))
        assert old.age_days == days
        assert convert(old.std, "nm/min") == pytest.approx(math.sqrt(0.2**2 + daily**2 * days))


@pytest.mark.analytic
def test_readings_of_one_day_are_combined_by_inverse_variance():
    both = belief(reading(10.0, TODAY, std=0.1), reading(10.3, TODAY, std=0.2))
    assert nm_min(both) == pytest.approx((10.0 * 4 + 10.3) / 5)
    assert convert(both.std, "nm/min") == pytest.approx(math.sqrt(1 / (100 + 25)))
    assert "2 calibrations" in both.reason


@pytest.mark.analytic
def test_a_nearer_reading_weighs_more():
    both = belief(reading(10.0, "2026-01-01"), reading(10.8, "2026-06-29"))
    assert 10.4 < nm_min(both) < 10.8


@pytest.mark.analytic
def test_maintenance_outdates_what_came_before():
    found = belief(
        *(reading(10, f"2026-05-{day:02d}") for day in range(1, 11)),
        reading(14, "2026-06-01", after_maintenance=True),
    )
    assert nm_min(found) == pytest.approx(14)
    assert "since the maintenance" in found.reason
    assert sum("before the maintenance" in line for line in found.alternatives) == 10


@pytest.mark.analytic
def test_maintenance_that_another_material_was_measured_after_is_said():
    gold = reading(12, "2026-06-10", material="gold", after_maintenance=True)
    found = belief(reading(10, "2026-06-01"), gold)
    assert nm_min(found) == pytest.approx(10), "there is nothing better"
    assert "opened since (2026-06-10)" in found.reason
    assert "opened" not in belief(reading(10, "2026-06-11"), gold).reason
    assert "opened" not in belief(reading(10, "2026-06-01"), gold, on="2026-06-05").reason
    other = reading(12, "2026-06-10", material="gold", tool="old evaporator", after_maintenance=True)
    assert "opened" not in belief(reading(10, "2026-06-01"), other).reason


@pytest.mark.analytic
def test_one_bad_reading_does_not_beat_ten_good_ones():
    good = [reading(10 + 0.02 * (-1) ** day, f"2026-06-{day:02d}") for day in range(1, 11)]
    found = belief(*good, reading(19, "2026-06-12"))
    assert nm_min(found) == pytest.approx(10, abs=0.1)
    assert any("one reading against 10 that agree" in line for line in found.alternatives)
    assert found.age_days == 20  # the newest evidence behind the number, not the one set aside


@pytest.mark.analytic
def test_a_second_reading_confirms_the_change():
    good = [reading(10, f"2026-06-{day:02d}") for day in range(1, 11)]
    found = belief(*good, reading(19, "2026-06-12"), reading(19.2, "2026-06-14"))
    assert nm_min(found) == pytest.approx(19.1, abs=0.1)
    assert sum("two later readings agree" in line for line in found.alternatives) == 10
    assert not any(line.startswith("19 nm/min") for line in found.alternatives)


@pytest.mark.analytic
def test_one_against_one_takes_the_newer_and_doubts_it():
    found = belief(reading(10, "2026-06-29"), reading(16, TODAY))
    assert nm_min(found) == pytest.approx(16)
    assert convert(found.std, "nm/min") == pytest.approx(3)
    assert any("the next reading disagrees" in line for line in found.alternatives)


@pytest.mark.analytic
def test_readings_from_the_future_and_of_other_things_do_not_count():
    assert belief(reading(10, "2026-07-01")) is None
    assert belief(reading(10, TODAY, material="gold")) is None
    assert belief(reading(10, TODAY, recipe="slow"), recipe="fast") is None


@pytest.mark.analytic
def test_another_tool_is_an_alternative_and_no_evidence():
    found = belief(reading(10, TODAY), reading(30, TODAY, tool="old evaporator"))
    assert nm_min(found) == pytest.approx(10)
    assert any("another tool" in line for line in found.alternatives)
    assert belief(reading(30, TODAY, tool="old evaporator")) is None


@pytest.mark.analytic
def test_the_more_specific_calibration_is_used():
    found = belief(reading(10, TODAY), reading(12, TODAY, recipe="slow"), recipe="slow")
    assert nm_min(found) == pytest.approx(12)
    assert any("less specific" in line for line in found.alternatives)
    assert nm_min(belief(reading(10, TODAY), recipe="slow")) == pytest.approx(10)


@pytest.mark.analytic
def test_the_source_says_who_and_when_and_of_what_kind():
    found = belief(
        reading(10, "2026-06-20", by="process owner", evidence="stylus, five places", kind="invented")
    )
    assert found.source.kind == "invented"
    assert found.source.date == "2026-06-20"
    assert found.source.citation == "process owner"
    assert found.evidence == "stylus, five places of 2026-06-20"


@pytest.mark.analytic
def test_growth_per_cycle_and_resists_have_shipped_values():
    assert convert(belief(of="growth per cycle", material="aluminium oxide").value, "nm") == pytest.approx(
        0.1
    )
    dose = belief(of="clearing dose", material="", recipe="positive 1.3 um")
    assert convert(dose.value, "mJ/cm^2") == pytest.approx(100)


@pytest.mark.property
def test_order_in_the_file_does_not_matter():
    days = [reading(10, "2026-06-01"), reading(10.2, "2026-06-05"), reading(10.1, "2026-06-09")]
    assert belief(*days).value == pytest.approx(belief(*reversed(days)).value, rel=1e-12)


def opened(*calibrations, maintained=("2026-06-10",), on=TODAY, **wanted):
    """Belief of a tool that was opened on some days."""
    events = tuple(Maintenance(date=each, done="new crucible") for each in maintained)
    tool = Tool(name="evaporator", does=("electron-beam evaporation",), maintenance=events)
    asked = {"of": "deposition rate", "tool": "evaporator", "material": "titanium", **wanted}
    return believe(
        Lab(name="lab", tools={"evaporator": tool}, calibrations=calibrations), BOOK, on=on, **asked
    )


@pytest.mark.analytic
def test_maintenance_on_file_outdates_what_was_measured_before():
    found = opened(reading(10, "2026-06-01"), reading(10, "2026-06-09"), reading(14, "2026-06-11"))
    assert nm_min(found) == pytest.approx(14)
    assert sum("before the maintenance, outdated by 2026-06-11" in line for line in found.alternatives) == 2
    assert "opened since" not in found.reason


@pytest.mark.analytic
@pytest.mark.parametrize("times", [0, 1, 3])
def test_each_maintenance_adds_the_variance_of_one_jump(times: int):
    days = [f"2026-06-{20 + k}" for k in range(times)]
    found = opened(reading(10, "2026-06-14"), maintained=days)
    drift, jump = (each["deposition rate"].value * 10 for each in (BOOK.drifts, BOOK.jumps))
    expected = math.sqrt(0.2**2 + drift**2 * 16 + times * jump**2)
    assert convert(found.std, "nm/min") == pytest.approx(expected)
    assert ("opened since" in found.reason) is bool(times)


@pytest.mark.analytic
def test_what_was_read_on_the_day_of_a_maintenance_counts_as_before_unless_it_says_after():
    before = opened(reading(10, "2026-06-10"))
    assert "opened since (2026-06-10)" in before.reason
    after = opened(reading(10, "2026-06-10", after_maintenance=True))
    assert "opened since" not in after.reason
    assert convert(after.std, "nm/min") < convert(before.std, "nm/min")


@pytest.mark.analytic
def test_a_maintenance_after_the_day_and_of_another_tool_does_not_count():
    assert "opened" not in opened(reading(10, "2026-06-01"), maintained=("2026-07-02",)).reason
    elsewhere = Tool(
        name="sputter", does=("x",), maintenance=(Maintenance(date="2026-06-10", done="new target"),)
    )
    lab = Lab(name="lab", tools={"sputter": elsewhere}, calibrations=(reading(10, "2026-06-01"),))
    found = believe(lab, BOOK, of="deposition rate", tool="evaporator", material="titanium", on=TODAY)
    assert "opened" not in found.reason


@pytest.mark.analytic
def test_what_was_set_aside_does_not_count_and_keeps_its_reason():
    found = belief(reading(10, TODAY), reading(19, TODAY, set_aside="the stylus was off"))
    assert nm_min(found) == pytest.approx(10)
    assert any("set aside, the stylus was off" in line for line in found.alternatives)
    assert belief(reading(19, TODAY, set_aside="the stylus was off")) is None


@pytest.mark.analytic
def test_a_reading_of_the_recipe_goes_before_one_that_names_the_material():
    general = reading(10, TODAY)
    bound = reading(12, "2026-06-01", recipe="slow", material="")
    assert nm_min(belief(general, bound, recipe="slow")) == pytest.approx(12)
    assert nm_min(belief(general, bound)) == pytest.approx(10)


@pytest.mark.analytic
def test_lamp_readings_of_other_lines_do_not_count():
    lamp = {"of": "lamp intensity", "material": "", "tool": "aligner"}
    lines = [
        reading(value, TODAY, setting=to_si(nm, "nm"), **lamp)
        for nm, value in ((365, 10), (405, 20), (436, 30))
    ]
    at = [nm_min(belief(*lines, setting=to_si(nm, "nm"), **lamp)) for nm in (365, 405, 436)]
    assert at == pytest.approx([10, 20, 30])
    assert nm_min(belief(*lines, **lamp)) == pytest.approx(10), "the line of the dose"
    assert nm_min(belief(*lines, reading(11, TODAY, **lamp), **lamp)) == pytest.approx(11)
    assert belief(lines[1], setting=to_si(365, "nm"), **lamp) is None
