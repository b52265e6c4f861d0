"""Resist, lamp and bakes, as a person asks for them at other settings than the usual."""

import pytest


def steps(filmwright, folder, step):
    said = filmwright("why", str(folder / "plan.yaml"), "--step", step, "--json")
    assert said.code == 0, said.err
    return said.fields["steps"][0]


def named(step, which):
    return {each["name"]: each for each in step[which]}


def change(path, *pairs):
    text = path.read_text("utf-8")
    for old, new in pairs:
        assert old in text, old
        text = text.replace(old, new, 1)
    path.write_text(text, "utf-8")


def only_the_line(lab):
    """The lab reads its lamp at the i line and at no other."""
    lines = [
        each
        for each in lab.read_text("utf-8").splitlines(keepends=True)
        if "lamp intensity" not in each or "wavelength" not in each
    ]
    lab.write_text("".join(lines), "utf-8")
    change(
        lab, ("lamp intensity: 11.5 mW/cm^2 ± 3 %", "lamp intensity: 11.5 mW/cm^2 ± 3 %, wavelength: 365 nm")
    )


@pytest.mark.whole
def test_a_probe_at_one_line_gives_the_time_by_the_sensitivity_at_each_line(filmwright, switch):
    only_the_line(switch / "lab.yaml")
    found = steps(filmwright, switch, "03F")
    time = named(found, "settings")["time"]
    # Spectrum 0.4, 0.25, 0.35 and C 0.014, 0.018, 0.012 cm²/mJ at g, h, i: the same spectrum gives the same time as one reading
    # of all three lines, 100 mJ/cm² / (11.5 mW/cm² / 0.35).
    assert time["result"] == pytest.approx(100 / (11.5 / 0.35), rel=1e-3)
    assert named(found, "follows")["lamp at the g line"]["result"] == pytest.approx(
        11.5 * 0.4 / 0.35, rel=1e-3
    )


@pytest.mark.whole
def test_readings_at_all_lines_weigh_what_the_resist_takes(filmwright, switch):
    change(
        switch / "lab.yaml",
        ("lamp intensity: 11.5 mW/cm^2 ± 3 %", "lamp intensity: 11.5 mW/cm^2 ± 3 %, wavelength: 365 nm"),
    )
    time = named(steps(filmwright, switch, "03F"), "settings")["time"]
    wanted = 0.4 * 0.014 + 0.25 * 0.018 + 0.35 * 0.012
    given = 3.9 * 0.014 + 4.8 * 0.018 + 11.5 * 0.012
    assert time["result"] == pytest.approx(100 * wanted / given, rel=1e-3)
    assert "(3.9 mW/cm²)" in time["with_numbers"]


@pytest.mark.whole
def test_a_bottle_thickens_the_curve_and_a_hotter_bake_asks_for_more_dose(filmwright, switch):
    change(
        switch / "lab.yaml",
        ("\nwaits:", "\nbottles:\n  - {resist: positive 1.3 um, opened: 2026-01-10, label: B7}\n\nwaits:"),
    )
    change(
        switch / "plan.yaml",
        (
            "  - pattern: gate\n",
            "  - pattern: gate\n    softbake temperature: 120 degC\n    softbake time: 60 s\n    bead removed: yes\n",
        ),
    )
    coat = steps(filmwright, switch, "03D")
    aged = named(coat, "follows")["thickness by the age of the bottle"]
    # 0.05 % a day since the reading of this bottle
    age = next(each["value"] for each in aged["inputs"] if each["symbol"] == "t")
    assert aged["result"] == pytest.approx(1.32 * (1 + 0.0005 * age), rel=1e-4)
    assert named(coat, "follows")["bead at the edge"]["result"] == pytest.approx(1.3)
    bake = named(steps(filmwright, switch, "03E"), "follows")
    # ln k = 35.3 − 30.3 kcal/mol / R·T in 1/min (C. A. Mack, from memory): 3.0 % go in a minute at 120 °C
    assert bake["compound that the bake leaves"]["result"] == pytest.approx(97.0, abs=0.3)
    assert 104 < bake["dose that makes up for the bake"]["result"] < 112
    assert named(steps(filmwright, switch, "03F"), "follows")["gap"]["result"] < 1.0


@pytest.mark.whole
def test_a_gap_of_the_plan_and_a_piece_make_lines_coarser(filmwright, switch):
    contact = named(steps(filmwright, switch, "03F"), "follows")
    change(switch / "plan.yaml", ("  diameter: 100 mm\n", "  diameter: 100 mm\n  shape: piece\n"))
    piece = named(steps(filmwright, switch, "03F"), "follows")
    change(switch / "plan.yaml", ("  - pattern: gate\n", "  - pattern: gate\n    gap: 20 um\n"))
    far = named(steps(filmwright, switch, "03F"), "follows")
    # A bead five times the film on a piece, twice on a wafer: 3 × 1.3 µm more.
    assert piece["gap"]["result"] - contact["gap"]["result"] == pytest.approx(3.9, abs=0.1)
    assert far["gap"]["result"] - piece["gap"]["result"] == pytest.approx(19.5, abs=0.1)
    assert contact["finest line"]["result"] < piece["finest line"]["result"] < far["finest line"]["result"]


@pytest.mark.whole
def test_a_resist_that_needs_a_bake_after_exposure_gets_the_step(filmwright, switch):
    plan = switch / "plan.yaml"
    change(
        plan, ("    resist: lift-off two-layer\n", "    resist: negative lift-off 2 um\n    hard bake: yes\n")
    )
    told = filmwright("settings", str(plan), "--json")
    assert told.code == 0, told.err
    assert "Bake contact resist after exposure" in told.out
    assert "Hard-bake" not in told.out
    change(plan, ("  - pattern: gate\n", "  - pattern: gate\n    hard bake: yes\n"))
    assert "Hard-bake gate resist" in filmwright("settings", str(plan), "--json").out
    change(plan, ("  diameter: 100 mm\n", "  diameter: 100 mm\n  shape: square\n"))
    said = filmwright("review", str(plan))
    assert said.code == 2
    assert "round or piece" in said.err
