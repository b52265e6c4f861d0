"""The heat of a flow: every bake counts, ramps where their rates are known, and pairs that lie on one another."""

from collections.abc import Callable
from importlib import resources

import pytest

from filmwright.emulate import HeatLedger, Trace, heat_ledger, with_outlook
from filmwright.knowledge import book
from filmwright.units import convert, to_si

Walked = Callable[..., Trace]
ENERGY = to_si(1, "eV")

PLAN = """flow: copper over oxide
wafer: {body: silicon, diameter: 100 mm, films: [{material: silicon dioxide, thickness: 20 nm}]}
steps:
  - deposit: copper
    method: electron-beam evaporation
    thickness: 100 nm
  - anneal: nitrogen
    temperature: 400 degC
    time: 30 min
  - anneal: nitrogen
    temperature: 350 degC
    time: 60 min
"""


def ledger(trace: Trace) -> HeatLedger:
    return heat_ledger(trace, book(), ENERGY)


def shipped_lab() -> str:
    return resources.files("filmwright.desk").joinpath("examples", "lab.yaml").read_text("utf-8")


@pytest.mark.analytic
def test_every_bake_of_the_example_counts(walked: Walked):
    found = ledger(walked("humidity-switch"))
    kinds = [each.kind for each in found.steps]
    assert kinds.count("bake") == 4
    assert kinds.count("dehydrate") == 4
    assert max(each.peak for each in found.steps) == pytest.approx(to_si(250, "°C"))
    films = {each.film: each for each in found.films}
    # The first titanium saw all of it, the gold only its own evaporation and the anneal
    assert films["titanium (2.1)"].hot > films["gold (18.1)"].hot
    assert len(films["gold (18.1)"].heats) == 2
    assert all("resist" not in each.film for each in found.films)


@pytest.mark.literature
def test_copper_in_oxide_by_hand(walked: Walked):
    # McBrayer and others (1986), from memory: 2.5e-8 cm²/s, 0.93 eV: 2.70e-15 cm²/s at 400 °C and 7.48e-16 at 350 °C (worked),
    # √(2.70e-15 × 1800 + 7.48e-16 × 3600) cm = 27.5 nm
    (copper,) = [each for each in ledger(walked(PLAN)).diffused if each.host == "silicon dioxide"]
    assert convert(copper.length, "nm") == pytest.approx(27.5, rel=0.02)
    assert copper.share == pytest.approx(27.5 / 20, rel=0.02)
    assert copper.step == "3.1"
    assert not copper.outside


@pytest.mark.analytic
def test_ramps_count_where_the_tool_tells_its_rates(walked: Walked):
    slow = shipped_lab().replace(
        "    does: [anneal]\n",
        "    does: [anneal]\n    heating rate: 5 kelvin/min\n    cooling rate: 2.5 kelvin/min\n",
    )
    plain, ramped = ledger(walked(PLAN)), ledger(walked(PLAN, lab=slow))
    first = next(each for each in ramped.steps if each.step == "2.1")
    # (400 − 25) K at 5 and 2.5 K/min
    assert convert(first.up, "min") == pytest.approx(375 / 5, abs=1)
    assert convert(first.down, "min") == pytest.approx(375 / 2.5, abs=2)
    copper = [next(each for each in found.films if each.material == "copper") for found in (plain, ramped)]
    assert copper[1].spent > 1.3 * copper[0].spent


@pytest.mark.analytic
def test_the_anneal_says_what_moved_and_what_it_strains(walked: Walked):
    trace = with_outlook(walked(PLAN), book())
    names = {each.name: each for each in trace.states[2].follows}
    assert "copper in silicon dioxide (as bought, 1)" in names
    # E/(1 − ν)·(α_f − α_s)·(T_0 − T): copper expands more than silicon, so it is pushed while it is hot
    assert names["stress of copper changes while hot by"].value < 0
