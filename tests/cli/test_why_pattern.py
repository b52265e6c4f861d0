"""What follows from exposures and developments, as a person asks for it."""

import pytest


def told(filmwright, folder, step):
    said = filmwright("why", str(folder / "plan.yaml"), "--step", step, "--json")
    assert said.code == 0, said.err
    return {each["name"]: each for each in said.fields["steps"][0]["follows"]}


@pytest.mark.whole
def test_an_exposure_tells_resolution_latitude_bleaching_overlay_and_swing(filmwright, switch):
    found = told(filmwright, switch, "16F")
    # 3/2·√(0.436 µm · (g + d/2)), d the 1.7 µm or so of the two-layer resist
    gap = found["gap"]["result"]
    assert found["finest line"]["result"] == pytest.approx(
        1.5 * (0.4358 * (gap + _resist(found) / 2)) ** 0.5, rel=1e-3
    )
    # A bead of twice the film, half a micrometre of dust, and a hundredth of a bow of some micrometres.
    assert gap == pytest.approx(_resist(found) + 0.5, abs=0.3)
    assert found["overlay to gate"]["result"] == pytest.approx(0.5)
    # channel and contact are both aligned to the gate: √2 of one alignment
    assert found["overlay to channel"]["result"] == pytest.approx(0.5 * 2**0.5)
    plain = told(filmwright, switch, "03F")
    assert 0 < plain["compound left at the bottom"]["result"] < 100
    assert 1 < plain["swing of the dose"]["result"] < 100


def _resist(found):
    return next(each["value"] for each in found["finest line"]["inputs"] if each["symbol"] == "d")


@pytest.mark.whole
def test_a_level_that_is_aligned_to_another_one(filmwright, switch):
    plan = switch / "plan.yaml"
    text = plan.read_text("utf-8")
    plan.write_text(
        text.replace("  - pattern: contact\n", "  - pattern: contact\n    align to: channel\n"), "utf-8"
    )
    found = told(filmwright, switch, "16F")
    assert found["overlay to channel"]["result"] == pytest.approx(0.5)
    assert found["overlay to gate"]["result"] == pytest.approx(0.5 * 2**0.5)
    plan.write_text(
        text.replace("  - pattern: contact\n", "  - pattern: contact\n    align to: cannel\n"), "utf-8"
    )
    said = filmwright("review", str(plan))
    assert said.code == 2
    assert "align to" in said.err
    assert "channel" in said.err


@pytest.mark.whole
def test_the_spin_curve_goes_through_the_points_of_the_lab_and_the_plate_is_set_past_the_wafer(
    filmwright, switch
):
    lab = switch / "lab.yaml"
    lines = lab.read_text("utf-8").splitlines(keepends=True)
    text = "".join(line for line in lines if "hot-plate offset" not in line)
    first = next(line for line in text.splitlines() if "resist thickness" in line)
    second = first.replace("1.32 um", "1.55 um").replace("4000 rpm", "2900 rpm")
    offset = "  - {tool: hot plate, hot-plate offset: -4 kelvin ± 1 kelvin, date: 2026-01-05}"
    lab.write_text(text.replace(first, "\n".join((first, second, offset))), "utf-8")
    plan = str(switch / "plan.yaml")
    settings = filmwright("why", plan, "--step", "03D", "--json").fields["steps"][0]["settings"]
    coat = next(each for each in settings if each["name"] == "spin speed")
    # Two points 0.322 apart in ln ω and 0.161 in ln d: n is 0.5, and 1.3 µm lies beyond both of them.
    assert next(each["value"] for each in coat["inputs"] if each["symbol"] == "n") == pytest.approx(
        0.5, abs=0.01
    )
    assert coat["result"] == pytest.approx(4000 * (1.32 / 1.3) ** 2, rel=0.02)
    assert any("extrapolated" in note for note in coat["notes"])
    bake = filmwright("why", plan, "--step", "03E", "--json").fields["steps"][0]["settings"]
    found = {each["name"]: each["result"] for each in bake}
    assert found["plate set to"] == pytest.approx(found["temperature"] + 4)
    lab.write_text(text.replace(first, "\n".join((first, offset.replace("kelvin ±", "degC ±")))), "utf-8")
    said = filmwright("review", plan)
    assert said.code == 2
    assert "difference in kelvin" in said.err


@pytest.mark.whole
def test_a_development_tells_time_to_clear_and_dark_loss(filmwright, switch):
    found = told(filmwright, switch, "03H")
    assert found["dark loss"]["result"] == pytest.approx(8.0)
    low, high = found["time to clear"]["band"]
    # The usual dose clears in the usual time, within the wide band of remembered constants.
    assert low < 60 < high
