"""Pictures, story and sheet of a plan that was really walked."""

import re
import xml.etree.ElementTree as ET

import pytest

from filmwright.emulate import walk
from filmwright.flow import read_flow
from filmwright.knowledge import Lab, Tool, Wait, book
from filmwright.masks import chip, read_drawing, write_drawing
from filmwright.outputs import (
    Lot,
    final_plan_svg,
    final_section_svg,
    legend_of,
    run_sheet_of,
    run_sheet_pdf,
    step_pictures,
    story_html,
    story_of,
)

PLAN = """
flow: A gate <and> no more
invented: yes
wafer:
  body: silicon
  diameter: 100 mm
  films:
    - {material: silicon dioxide, thickness: 300 nm}
masks:
  drawing: humidity-switch.oas
  gate: {layer: 1/0, drawn: opaque}
cuts:
  along the channel: {through: T01}
steps:
  - deposit: titanium
    method: electron-beam evaporation
    thickness: 60 nm
  - pattern: gate
    resist: positive 1.3 um
  - etch: titanium
    in: dilute hydrogen peroxide and ammonia
    until: end point + 25 %
  - strip: resist
    in: dimethyl sulfoxide stripper
"""


@pytest.fixture(scope="module")
def trace(tmp_path_factory):
    folder = tmp_path_factory.mktemp("plan")
    (folder / "plan.yaml").write_text(PLAN, encoding="utf-8")
    write_drawing(chip("humidity-switch"), folder / "humidity-switch.oas")
    wait = Wait(after="develop", before="etch", longest=7200.0, why="the foot of the resist creeps")
    lab = Lab(name="a lab", tools={"bench 3": Tool(name="bench 3", does=("etch",))}, waits=(wait,))
    flow = read_flow(folder / "plan.yaml", lab)
    return walk(flow, lab, book(), read_drawing(folder / "humidity-switch.oas"), on="2026-11-25")


@pytest.fixture(scope="module")
def signs():
    return legend_of(book().materials)


@pytest.mark.property
def test_formulas_are_typeset(signs):
    assert signs.symbols["silicon dioxide"] == "SiO₂"
    assert signs.kinds["titanium"] == "conductor"


@pytest.mark.whole
def test_every_step_has_a_section_and_a_plan_and_ids_are_its_own(trace, signs):
    pictures = step_pictures(trace, signs)
    assert [p.number for p in pictures] == [s.step.number for s in trace.states]
    distinct = {p.section for p in pictures} | {p.plan for p in pictures}
    seen: set[str] = set()
    for picture in distinct:
        root = ET.fromstring(picture)
        own = {node.get("id") for node in root.iter() if node.get("id")}
        assert not own & seen
        seen |= own
        assert "along the channel" in picture or "data-cut" in picture


@pytest.mark.whole
def test_a_step_that_changes_nothing_shows_a_calm_picture(trace, signs):
    by_kind = {s.step.kind: p for s, p in zip(trace.states, step_pictures(trace, signs), strict=True)}
    assert "Unchanged along this cut" in by_kind["bake"].section
    assert "data-new" not in by_kind["bake"].section
    assert "data-new" in by_kind["deposit"].section
    assert "data-ghost" in by_kind["etch"].section


@pytest.mark.whole
def test_the_undercut_of_the_gate_is_called_out(trace, signs):
    (etched,) = [
        p.section
        for s, p in zip(trace.states, step_pictures(trace, signs), strict=True)
        if s.step.kind == "etch"
    ]
    assert re.search(r"Ti undercut: [\d.]+ nm at its top", etched)


@pytest.mark.whole
def test_the_finished_wafer_shows_the_gate_and_says_invented(trace, signs):
    section, plan = final_section_svg(trace, signs), final_plan_svg(trace, signs)
    assert "60 nm" in section
    assert "invented example" in section
    assert ">Ti<" in plan
    ET.fromstring(plan)


@pytest.mark.whole
def test_the_story_tells_every_step_with_its_settings(trace, signs):
    page = story_html(story_of(trace, (), signs))
    assert "A gate &lt;and&gt; no more" in page
    for state in trace.states:
        assert state.step.code in page
    assert "invented example" in page


@pytest.mark.whole
def test_the_sheet_has_every_step_its_end_point_boxes_and_the_wait(trace, signs):
    sheet = run_sheet_of(trace, (), Lot(name="L-1", wafers=("W1",)), signs)
    assert [step.code for step in sheet.steps] == [state.step.code for state in trace.states]
    etch = next(s for s, state in zip(sheet.steps, trace.states, strict=True) if state.step.kind == "etch")
    develop = next(
        s for s, state in zip(sheet.steps, trace.states, strict=True) if state.step.kind == "develop"
    )
    assert any(setting.extra == 0.25 for setting in etch.settings)
    assert develop.wait.startswith(f"{etch.code} within 2 h")
    assert etch.before.startswith("<svg")
    assert "data-ghost" in etch.after
    assert sheet.invented
    assert run_sheet_pdf(sheet).startswith(b"%PDF")
