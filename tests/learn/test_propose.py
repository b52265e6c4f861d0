"""From thicknesses and widths to proposals: dead band, bands, warnings."""

import math
from dataclasses import replace

import numpy as np
import pytest

from filmwright.learn import (
    Judgement,
    Proposal,
    ThicknessEvidence,
    WidthEvidence,
    as_calibration,
    propose,
    setting_for,
)
from filmwright.units import to_si

NM = to_si(1, "nm")
RATE = to_si(6, "nm/min")
EXACT = Judgement(drift_per_sqrt_day=0.0, run_to_run=0.0)


def evidence(**changes):
    given = {
        "tool": "evaporator",
        "of": "deposition rate",
        "material": "titanium",
        "belief_value": RATE,
        "belief_std": 0.1 * RATE,
        "belief_age_days": 0.0,
        "setting_value": 600.0,
        "measured": 60 * NM,
        "measured_std": 1 * NM,
        "target": 60 * NM,
        "invented": True,
    }
    return ThicknessEvidence(**{**given, **changes})


@pytest.mark.analytic
def test_an_unknown_rate_becomes_the_measured_one():
    rate, time = propose([evidence(belief_std=math.inf, measured=50 * NM)], judgement=EXACT)
    assert rate.new == pytest.approx(to_si(5, "nm/min"))
    assert rate.new_std == pytest.approx(to_si(0.1, "nm/min"))
    assert (rate.quantity, rate.change_worthwhile, rate.unit) == ("deposition rate", True, "nm/min")
    assert (time.quantity, time.unit) == ("time", "s")
    assert time.new == pytest.approx(720.0)
    assert time.old == pytest.approx(600.0)
    assert time.low == pytest.approx(60 / (5 + 1.959964 * 0.1) * 60, rel=1e-6)
    assert time.high == pytest.approx(60 / (5 - 1.959964 * 0.1) * 60, rel=1e-6)
    assert time.dial == time.new


@pytest.mark.analytic
def test_equal_spreads_meet_in_the_middle():
    rate, _ = propose([evidence(measured=54 * NM, measured_std=6 * NM)], judgement=EXACT)
    assert rate.new == pytest.approx(0.95 * RATE)
    assert rate.new_std == pytest.approx(0.1 * RATE / math.sqrt(2))


@pytest.mark.analytic
def test_inside_the_noise_nothing_changes_and_it_says_so():
    rate, time = propose([evidence(measured=59.5 * NM)], judgement=EXACT)
    assert not rate.change_worthwhile
    assert not time.change_worthwhile
    assert rate.why.startswith("no change: the difference of ")
    assert "within the noise of " in rate.why
    assert rate.dial == rate.old == RATE
    assert time.dial == pytest.approx(600.0)


@pytest.mark.property
def test_a_right_belief_is_changed_in_at_most_5_of_100_runs():
    draw = np.random.default_rng(11)
    changed = sum(
        propose([evidence(belief_std=0.05 * RATE, measured=(60 + draw.normal()) * NM)], judgement=EXACT)[
            0
        ].change_worthwhile
        for _ in range(1500)
    )
    # 5 % plus four standard deviations of a binomial count, p = 0.05 and n = 1500: 0.0225.
    assert changed / 1500 < 0.05 + 0.0225
    # The share is P(|z| > 1.96 sqrt((P + R)/P)) with P = 9 R, 3.9 %: far above 0.
    assert changed / 1500 == pytest.approx(0.039, abs=0.02)


@pytest.mark.property
def test_the_band_of_the_time_covers_the_next_run_in_95_of_100_cases():
    draw = np.random.default_rng(12)
    judgement = Judgement(drift_per_sqrt_day=0.0, run_to_run=0.03)
    inside, cases = 0, 1500
    for _ in range(cases):
        truth = RATE * (1 + 0.1 * draw.normal())
        runs = []
        for run in ("1", "2"):
            rate = truth * (1 + 0.03 * draw.normal())
            thickness = rate * 600 + draw.normal() * NM
            runs.append(evidence(measured=thickness, run=run))
        time = propose(runs, judgement=judgement)[1]
        needed = 60 * NM / (truth * (1 + 0.03 * draw.normal()))
        inside += time.low <= needed <= time.high
    # Four standard deviations of a binomial count with p = 0.95 and n = 1500: 0.0225.
    assert inside / cases == pytest.approx(0.95, abs=0.0225)


