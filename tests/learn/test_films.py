"""The film grown between two ellipsometric maps: an invented wafer comes back, a measured one is told."""

from __future__ import annotations

import math
import os
from pathlib import Path

import numpy as np
import pytest
import tmm
from scipy import optimize

from filmwright.knowledge import optical
from filmwright.learn import FilmModel, GrownFilm, grown_film
from filmwright.measure import Angles, read_angles
from filmwright.process import psi_delta, stacks
from filmwright.units import to_si

DATA = (
    Path(os.environ.get("FILMWRIGHT_SHARED_DATA", Path(__file__).parents[3] / "shared" / "data"))
    / "ellipsometry"
)
NM, MM = to_si(1, "nm"), to_si(1, "mm")
RADIUS = to_si(50, "mm")


def model(wavelength: np.ndarray, index_range: float = 0.2) -> FilmModel:
    return FilmModel(
        names=("silicon", "silicon dioxide", "grown film"),
        body=optical("silicon").index(wavelength),
        under=optical("silicon dioxide").index(wavelength),
        grown=1.5,
        index_range=index_range,
        thickest=to_si(300, "nm"),
    )


def invented(x: float, y: float, film: float, degrees: tuple[float, ...]) -> Angles:
    """Angles of a place without noise: a film of index 1.53 on 2 nm of oxide on silicon."""
    waves, incidence = np.array([658.0]) * NM, np.radians(degrees)
    told = model(waves)
    stack = stacks(
        waves,
        [[("film", film), ("oxide", 2 * NM), ("body", 0.0)]],
        {"film": 1.53, "oxide": told.under, "body": told.body},
    )
    psi, delta = (
        np.array(each)[:, 0, :] for each in zip(*(psi_delta(stack, a) for a in incidence), strict=True)
    )
    none = np.zeros_like(psi)
    return Angles(
        x=x, y=y, wavelength=waves, incidence=incidence, psi=psi, delta=delta, psi_std=none, delta_std=none
    )


@pytest.mark.analytic
def test_an_invented_map_comes_back():
    # 60 nm at the centre, 6 nm less at the rim: the bowl is −6 nm.
    places = [(x * MM, y * MM) for x in (-30, 0, 30) for y in (-30, 0, 30)]
    thickness = [60 * NM - 6 * NM * (math.hypot(x, y) / RADIUS) ** 2 for x, y in places]
    before = [invented(x, y, 0.0, (55, 62, 68)) for x, y in places]
    after = [invented(x, y, d, (52, 58, 64)) for (x, y), d in zip(places, thickness, strict=True)]
    found = grown_film(
        before, [*after, invented(1.0, 1.0, 10 * NM, (52,))], model(np.array([658 * NM])), RADIUS
    )
    assert sorted(found.thickness) == pytest.approx(sorted(thickness), abs=0.02 * NM)
    assert found.under == pytest.approx(2 * NM, abs=0.01 * NM)
    assert found.index == pytest.approx(1.53, abs=1e-3)
    assert found.fit.bowl == pytest.approx(-6 * NM, abs=0.05 * NM)
    assert found.fit.centre == pytest.approx(60 * NM, abs=0.05 * NM)
    assert any("measured once only" in note for note in found.notes)
    with pytest.raises(ValueError, match="five places"):
        grown_film(before[:3], after, model(np.array([658 * NM])), RADIUS)


@pytest.fixture(scope="module")
def measured() -> GrownFilm:
    """The measured maps of a wafer before and after a film was grown."""
    if not DATA.is_dir():
        pytest.skip(f"measured maps are not at {DATA}")
    before, after = (read_angles(DATA / f"map_{name}.dat") for name in ("before", "after"))
    return grown_film(before, after, model(before[0].wavelength), RADIUS)


@pytest.mark.reference
def test_a_place_of_the_measured_map_as_two_libraries_fit_it(measured: GrownFilm):
    # tmm 0.2.0 predicts ψ and Δ of the same model, scipy fits thickness and index (reference). 0.3 nm and 0.002: we
    # share one index over the wafer, the libraries fit the place's own.
    after = read_angles(DATA / "map_after.dat")
    place = 7
    x, y = measured.x[place], measured.y[place]
    angles = next(each for each in after if math.hypot(each.x - x, each.y - y) < MM)
    silicon, oxide = (
        np.conj(optical(name).index(angles.wavelength))[0] for name in ("silicon", "silicon dioxide")
    )
    under = measured.under[place] / NM

    def off(p: np.ndarray) -> np.ndarray:
        thickness = [math.inf, p[0], under, math.inf]
        both = [tmm.ellips([1, p[1], oxide, silicon], thickness, a, 658.0) for a in angles.incidence]
        psi = [each["psi"] for each in both] - angles.psi[:, 0]
        # The library's n + i·k and Δ of −r_p/r_s are our n − i·k and 180° − Δ.
        delta = [math.pi - each["Delta"] for each in both] - angles.delta[:, 0]
        return np.concatenate([psi, np.mod(delta + math.pi, 2 * math.pi) - math.pi])

    told = optimize.least_squares(off, [70.0, 1.5], x_scale=[1.0, 0.01])
    assert measured.thickness[place] / NM == pytest.approx(told.x[0], abs=0.3)
    assert measured.index == pytest.approx(told.x[1], abs=2e-3)


@pytest.mark.golden
def test_the_measured_wafer_at_a_glance(measured: GrownFilm):
    # Ours, read off the maps: no thickness was published with them.
    assert len(measured.thickness) == 32
    assert measured.median / NM == pytest.approx(70.46, abs=0.05)
    assert measured.index == pytest.approx(1.4828, abs=5e-4)
    assert measured.index_spread < 0.002
    assert measured.uniformity.formula == "(max − min) / (2 × mean)"
    assert measured.uniformity.value == pytest.approx(0.132, abs=0.002)
    assert measured.fit.bowl / NM == pytest.approx(-4.7, abs=0.2)
    assert measured.under.mean() / NM == pytest.approx(3.9, abs=0.1)
    assert not measured.notes


@pytest.mark.property
def test_other_orders_of_the_measured_wafer_are_listed_and_unlikely(measured: GrownFilm):
    assert all(len(orders) >= 2 for orders in measured.orders)
    assert max(orders[1].odds for orders in measured.orders) < 1e-6
    assert all(orders[0].reduced_chi2 < 1 for orders in measured.orders)
    assert "one index for the wafer" in measured.model
