"""A die of many cells seen from above: any window, each cell drawn once."""

import re

import pytest

from filmwright.knowledge import book
from filmwright.masks import Drawing, drawing_of, many_transistors
from filmwright.numerics import repeats
from filmwright.outputs.plan_view import PlanPicture, plan_svg
from filmwright.outputs.views import legend_of, plan_patches
from filmwright.wafer import MARGIN_NM, Clear, Coat, EtchRate, Grow, Plan, Print, Remove

UM, NM = 1e-6, 1e-9
COUNT = 5000


@pytest.fixture(scope="module")
def drawing() -> Drawing:
    return drawing_of(many_transistors(COUNT))


@pytest.fixture(scope="module")
def plan(drawing: Drawing) -> Plan:
    """Gate metal where the first mask has it."""
    gate = drawing.region((1, 0))
    found = repeats([drawing.region((level, 0)) for level in (1, 2, 4)], drawing.die, MARGIN_NM)
    plan = Plan.start(drawing.die, ("silicon", 525 * UM), [("silicon dioxide", 300 * NM)], found)
    for action in (
        Grow(material="titanium", film="gate", thickness=60 * NM, line_of_sight=True, side_wall=0.0),
        Coat(material="positive resist 1.3 um", film="r", thickness=1.3 * UM, levelling=20 * UM),
        Print(material="positive resist 1.3 um", keep=gate),
        Remove(rates={"titanium": EtchRate(down=NM, sideways=0.0)}, time=70),
        Clear(materials=frozenset({"positive resist 1.3 um"})),
    ):
        plan, _ = plan.apply(action)
    return plan


def drawn(plan: Plan, window: tuple[float, float, float, float]) -> str:
    legend = legend_of(book().materials)
    patches = plan_patches(plan, legend, window)
    return plan_svg(PlanPicture(patches=patches, kinds=legend.kinds, symbols=legend.symbols, window=window))


@pytest.mark.analytic
def test_the_whole_die_draws_a_cell_once_and_refers_to_it(plan: Plan) -> None:
    picture = drawn(plan, plan.die.bounds)
    assert picture.count("<use ") == COUNT
    assert picture.count("<path ") < 20
    assert len(picture) < 2e6
    assert re.search(r"what is smaller than [\d.]+ [µm]+ is left out", picture)


@pytest.mark.analytic
def test_a_window_draws_what_lies_in_it_and_no_more(plan: Plan, drawing: Drawing) -> None:
    x0, y0, _, _ = plan.die.bounds
    window = (x0 + 50_000, y0 + 50_000, x0 + 1_050_000, y0 + 890_000)
    picture = drawn(plan, window)
    assert "<use " not in picture
    assert len(picture) < 2e5
    areas = {
        patch.material: patch.shape.area for patch in plan_patches(plan, legend_of(book().materials), window)
    }
    # Two columns by two rows of cells lie in it whole.
    assert areas["titanium"] == pytest.approx(4 * drawing.region((1, 0)).area / COUNT, rel=1e-9)
    assert sum(areas.values()) == pytest.approx(1_000_000 * 840_000, rel=1e-9)