@pytest.mark.analytic
def test_wafers_of_one_run_are_one_reading_of_the_tool():
    judgement = Judgement(drift_per_sqrt_day=0.0, run_to_run=0.05)
    together = [evidence(measured=54 * NM, wafer=str(i), run="1", belief_std=math.inf) for i in range(25)]
    apart = [replace(each, run=str(i)) for i, each in enumerate(together)]
    one, many = propose(together, judgement=judgement)[0], propose(apart, judgement=judgement)[0]
    assert one.new_std == pytest.approx(math.hypot(0.05 * one.new, 1 / 54 * one.new / 5), rel=1e-6)
    assert many.new_std == pytest.approx(math.hypot(0.05 * one.new, 1 / 54 * one.new) / 5, rel=1e-6)


@pytest.mark.analytic
def test_an_old_belief_counts_less():
    fresh, stale = (
        propose([evidence(measured=54 * NM, belief_std=0.01 * RATE, belief_age_days=days)])[0]
        for days in (0, 100)
    )
    # 1 % per √day by judgement: after 100 days the spread is hypot(1 %, 10 %).
    assert stale.old_std == pytest.approx(math.hypot(0.01, 0.1) * RATE)
    assert abs(stale.new - RATE) > 3 * abs(fresh.new - RATE)
    assert any("by judgement" in each for each in stale.warnings)
    assert not any("by judgement" in each for each in fresh.warnings)


@pytest.mark.analytic
def test_runs_count_in_the_order_of_their_dates():
    early = evidence(measured=50 * NM, date="2031-01-01", belief_std=math.inf)
    late = evidence(measured=60 * NM, date="2031-04-11", belief_std=math.inf)
    rate = propose([late, early])[0]
    assert rate.date == "2031-04-11"
    assert rate.new > to_si(5.8, "nm/min"), "after 100 idle days the later run outweighs the earlier one"


@pytest.mark.analytic
def test_a_dummy_is_asked_for_when_the_band_exceeds_the_tolerance():
    def warned(tolerance):
        return propose([evidence(tolerance=tolerance)])[1].warnings

    # One run at 1.7 % and 2 % run to run against a prior of 10 %: the next film is known to ± 4 nm of 60.
    assert any(each.startswith("run a dummy first") for each in warned(3 * NM))
    assert warned(12 * NM) == ()
    assert warned(None) == ()


@pytest.mark.analytic
def test_the_band_of_the_next_setting_grows_until_it_is_run():
    soon, later = (propose([evidence()], days_to_next=days)[1] for days in (0, 25))
    # 25 days add 5 % to what was 2.5 %; the best estimate stays.
    assert later.new == soon.new
    assert later.new_std**2 - soon.new_std**2 == pytest.approx(
        (0.05 * RATE / (60 * NM) * soon.new**2) ** 2, rel=1e-6
    )


@pytest.mark.analytic
def test_a_setting_outside_the_tried_range_is_warned_of():
    given = {"measured": 40 * NM, "belief_std": math.inf, "tried_low": 300.0}
    assert any(
        "outside the tried range" in each
        for each in propose([evidence(**given, tried_high=700.0)])[1].warnings
    )
    assert propose([evidence(**given, tried_high=1000.0)])[1].warnings == ()


@pytest.mark.analytic
def test_a_reading_far_off_is_to_be_checked():
    rate = propose([evidence(measured=600 * NM, belief_std=0.02 * RATE)])[0]
    assert any("check the reading" in each for each in rate.warnings)
    assert not propose([evidence(measured=61 * NM)])[0].warnings


@pytest.mark.analytic
def test_cycles_are_whole_and_their_band_encloses_them():
    given = {"of": "growth per cycle", "material": "aluminium oxide", "belief_value": to_si(1, "ang"),
             "belief_std": to_si(0.1, "ang"), "setting_value": 500.0, "measured": 45 * NM,
             "target": 50 * NM}  # fmt: skip
    rate, cycles = propose([evidence(**given)])
    assert (rate.unit, cycles.quantity, cycles.unit) == ("ang", "cycles", "")
    assert cycles.new == round(cycles.new)
    assert cycles.low <= 50 * NM / rate.new <= cycles.high
    assert cycles.old == 500.0


