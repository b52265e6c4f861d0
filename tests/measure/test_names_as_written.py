"""Names as benches write them: biases with a suffix, sizes with their unit behind, and heights in ångström."""

from pathlib import Path

import numpy as np
import pytest

from filmwright import desk
from filmwright.measure import read_table
from filmwright.units import to_si

GATE = np.linspace(-2.0, 8.0, 41)


def wide(tmp_path: Path, *names: str) -> Path:
    over = np.maximum(GATE - 1.0, 0.0)
    rows = [f"{v:.3f};" + ";".join(f"{k * 1e-7 * o + 1e-12:.6e}" for k in range(1, 1 + len(names)))
            for v, o in zip(GATE, over, strict=True)]  # fmt: skip
    path = tmp_path / "wide.csv"
    path.write_text("Vg;" + ";".join(names) + "\n" + "\n".join(rows) + "\n", "utf-8")
    return path


@pytest.mark.property
def test_a_bias_in_a_name_may_carry_a_suffix(tmp_path: Path):
    found = read_table(wide(tmp_path, "Id(Vd=100m)", "Id(Vd=1)", "Id (VDS = 2500 mV)"))
    assert [each.drain_voltage for each in found.sweeps] == pytest.approx([0.1, 1.0, 2.5])
    for number, sweep in enumerate(found.sweeps, 1):
        # The column that the name stands above, and no other.
        assert sweep.drain_current[-1] == pytest.approx(number * 7e-7, rel=1e-5)


@pytest.mark.property
def test_a_current_that_is_not_understood_is_named(tmp_path: Path):
    found = read_table(wide(tmp_path, "Id(low bias)", "Id(Vd=1)"))
    assert len(found.sweeps) == 1
    assert any('"Id(low bias)"' in warning and "--read-as" in warning for warning in found.warnings)


@pytest.mark.property
@pytest.mark.parametrize("names", ["W_um,L_um", "W (um),L (um)", "width_um,length_um", "W [µm],L [µm]"])
def test_sizes_stand_in_columns_and_an_option_that_differs_is_told(tmp_path: Path, names: str):
    rows = [
        f"T{at},{w},{length},{v:.3f},0.1,{w / length * 1e-8 * max(v - 1, 0) + 1e-12:.6e}"
        for at, (w, length) in enumerate(((100, 10), (50, 5)))
        for v in GATE
    ]
    path = tmp_path / "sizes.csv"
    path.write_text(f"Device,{names},VG (V),VD (V),ID (A)\n" + "\n".join(rows) + "\n", "utf-8")
    sweeps = read_table(path).sweeps
    assert [(each.width, each.length) for each in sweeps] == [
        (pytest.approx(to_si(100, "um")), pytest.approx(to_si(10, "um"))),
        (pytest.approx(to_si(50, "um")), pytest.approx(to_si(5, "um"))),
    ]
    said = " ".join(desk.extract([path], length="10 um").noticed)
    assert "T1: two values of length" in said
    assert "T0" not in said


@pytest.mark.property
def test_an_off_current_written_as_zero_bounds_the_ratio(tmp_path: Path):
    rows = [f"{v:.3f},0.1,{max(v - 1, 0) * 1e-6:.9f}" for v in GATE]
    path = tmp_path / "zero.csv"
    path.write_text("VG (V),VD (V),ID (A)\n" + "\n".join(rows) + "\n", "utf-8")
    ratio = desk.extract([path]).results[0].parameters["on_off_ratio"]
    # The smallest current that the table holds is 250 nA, the largest 7 µA: nothing says that it is more than 28.
    assert ratio.bound == "at least"
    assert ratio.value == pytest.approx(28, rel=0.01)
    assert not ratio.valid


@pytest.mark.property
@pytest.mark.parametrize(
    ("head", "scale"), [("X (um),Z (A)", 10.0), ("X (um),Z (nm)", 1.0), ("Weg [µm],Höhe [nm]", 1.0)]
)
def test_a_height_in_a_is_in_angstrom(tmp_path: Path, head: str, scale: float):
    noise = np.random.default_rng(3).standard_normal(201)
    x = np.linspace(0, 1000, 201)
    z = scale * (np.where((x > 350) & (x < 650), 120.0, 0.0) + noise)
    path = tmp_path / "trace.csv"
    path.write_text(
        head + "\n" + "\n".join(f"{a:.1f},{b:.4f}" for a, b in zip(x, z, strict=True)) + "\n", "utf-8"
    )
    step = desk.step_height([path]).parts[0].parameters["step height"]
    assert step.value == pytest.approx(to_si(120, "nm"), rel=0.01)


@pytest.mark.property
def test_a_line_below_zero_at_no_length_gives_no_transfer_length(tmp_path: Path):
    noise = np.random.default_rng(5)
    rows = [
        f"{gap},100,{0.5 * (gap - 1.5) + 0.02 * noise.standard_normal():.4f}" for gap in (5, 10, 20, 40, 80)
    ]
    path = tmp_path / "gaps.csv"
    path.write_text("L (um),W (um),R (ohm)\n" + "\n".join(rows) + "\n", "utf-8")
    part = desk.lengths([path]).parts[0]
    assert part.parameters["transfer_length"].value is None
    assert "below zero" in part.parameters["transfer_length"].why_not
    assert part.parameters["sheet_resistance"].value == pytest.approx(50.0, rel=0.01)
    assert not any("share of the contacts" in each for each in part.said)
