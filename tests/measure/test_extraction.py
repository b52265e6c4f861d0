"""Each method against its own definition, errors against repetition, and refusals with their reasons."""

from __future__ import annotations

import json
import subprocess
import sys

import numpy as np
import pytest

from filmwright import units
from filmwright.device import TransistorDesign, drain_current
from filmwright.measure import Geometry, Sweep, curve_fields, extract, extract_many

GEOMETRY = Geometry(
    width=units.to_si(100, "um"),
    length=units.to_si(10, "um"),
    areal_capacitance=units.to_si(61.9793, "nF/cm^2"),
)
# φ = 0.025852 V of the check value belongs to this temperature.
TEMPERATURE = 0.025852 * units.ELEMENTARY_CHARGE / units.BOLTZMANN
GATE = np.linspace(-5.0, 20.0, 501)


def design(**changes: object) -> TransistorDesign:
    base: dict[str, object] = {
        "width": GEOMETRY.width,
        "length": GEOMETRY.length,
        "areal_capacitance": GEOMETRY.areal_capacitance,
        "mobility": units.to_si(10, "cm^2/(V*s)"),
        "threshold_voltage": 2.0,
        "ideality": 3.0,
        "attenuation": 0.02,
        "temperature": TEMPERATURE,
        "body_factor": 3.0,
    }
    return TransistorDesign(**(base | changes))  # type: ignore[arg-type]


def sweep(current: np.ndarray, gate: np.ndarray = GATE, drain: float | None = 0.1, **more: object) -> Sweep:
    return Sweep(gate_voltage=gate, drain_current=current, drain_voltage=drain, **more)  # type: ignore[arg-type]


def mobility(value: float | None) -> float:
    assert value is not None
    return units.convert(value, "cm^2/(V*s)")


@pytest.mark.literature
def test_each_method_returns_what_its_definition_says_on_the_smooth_curve() -> None:
    # Worked from the all-region form (from memory, arithmetic recomputed): intercept 2.177 V, constant
    # current 2.3136 V,
    # largest mobility 10.158 cm²/Vs, swing 179.9 mV/decade between 1e-13 and 1e-10 A. Tolerances as stated
    # there: 0.03 V, 1 %, 1 %.
    current = drain_current(design(), GATE, 0.1)
    clipped = np.maximum(current, 1e-13)
    (result,) = extract([sweep(clipped)], GEOMETRY)
    found = result.parameters
    assert found["threshold_voltage_linear"].value == pytest.approx(2.177, abs=0.03)
    assert found["threshold_voltage"].value == found["threshold_voltage_linear"].value
    assert found["threshold_voltage_linear_less_half_drain"].value == pytest.approx(2.127, abs=0.03)
    assert found["threshold_voltage_constant_current"].value == pytest.approx(2.3136, abs=0.001)
    assert mobility(found["field_effect_mobility"].value) == pytest.approx(10.158, rel=0.01)
    assert found["subthreshold_swing"].value == pytest.approx(0.1799, rel=0.01)
    assert all(
        found[name].valid for name in ("threshold_voltage", "field_effect_mobility", "subthreshold_swing")
    )
    assert result.type == "n"
    assert result.direction == "forward"


@pytest.mark.analytic
def test_the_unsmoothed_tangent_is_that_of_central_differences() -> None:
    current = drain_current(design(), GATE, 0.1)
    slope = np.gradient(current, GATE)
    at = np.argmax(slope)
    (result,) = extract([sweep(current)], GEOMETRY)
    assert result.parameters["threshold_voltage_linear"].value == pytest.approx(
        GATE[at] - current[at] / slope[at], abs=1e-6
    )
    assert result.parameters["transconductance_max"].value == pytest.approx(slope.max(), rel=1e-9)


@pytest.mark.analytic
def test_saturation_of_a_thin_film_recovers_mobility_and_threshold() -> None:
    ideal = design(attenuation=0.0, body_factor=1.0, ideality=1.0)
    (result,) = extract([sweep(drain_current(ideal, GATE, 30.0), drain=30.0)], GEOMETRY)
    assert result.parameters["threshold_voltage_saturation"].value == pytest.approx(2.0, abs=1e-3)
    assert mobility(result.parameters["saturation_mobility"].value) == pytest.approx(10.0, rel=1e-3)
    assert (
        result.parameters["threshold_voltage"].value
        == result.parameters["threshold_voltage_saturation"].value
    )
    linear = result.parameters["threshold_voltage_linear"]
    assert not linear.valid
    assert "not linear" in linear.why_not