@pytest.mark.analytic
def test_a_film_that_was_gone_gives_only_a_bound():
    gone = evidence(
        of="etch rate", medium="dilute hydrogen peroxide and ammonia", cleared=True, measured=90 * NM
    )
    (only,) = propose([gone])
    assert not only.change_worthwhile
    assert only.why.startswith("cannot tell")
    assert only.low == pytest.approx(to_si(9, "nm/min"))
    rate, _ = propose([gone, replace(gone, cleared=False, measured=60 * NM)])
    assert rate.new < to_si(7, "nm/min")
    assert any("left out" in each for each in rate.warnings)


@pytest.mark.analytic
def test_setting_for_a_target_has_no_upper_end_when_the_rate_may_be_zero():
    setting, low, high = setting_for(60 * NM, RATE, RATE)
    assert (setting, high) == (pytest.approx(600.0), math.inf)
    assert low < setting


def width(drawn, measured, **changes):
    um = to_si(1, "um")
    given = {"level": "gate", "drawn": drawn * um, "measured": measured * um, "measured_std": 0.05 * um,
             "tool": "aligner", "material": "positive 1.3 µm", "wafer": "A", "invented": True}  # fmt: skip
    return WidthEvidence(**{**given, **changes})


@pytest.mark.analytic
def test_a_wider_line_is_an_outward_bias_of_half_the_difference():
    (bias,) = propose(widths=[width(10, 10.4)])
    assert bias.new == pytest.approx(to_si(0.2, "um"))
    assert bias.new_std == pytest.approx(to_si(0.025, "um"))
    assert (bias.quantity, bias.change_worthwhile) == ("print bias", True)
    assert "further out" in bias.why
    assert "draw each edge 0.2 µm further in" in bias.why.replace("200 nm", "0.2 µm")
    assert any("one wafer only" in each for each in bias.warnings)


@pytest.mark.analytic
def test_a_bias_inside_the_noise_is_left_alone():
    (bias,) = propose(widths=[width(10, 10.05, wafer=each) for each in "AB"])
    assert not bias.change_worthwhile
    assert bias.why.startswith("no change")
    assert bias.dial == 0.0
    assert bias.warnings == ()


@pytest.mark.analytic
def test_lines_of_a_wafer_do_not_hide_the_spread_between_wafers():
    lines = [
        width(10, 10 + 2 * shift, wafer=wafer) for wafer, shift in (("A", 0.1), ("B", 0.3)) for _ in range(20)
    ]
    (bias,) = propose(widths=lines)
    # Two wafer means 0.1 and 0.3: standard error of their mean 0.1, whatever the number of lines.
    assert bias.new == pytest.approx(to_si(0.2, "um"))
    assert bias.new_std == pytest.approx(to_si(0.1, "um"))


@pytest.mark.analytic
def test_an_error_that_grows_with_the_width_is_no_bias():
    growing = [width(drawn, drawn * 1.05, wafer=wafer) for drawn in (4, 8, 12, 16, 20) for wafer in "AB"]
    steady = [
        width(drawn, drawn + 0.4 + 0.01 * (-1) ** drawn, wafer=w)
        for drawn in (4, 7, 12, 15, 20)
        for w in "AB"
    ]
    assert any("changes with the drawn width" in each for each in propose(widths=growing)[0].warnings)
    assert propose(widths=steady)[0].warnings == ()


@pytest.mark.analytic
def test_worthwhile_changes_come_first():
    found = propose(
        [evidence(measured=59.9 * NM, material="gold"), evidence(measured=45 * NM)], [width(10, 11)]
    )
    assert [each.change_worthwhile for each in found] == [True, True, True, False, False]
    assert all(isinstance(each, Proposal) and each.invented for each in found)


@pytest.mark.analytic
def test_an_accepted_rate_becomes_a_calibration_and_a_time_does_not():
    rate, time = propose([evidence(measured=50 * NM, date="2031-05-04")])
    kept = as_calibration(rate, by="invented", date="2031-05-06")
    assert (kept.of, kept.tool, kept.material, kept.date) == (
        "deposition rate",
        "evaporator",
        "titanium",
        "2031-05-04",
    )
    assert (kept.value, kept.std, kept.kind) == (rate.new, rate.new_std, "invented")
    with pytest.raises(ValueError, match="accept the rate"):
        as_calibration(time, by="invented", date="2031-05-06")


@pytest.mark.analytic
@pytest.mark.parametrize(
    "change",
    [
        {"measured": 0.0},
        {"setting_value": -1.0},
        {"belief_value": math.nan},
        {"target": math.inf},
        {"measured_std": -1.0},
    ],
)
def test_evidence_that_cannot_be_is_refused(change):
    with pytest.raises(ValueError, match="must be"):
        evidence(**change)
