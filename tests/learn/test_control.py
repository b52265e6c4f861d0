"""Control limits from a tool's own history; runs of the rules against published and simulated ones."""

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from filmwright.learn.control import (
    D2,
    FEWEST,
    OTHER_RULES,
    RULES,
    SETTLED,
    Limits,
    control_chart,
    limits_of,
    standing_out,
)
from filmwright.learn.run_lengths import average_run_length, average_run_length_of_order, false_alarm

NAMES = {rule.name: rule for rule in (*RULES, *OTHER_RULES)}
UNIT = Limits(centre=0.0, sigma=1.0, points=20, settled=True)


def ring(rule, values):
    return standing_out(values, UNIT, rule)


@pytest.mark.literature
def test_d2_of_two_readings():
    # Western Electric handbook and every table of control-chart constants since: d2 = 1.128 for n = 2.
    assert round(D2, 3) == 1.128


@pytest.mark.literature
@pytest.mark.parametrize(
    ("rules", "steady", "moved"),
    [
        # C. W. Champ and W. H. Woodall, Technometrics 29, 393 (1987), table of average run lengths: shift 0 and 1 sigma.
        ((0,), 370.40, 43.89),
        ((0, 1), 225.44, 20.01),
        ((0, 2), 166.05, 12.66),
        ((0, 3), 152.73, 14.58),
        ((0, 1, 2), 132.89, 10.95),
        ((0, 1, 3), 122.05, 11.73),
        ((0, 2, 3), 105.78, 10.19),
        ((0, 1, 2, 3), 91.75, 9.22),
    ],
)
def test_average_run_lengths_of_the_handbook_rules(rules, steady, moved):
    chosen = tuple(RULES[place] for place in rules)
    assert average_run_length(chosen) == pytest.approx(steady, abs=0.006)
    assert average_run_length(chosen, 1.0) == pytest.approx(moved, abs=0.006)


@pytest.mark.analytic
def test_a_run_on_one_side_is_that_of_a_coin():
    # A run of n equal throws of a coin takes 2^n − 1 throws in the mean.
    assert false_alarm(RULES[3]) == pytest.approx(2**8 - 1)
    nine = NAMES["9 readings in a row on one side of the centre line"]
    assert false_alarm(nine) == pytest.approx(2**9 - 1)


@pytest.mark.analytic
def test_three_readings_in_order():
    # For three readings: E = 1 + Σ P(T > n), with P(T > n) = 2·E_n/n! alternating permutations, Σ E_n/n! = sec 1 + tan 1 over n ≥ 0.
    zigzag = 1 / math.cos(1) + math.tan(1)  # n = 0 and 1 have one permutation each, the others two kinds.
    expected = 2 * zigzag - 2
    assert average_run_length_of_order(3) == pytest.approx(expected, rel=1e-9)
    # Without an alternating triple all readings rise or all fall: P(T > n) = 2/n! from n = 2.
    assert average_run_length_of_order(3, alternating=True) == pytest.approx(2 * math.e - 2, rel=1e-9)


@pytest.mark.reference
@pytest.mark.parametrize(
    "name", ["6 readings in a row that rise, or fall", "2 of 3 readings beyond 2 sigma on one side"]
)
def test_the_exact_run_is_that_of_a_simulation_with_the_same_code(name):
    rule = NAMES[name]
    values = np.random.default_rng(20).standard_normal(300_000)
    runs, start = [], 0
    ends = sorted(_first_ends(rule, values))
    for end in ends:
        if end - rule.of + 1 >= start:
            runs.append(end - start + 1)
            start = end + 1
    # Each run begins anew after an alarm, as the mean run length says; about 600 to 700 runs, so 4 % of one standard error.
    assert np.mean(runs) == pytest.approx(false_alarm(rule), rel=4 / math.sqrt(len(runs)))


def _first_ends(rule, values):
    """Where a window that rings ends, found window by window with the chart's own code."""
    size = rule.of
    for end in range(size, len(values) + 1):
        window = values[end - size : end]
        if rule.kind == "trend":
            steps = np.diff(window)
            if np.all(steps > 0) or np.all(steps < 0):
                assert ring(rule, list(window))
                yield end - 1
        elif max((window > rule.sigmas).sum(), (window < -rule.sigmas).sum()) >= rule.count and ring(
            rule, list(window)
        ):
            yield end - 1


@pytest.mark.reference
def test_all_rules_of_the_chart_ring_falsely_about_once_in_eighty_readings():
    # Exact without the trend: 91.75; the trend alone: 421.6. Simulated together, limits known.
    random = np.random.default_rng(7)
    runs = []
    for _ in range(400):
        values = list(random.standard_normal(40))
        while not (ends := [points[-1] for rule in RULES for points in _firsts(rule, values)]):
            values += list(random.standard_normal(40))
        runs.append(min(ends) + 1)
    assert 65 < np.mean(runs) < 92


def _firsts(rule, values):
    for points in ring(rule, values):
        first = list(points)
        yield first[: rule.count] if rule.kind != "beyond" else first[: max(rule.count, 1)]


@pytest.mark.analytic
def test_limits_by_hand():
    # Readings 10, 12, 10, 12 …: every moving range is 2, so sigma = 2/1.128 = 1.7725 and the limits lie 5.317 off 11.
    limits = limits_of([10.0, 12.0] * 5)
    assert limits.centre == pytest.approx(11.0)
    assert limits.sigma == pytest.approx(math.sqrt(math.pi))
    assert (limits.low, limits.high) == (
        pytest.approx(11 - 5.317, abs=1e-3),
        pytest.approx(11 + 5.317, abs=1e-3),
    )
    assert not limits.settled


