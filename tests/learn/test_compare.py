"""A difference shared out: sums, symmetry, known answers, bands."""

import math
from itertools import permutations

import numpy as np
import pytest

from filmwright.learn import Factor, share_out


def current(given):
    """On-current of an ideal transistor with all constants 1: µ·(W/L)·(V − VT)²/(2d)."""
    return (
        given["mobility"]
        * given["width"]
        / given["length"]
        * (5 - given["threshold"]) ** 2
        / (2 * given["thickness"])
    )


def factors():
    return (
        Factor(name="thickness", planned={"thickness": 1.0}, actual={"thickness": 1.2},
        std={"thickness": 0.03}),
        Factor(name="geometry", planned={"width": 10.0, "length": 1.0}, actual={"width": 9.8, "length": 1.3},
               std={"length": 0.05}),
        Factor(name="threshold and mobility", planned={"threshold": 1.0, "mobility": 10.0},
               actual={"threshold": 1.5, "mobility": 8.0}, std={"threshold": 0.1, "mobility": 0.2},
               known="measured"),
    )  # fmt: skip


@pytest.mark.analytic
def test_shares_and_rest_add_up_to_the_whole_difference():
    found = share_out(current, factors(), measured=300.0, measured_std=5.0)
    assert math.fsum(each.amount for each in found.shares) == pytest.approx(found.explained - found.planned)
    assert found.planned + math.fsum(
        each.amount for each in found.shares
    ) + found.rest.amount == pytest.approx(300.0)
    assert found.planned == pytest.approx(10 * 10 * 16 / 2)
    assert found.as_run == pytest.approx(10 * 9.8 / 1.3 * 16 / 2.4)
    assert found.explained == pytest.approx(8 * 9.8 / 1.3 * 3.5**2 / 2.4)
    assert [abs(each.amount) for each in found.shares] == sorted(
        (abs(e.amount) for e in found.shares), reverse=True
    )


@pytest.mark.reference
def test_shares_are_the_mean_over_every_order_of_substitution():
    given = factors()
    sums = dict.fromkeys((each.name for each in given), 0.0)
    for order in permutations(given):
        now = {name: value for each in given for name, value in each.planned.items()}
        for factor in order:
            before = current(now)
            now |= factor.actual
            sums[factor.name] += (current(now) - before) / 6
    found = share_out(current, given, measured=300.0)
    assert {each.name: each.amount for each in found.shares} == pytest.approx(sums)


@pytest.mark.analytic
def test_a_sum_gives_each_cause_its_own_term_whatever_the_order():
    given = [
        Factor(name=n, planned={n: 0.0}, actual={n: v}, std={n: s})
        for n, v, s in (("a", 3, 0.1), ("b", -5, 0.2))
    ]
    found = share_out(
        lambda p: p["a"] + 2 * p["b"] + p["c"], given, measured=-6.0, measured_std=0.3, fixed={"c": 1.0}
    )
    assert {each.name: (each.amount, each.std) for each in found.shares} == {
        "a": (pytest.approx(3.0), pytest.approx(0.1)),
        "b": (pytest.approx(-10.0), pytest.approx(0.4)),
    }
    assert found.rest.amount == pytest.approx(0.0, abs=1e-12)
    assert found.rest.std == pytest.approx(math.sqrt(0.1**2 + 0.4**2 + 0.3**2))
    assert found.rest.within_noise
    assert found.measure_next == "b"


@pytest.mark.analytic
def test_a_cause_that_did_not_change_gets_nothing_and_twins_get_the_same():
    given = [
        Factor(name="still", planned={"x": 2.0}, actual={"x": 2.0}),
        Factor(name="one", planned={"y": 1.0}, actual={"y": 3.0}),
        Factor(name="other", planned={"z": 1.0}, actual={"z": 3.0}),
    ]
    shares = {
        each.name: each.amount for each in share_out(lambda p: p["x"] * p["y"] * p["z"], given, 0.0).shares
    }
    assert shares == {"still": pytest.approx(0.0), "one": pytest.approx(8.0), "other": pytest.approx(8.0)}


@pytest.mark.property
def test_bands_agree_with_random_draws():
    given, draw = factors(), np.random.default_rng(5)
    found = share_out(current, given, measured=300.0, measured_std=4.0)
    amounts, rests = {each.name: [] for each in given}, []
    for _ in range(1500):
        drawn = [
            Factor(name=f.name, planned=f.planned,
                   actual={n: v + f.std.get(n, 0.0) * draw.normal() for n, v in f.actual.items()})
            for f in given
        ]  # fmt: skip
        once = share_out(current, drawn, measured=300.0 + 4.0 * draw.normal())
        rests.append(once.rest.amount)
        for each in once.shares:
            amounts[each.name].append(each.amount)
    # Linear propagation against 1500 draws: 2 % sampling error and the curvature of the model.
    for each in found.shares:
        assert each.std == pytest.approx(np.std(amounts[each.name]), rel=0.1)
    assert found.rest.std == pytest.approx(np.std(rests), rel=0.1)


@pytest.mark.analytic
def test_what_to_measure_next_may_be_the_measurement_itself():
    assert share_out(current, factors(), 300.0, measured_std=1e3).measure_next == "the measured value itself"
    exact = [Factor(name="a", planned={"a": 0.0}, actual={"a": 1.0})]
    assert share_out(lambda p: p["a"], exact, 1.0).measure_next == ""


@pytest.mark.analytic
@pytest.mark.parametrize(
    ("call", "why"),
    [
        (lambda: share_out(current, [], 1.0), "between 1 and 8"),
        (lambda: share_out(current, [factors()[0]] * 2, 1.0), "twice"),
        (lambda: share_out(lambda _: math.nan, factors(), 1.0), "must give a number"),
        (lambda: Factor(name="a", planned={"a": 1.0}, actual={"b": 1.0}), "same parameters"),
        (lambda: Factor(name="a", planned={"a": 1.0}, actual={"a": 1.0}, std={"b": 1.0}), "same parameters"),
    ],
)
def test_what_cannot_be_shared_out_is_refused(call, why):
    with pytest.raises(ValueError, match=why):
        call()
