"""Several numbers shared out at once: the same shares as one by one, bands, what to measure next, wafers as replicates."""

from __future__ import annotations

import math

import numpy as np
import pytest

from filmwright.learn import Explanation, Factor, Share, over_wafers, share_out, share_out_many

FACTORS = (
    Factor(name="thickness", planned={"d": 1.0}, actual={"d": 1.2}, std={"d": 0.03}),
    Factor(name="geometry", planned={"w": 10.0, "l": 1.0}, actual={"w": 9.8, "l": 1.3}, std={"l": 0.05}),
    Factor(name="threshold charge", planned={"v": 1.0}, actual={"v": 1.5}, std={"v": 0.1}, known="measured"),
)


def current(given):
    return given["w"] / given["l"] * (5 - given["v"]) ** 2 / (2 * given["d"])


def models(sets):
    return {
        "current": np.array([current(each) for each in sets]),
        "threshold": np.array([each["v"] + 0.2 * each["d"] for each in sets]),
        "nothing": np.array([math.nan for _ in sets]),
    }


MEASURED = {"current": (30.0, 0.5), "threshold": (1.8, 0.02), "nothing": (1.0, 0.0)}


@pytest.mark.reference
def test_each_number_is_shared_out_as_it_is_alone():
    found = share_out_many(models, FACTORS, MEASURED)
    alone = share_out(current, FACTORS, 30.0, 0.5)
    told = found["current"].explanation
    assert (told.planned, told.as_run, told.explained) == pytest.approx(
        (alone.planned, alone.as_run, alone.explained)
    )
    assert {s.name: s.amount for s in told.shares} == pytest.approx({s.name: s.amount for s in alone.shares})
    assert told.rest.amount == pytest.approx(alone.rest.amount)
    assert told.rest.std == pytest.approx(alone.rest.std)
    assert set(found) == {"current", "threshold"}


@pytest.mark.analytic
def test_shares_bands_and_what_to_measure_next_of_a_sum():
    # v + 0.2·d: shares 0.5 and 0.04, bands 0.1 and 0.006; the threshold leaves most of the band of the rest.
    found = share_out_many(models, FACTORS, MEASURED)["threshold"]
    shares = {share.name: share for share in found.explanation.shares}
    assert shares["threshold charge"].amount == pytest.approx(0.5)
    assert shares["threshold charge"].std == pytest.approx(0.1)
    assert shares["thickness"].amount == pytest.approx(0.04)
    assert shares["thickness"].std == pytest.approx(0.006)
    assert shares["geometry"].amount == pytest.approx(0.0)
    assert found.explanation.rest.amount == pytest.approx(1.8 - 1.74)
    assert found.explanation.rest.std == pytest.approx(math.hypot(0.1, 0.006, 0.02))
    assert found.explanation.measure_next == "v"
    assert list(found.contributions) == ["v", "the measured value itself", "d"]
    assert "l" not in found.contributions


@pytest.mark.analytic
def test_wafers_are_the_replicates():
    # Two wafers that differ by 0.2: mean in the middle, standard deviation of the mean 0.2/√2/√2 = 0.1.
    wafers = [
        Explanation(
            planned=1.0,
            as_run=1.1,
            explained=1.2,
            measured=1.3 + shift,
            measured_std=0.0,
            shares=(Share(name="thickness", amount=0.2, std=0.03),),
            rest=Share(name="rest", amount=0.1 + shift, std=0.0),
            measure_next="d",
        )
        for shift in (-0.1, 0.1)
    ]
    lot = over_wafers(wafers)
    assert lot.rest.amount == pytest.approx(0.1)
    assert lot.rest.std == pytest.approx(0.1)
    assert lot.rest.within_noise
    # What all wafers share (0.03) is not averaged away.
    assert lot.shares[0].std == pytest.approx(0.03)
    with pytest.raises(ValueError, match="same causes"):
        over_wafers([])


@pytest.mark.analytic
def test_what_one_share_gains_a_fitted_one_loses_and_nothing_is_left_in_the_rest():
    # v was fitted so that v + 0.2·d met a curve: with d up by 0.03 it was found lower by 0.006, and v itself is told to 0.1.
    follows = {"d": {"v": -0.006}}
    found = share_out_many(models, FACTORS, MEASURED, follows=follows)["threshold"]
    shares = {share.name: share for share in found.explanation.shares}
    assert shares["threshold charge"].std == pytest.approx(math.hypot(0.1, 0.006))
    assert shares["thickness"].std == pytest.approx(0.006)
    assert found.explanation.rest.std == pytest.approx(math.hypot(0.1, 0.02))