@pytest.mark.reference
def test_sigma_is_that_of_normal_readings():
    values = 5.0 + 0.2 * np.random.default_rng(3).standard_normal(20_000)
    assert limits_of(list(values)).sigma == pytest.approx(0.2, rel=0.02)


@pytest.mark.property
@given(st.integers(0, 2**31), st.floats(-50, 50), st.floats(0.1, 9))
def test_limits_move_with_zero_and_scale(seed, zero, scale):
    values = np.random.default_rng(seed).standard_normal(15)
    plain, moved = limits_of(list(values)), limits_of(list(zero + scale * values))
    assert moved.centre == pytest.approx(zero + scale * plain.centre, abs=1e-9 * (1 + abs(zero)))
    assert moved.sigma == pytest.approx(scale * plain.sigma, rel=1e-6)


@pytest.mark.property
@given(st.integers(0, 2**31), st.integers(0, 11), st.sampled_from([-80.0, 80.0]))
def test_a_slip_neither_hides_itself_nor_its_neighbours(seed, place, slip):
    values = list(np.random.default_rng(seed).standard_normal(12))
    values[place] += slip
    chart = control_chart(values)
    limits = chart.phases[0].limits
    assert place in limits.left_out
    assert limits.sigma < 3
    assert any(alarm.rule is RULES[0] and place in alarm.points for alarm in chart.alarms)


@pytest.mark.property
@given(st.integers(0, 2**31))
def test_what_is_turned_upside_down_rings_the_same(seed):
    values = list(np.random.default_rng(seed).standard_normal(40))
    up, down = control_chart(values), control_chart([-value for value in values])
    assert {(a.rule.name, a.points) for a in up.alarms} == {(a.rule.name, a.points) for a in down.alarms}


@pytest.mark.analytic
def test_a_phase_begins_anew_after_maintenance():
    values = [1.0, 1.1, 0.9, 1.05, 0.95, 1.0, 1.1, 0.9, 5.0, 5.1, 4.9]
    opened = [False] * 8 + [True, False, False]
    chart = control_chart(values, opened)
    assert [(phase.first, phase.after) for phase in chart.phases] == [(0, 8), (8, 11)]
    assert chart.phases[0].limits.high < 2
    assert (chart.phases[1].limits, chart.phases[1].said) == (None, f"no limits yet, 3 of {FEWEST}")
    assert not chart.alarms
    assert any(alarm.points[0] == 8 for alarm in control_chart(values).alarms)


@pytest.mark.analytic
def test_a_later_drift_cannot_widen_settled_limits():
    steady = [1.0, 1.2] * (SETTLED // 2)
    drifted = [*steady, *(1.3 + 0.1 * step for step in range(30))]
    assert control_chart(drifted).phases[0].limits == limits_of(steady)
    assert {alarm.rule.name for alarm in control_chart(drifted).alarms} >= {
        RULES[0].name,
        RULES[3].name,
        RULES[4].name,
    }


@pytest.mark.analytic
def test_equal_readings_have_no_limits():
    chart = control_chart([2.0] * 12)
    assert chart.phases[0].limits is None
    assert "display" in chart.phases[0].said
    assert control_chart([]).phases[0].said == f"no limits yet, 0 of {FEWEST}"


@pytest.mark.literature
@pytest.mark.parametrize(
    ("name", "values", "points"),
    [
        # Each as the two references draw it, by hand.
        ("one reading beyond 3 sigma", [0, 3.1, 0, -3.1], [(1,), (3,)]),
        ("2 of 3 readings beyond 2 sigma on one side", [2.1, 0, 2.1, 0, 0], [(0, 2)]),
        ("2 of 3 readings beyond 2 sigma on one side", [2.1, -2.1, 0, 2.1], []),
        ("4 of 5 readings beyond 1 sigma on one side", [1.1, 1.1, 0, 1.1, 1.1], [(0, 1, 3, 4)]),
        ("8 readings in a row on one side of the centre line", [-0.1] * 9, [tuple(range(9))]),
        ("8 readings in a row on one side of the centre line", [0.1] * 7 + [0.0, 0.1], []),
        ("6 readings in a row that rise, or fall", [0, 0, 1, 2, 3, 4, 5, 4], [(1, 2, 3, 4, 5, 6)]),
        ("6 readings in a row that rise, or fall", [5, 4, 3, 2, 1], []),
        ("14 readings in a row that alternate up and down", [0, 1] * 7, [tuple(range(14))]),
        ("15 readings in a row within 1 sigma", [0.5, -0.5] * 7 + [0.2], [tuple(range(15))]),
        ("8 readings in a row beyond 1 sigma on either side", [1.1, -1.1] * 4, [tuple(range(8))]),
    ],
)
def test_each_rule_on_a_drawn_case(name, values, points):
    assert list(ring(NAMES[name], [float(value) for value in values])) == points


@pytest.mark.analytic
def test_nonsense_is_refused():
    with pytest.raises(ValueError, match="finite"):
        control_chart([1.0, math.nan])
    with pytest.raises(ValueError, match="flags"):
        control_chart([1.0, 2.0], [True])
    with pytest.raises(ValueError, match="order"):
        average_run_length((RULES[4],))