@pytest.mark.property
@pytest.mark.parametrize("points", [101, 201])
@pytest.mark.parametrize("share", [0.002, 0.005])
@pytest.mark.parametrize(
    "changes", [{}, {"contact_resistance": 1.0, "attenuation": 0.0}, {"attenuation": 0.1}]
)
def test_the_interval_holds_the_truth(points: int, share: float, changes: dict[str, object]) -> None:
    # The truth is the method's own answer without noise. 95 % is aimed at; 600 curves scatter by 1 %.
    gate = np.linspace(-5.0, 10.0, points)
    clean = drain_current(design(**changes), gate, 0.1)
    random = np.random.default_rng(points)
    noisy = clean * (1 + share * random.standard_normal((600, points)))
    noisy += 1e-12 * random.standard_normal(noisy.shape)
    truth = extract_many([sweep(clean, gate)], GEOMETRY)
    repeated = extract_many([sweep(each, gate) for each in noisy], GEOMETRY)
    for name in ("threshold_voltage_linear", "field_effect_mobility"):
        true = truth.values(name)[0][0]
        value, std, _ = repeated.values(name)
        assert 0.90 <= np.mean(np.abs(value - true) <= 1.96 * std) <= 0.995, name


@pytest.mark.property
def test_a_batch_gives_what_single_curves_give() -> None:
    random = np.random.default_rng(3)
    gate = np.linspace(-5, 20, 101)
    clean = drain_current(design(), gate, 0.1)
    sweeps = [sweep(clean * (1 + 0.01 * random.standard_normal(101)), gate) for _ in range(7)]
    together = extract(sweeps, GEOMETRY)
    for one, alone in zip(together, (extract([each], GEOMETRY)[0] for each in sweeps), strict=True):
        for name, parameter in one.parameters.items():
            other = alone.parameters[name]
            assert (parameter.valid, parameter.why_not) == (other.valid, other.why_not)
            assert parameter.value == (None if other.value is None else pytest.approx(other.value, rel=1e-9))


@pytest.mark.property
def test_p_type_is_the_mirror_image() -> None:
    gate = np.linspace(-20, 5, 201)
    n_type = drain_current(design(), -gate[::-1], 0.1)
    mirrored = sweep(-n_type[::-1], gate, drain=-0.1, rising=False)
    (p,), (n,) = extract([mirrored], GEOMETRY), extract([sweep(n_type, -gate[::-1])], GEOMETRY)
    assert (p.type, p.direction) == ("p", "forward")
    for name in ("threshold_voltage", "threshold_voltage_linear_less_half_drain", "onset_voltage"):
        assert p.parameters[name].value == pytest.approx(-(n.parameters[name].value or 0), rel=1e-9)
    assert p.parameters["field_effect_mobility"].value == pytest.approx(
        n.parameters["field_effect_mobility"].value
    )


@pytest.mark.analytic
def test_hysteresis_is_the_shift_between_the_directions() -> None:
    clean = drain_current(design(), GATE, 0.1)
    back = drain_current(design(threshold_voltage=2.5), GATE, 0.1)
    one, two = extract([sweep(clean, pair=0), sweep(back, pair=0, rising=False)], GEOMETRY)
    assert one.parameters["hysteresis"].value == pytest.approx(0.5, abs=0.01)
    assert two.parameters["hysteresis"].value == one.parameters["hysteresis"].value
    (single,) = extract([sweep(clean)], GEOMETRY)
    assert "one direction" in single.parameters["hysteresis"].why_not


@pytest.mark.analytic
def test_what_is_not_known_is_refused_with_the_reason() -> None:
    current = drain_current(design(off_current=1e-12), GATE, 0.1)
    (result,) = extract([sweep(current)])
    for name in ("field_effect_mobility", "saturation_mobility"):
        parameter = result.parameters[name]
        assert (parameter.value, parameter.valid) == (None, False)
        assert "not known: W, L, areal capacitance" in parameter.why_not
    assert "W or L" in result.parameters["threshold_voltage_constant_current"].why_not
    assert "no gate current" in result.parameters["gate_leakage"].why_not
    (unknown,) = extract([sweep(current, drain=None)], GEOMETRY)
    assert "drain voltage is not known" in unknown.parameters["field_effect_mobility"].why_not


