"""A short run from the plan to its last step, by taps alone; ``tools/proof/whole_run.py`` goes through the whole example."""

from __future__ import annotations

import importlib.util
import sys
from dataclasses import replace
from pathlib import Path

import pytest

from filmwright.desk.bench import Bench
from filmwright.web import Settings

from .conftest import served

pytestmark = pytest.mark.whole

PLAN = """\
flow: A film with a step
invented: yes
wafer: {body: silicon, diameter: 100 mm}
steps:
  - clean: solvent clean
  - deposit: titanium
    method: electron-beam evaporation
    thickness: 60 nm
    hold: the film shines all over
  - anneal: nitrogen
    temperature: 350 degC
    time: 30 min
  - etch: titanium
    in: dilute hydrofluoric acid
    time: 20 s
  - measure: step height
    of: titanium
"""


@pytest.fixture(scope="module")
def proof():
    """The proof itself, a program beside the tests."""
    place = Path(__file__).parents[2] / "tools" / "proof" / "whole_run.py"
    spec = importlib.util.spec_from_file_location("whole_run", place)
    module = sys.modules["whole_run"] = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return module


@pytest.mark.parametrize("look", ["paper", "amber"])
def test_a_run_by_taps_is_in_the_record_once_and_in_order(chromium, tmp_path, proof, look):
    (tmp_path / "plans" / "small").mkdir(parents=True)
    (tmp_path / "plans" / "small" / "plan.yaml").write_text(PLAN)
    script = proof.Script(
        rework="02A", split="03A", offline=("04A",), skip="05A", photo="02A", conflict="01A", slip="03A"
    )
    if look == "amber":
        script = replace(script, conflict="", offline=("01A",))
    with (
        Bench.open(tmp_path / "record.sqlite", create=True, plans=tmp_path / "plans") as bench,
        served(bench, Settings(plans=bench.plans)) as at,
    ):
        hand = proof.run(bench, at, chromium, look, script=script)
        assert proof.wrong_in(bench, hand.lot, script) == []
        assert proof.wrong_in(bench, hand.lot, replace(script, skip="01A")), "what is missing is found"
        assert bench.progress(hand.lot).finished
        assert proof.too_many(hand) == []
