"""A current that the instrument held says nothing about the device: what is read is what the free part alone says."""

from __future__ import annotations

import numpy as np
import pytest

from filmwright.measure import Geometry, Sweep, extract, read_table
from filmwright.measure.compliance import without_held

pytestmark = pytest.mark.analytic

GATE = np.round(np.arange(-5.0, 10.01, 0.1), 3)
GEOMETRY = Geometry(width=100e-6, length=10e-6, areal_capacitance=3.45e-4)
BETA, THRESHOLD, DRAIN = 8e-4 * 3.45e-4 * 10.0, 1.6, 1.0


def channel(seed: int = 0) -> np.ndarray:
    """The square law below and above pinch-off, rounded below threshold, with half a percent of noise."""
    charge = [0.12 * np.logaddexp(0.0, (GATE - THRESHOLD - end) / 0.12) for end in (0.0, DRAIN)]
    random = np.random.default_rng(seed)
    clean = BETA * (charge[0] ** 2 - charge[1] ** 2) / 2.0 + 2e-13
    return np.asarray(clean * (1.0 + 0.005 * random.standard_normal(GATE.size)))


def sweep(current: np.ndarray, **more: object) -> Sweep:
    return Sweep(gate_voltage=GATE[: len(current)], drain_current=current, drain_voltage=DRAIN, **more)  # type: ignore[arg-type]


def test_a_held_current_gives_what_the_free_part_gives() -> None:
    current, limit = channel(), 1e-5
    free = int(np.argmax(current >= limit))
    (held,) = extract([sweep(np.minimum(current, limit))], GEOMETRY)
    (short,) = extract([sweep(current[:free])], GEOMETRY)
    for name, parameter in short.parameters.items():
        if name != "on_off_ratio":
            assert held.parameters[name] == parameter, name
    ratio = held.parameters["on_off_ratio"]
    assert (ratio.valid, ratio.bound, ratio.value) == (
        False,
        "at least",
        short.parameters["on_off_ratio"].value,
    )
    assert "1e-05 A" in held.classes["clipped at compliance"]
    assert "clipped at compliance" not in short.classes


@pytest.mark.parametrize("seed", range(20))
def test_what_is_left_of_a_held_curve_tells_the_truth(seed: int) -> None:
    """The tangent meets zero half a drain voltage above the threshold."""
    (held,) = extract([sweep(np.minimum(channel(seed), 1e-5))], GEOMETRY)
    for name, truth in (("threshold_voltage_linear", THRESHOLD + DRAIN / 2.0), ("effective_mobility", 8e-4)):
        found = held.parameters[name]
        assert found.value is not None
        assert found.std is not None
        assert abs(found.value - truth) < 4.0 * found.std, name


def test_the_same_in_p_type_signs_and_measured_backwards() -> None:
    current = np.minimum(channel(), 1e-5)
    plain = without_held(sweep(current))
    turned = without_held(
        Sweep(
            gate_voltage=-GATE[::-1],
            drain_current=-current[::-1],
            gate_current=GATE,
            drain_voltage=-DRAIN,
            rising=False,
        )
    )
    assert plain.held_at == turned.held_at == pytest.approx(1e-5)
    np.testing.assert_array_equal(turned.gate_voltage, -plain.gate_voltage[::-1])
    np.testing.assert_array_equal(turned.drain_current, -plain.drain_current[::-1])
    assert turned.gate_current is not None
    assert turned.gate_current.shape == turned.gate_voltage.shape
    assert plain.left_out is not None
    np.testing.assert_array_equal(np.concatenate([plain.gate_voltage, plain.left_out]), GATE)
    assert without_held(plain) is plain


@pytest.mark.parametrize(
    "current",
    [
        np.full(GATE.size, 1e-6),
        1e-6 * (1.0 - np.exp(-np.maximum(GATE, 0.0))) + 1e-12,
        1e-6 / (1.0 + np.exp(-GATE / 0.3)),
        channel(),
        np.minimum(channel(), 9.99e-1),
        1e-13 * np.round(np.random.default_rng(3).standard_normal(GATE.size)),
    ],
    ids=["level", "filled up", "switched", "free", "limit not reached", "steps of a converter"],
)
def test_what_ends_by_itself_is_not_cut(current: np.ndarray) -> None:
    """Currents that saturate by themselves come to rest slowly; a limit stops them in full rise."""
    whole = sweep(current)
    assert without_held(whole) is whole


def test_points_that_the_instrument_marked_count_as_held(tmp_path) -> None:
    current = channel()
    rows = [
        f"{v},{min(i, 1e-5):.5e},{DRAIN},{'C' if i > 1e-5 else 'N'}"
        for v, i in zip(GATE, current, strict=True)
    ]
    place = tmp_path / "marked.csv"
    place.write_text("VG (V),ID (A),VD (V),compliance\n" + "\n".join(rows) + "\n")
    (read,) = read_table(place).sweeps
    assert read.held_at == pytest.approx(current[current <= 1e-5].max(), rel=1e-4)
    (result,) = extract([read], GEOMETRY)
    assert "clipped at compliance" in result.classes
    assert result.parameters["on_off_ratio"].bound == "at least"