@pytest.mark.analytic
def test_a_floor_makes_bounds() -> None:
    random = np.random.default_rng(5)
    current = drain_current(design(), GATE, 0.1) + 2e-9 * random.standard_normal(GATE.size)
    (result,) = extract([sweep(current)], GEOMETRY)
    ratio, swing = result.parameters["on_off_ratio"], result.parameters["subthreshold_swing"]
    assert (ratio.valid, ratio.bound, swing.bound) == (False, "at least", "at most")
    assert ratio.value == pytest.approx(8e-6 / 2e-9, rel=0.6)
    assert "floor-limited" in result.classes


RANDOM = np.random.default_rng(11)
CLEAN = drain_current(design(off_current=1e-12), GATE, 0.1)
CLASSES = {
    "dead": (1e-12 * RANDOM.standard_normal(GATE.size), None),
    "shorted": (1e-3 * (1 + 1e-4 * RANDOM.standard_normal(GATE.size)), None),
    "never off": (CLEAN + 0.05 * CLEAN.max(), None),
    "never on": (drain_current(design(threshold_voltage=19.8), GATE, 0.1) + 1e-13, None),
    "leaky gate": (CLEAN, np.full(GATE.size, 0.3 * CLEAN.max())),
    "clipped at compliance": (np.minimum(CLEAN, 3e-6), None),
    "depletion mode": (drain_current(design(threshold_voltage=-3.0, off_current=1e-12), GATE, 0.1), None),
    "ambipolar": (CLEAN + drain_current(design(threshold_voltage=1.0), -GATE, 0.1), None),
}


@pytest.mark.analytic
@pytest.mark.parametrize("name", CLASSES)
def test_bad_devices_are_classified_with_evidence(name: str) -> None:
    current, leak = CLASSES[name]
    (result,) = extract([sweep(current, gate_current=leak)], GEOMETRY)
    assert name in result.classes
    assert any(warning.startswith(name) for warning in result.warnings)
    if name in ("dead", "leaky gate", "shorted"):
        assert not result.parameters["threshold_voltage"].valid
        assert not result.parameters["field_effect_mobility"].valid


@pytest.mark.analytic
def test_a_sound_device_has_no_class() -> None:
    (result,) = extract([sweep(CLEAN * (1 + 0.002 * RANDOM.standard_normal(GATE.size)))], GEOMETRY)
    assert result.classes == {}


@pytest.mark.analytic
def test_an_ionic_gate_is_refused_a_mobility() -> None:
    (result,) = extract(
        [sweep(CLEAN)], Geometry(width=1e-4, length=1e-5, areal_capacitance=6e-4, gate="ionic")
    )
    assert "ionic" in result.parameters["field_effect_mobility"].why_not
    assert result.parameters["field_effect_mobility"].value is None


@pytest.mark.analytic
def test_json_has_the_unit_beside_every_number() -> None:
    fields = json.loads(json.dumps(curve_fields(extract([sweep(CLEAN)], GEOMETRY)[0]), allow_nan=False))
    assert {"file", "sweep", "drain_voltage", "direction", "type", "parameters", "warnings"} <= set(fields)
    mobility_fields = fields["parameters"]["field_effect_mobility"]
    assert mobility_fields["value"] == pytest.approx(10.2, rel=0.02)
    assert mobility_fields["unit"] == "cm^2/(V*s)"
    assert {"value", "std", "unit", "method", "window", "valid", "why_not"} <= set(mobility_fields)


@pytest.mark.analytic
def test_a_geometry_that_cannot_be_is_refused() -> None:
    with pytest.raises(ValueError, match="width"):
        Geometry(width=0.0)
    with pytest.raises(ValueError, match="one geometry for each sweep"):
        extract_many([sweep(CLEAN)], [])
    with pytest.raises(ValueError, match="rise"):
        sweep(CLEAN, GATE[::-1])


@pytest.mark.property
def test_the_front_door_is_light() -> None:
    heavy = {"scipy.optimize", "scipy.signal", "scipy.special", "python_calamine"}
    code = f"import sys, filmwright.measure; sys.exit(bool({heavy} & set(sys.modules)))"
    assert subprocess.run([sys.executable, "-c", code], check=False).returncode == 0
