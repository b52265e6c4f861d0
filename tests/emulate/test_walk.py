"""The walk: corners, what was measured before what was set before what was asked, what a bath meets, chips that go along."""

from collections.abc import Callable
from importlib import resources

import pytest

from filmwright.emulate import CORNERS, NOMINAL, THICK_SLOW, THIN_FAST, State, Trace
from filmwright.flow import Done
from filmwright.knowledge import book
from filmwright.wafer import Plan

Walked = Callable[..., Trace]
SWITCH, DELAY, THERMOMETER = "humidity-switch", "delay-line", "platinum-thermometer"
LAB = resources.files("filmwright.desk").joinpath("examples", "lab.yaml").read_text("utf-8")


def blanket(*steps: str, films: str = "[{material: silicon dioxide, thickness: 300 nm}]") -> str:
    """A plan without masks."""
    head = f"flow: blanket films\nwafer: {{body: silicon, diameter: 100 mm, films: {films}}}\nsteps:\n"
    return head + "".join(f"  - {each}\n" for each in steps)


TITANIUM = "{deposit: titanium, method: electron-beam evaporation, thickness: 60 nm}"


def state(trace: Trace, number: str) -> State:
    """The state after a step."""
    return next(each for each in trace.states if each.step.number == number)


def thickest(plan: Plan, material: str) -> float:
    """Thickest place of a material [m]."""
    return max((cell.column.thickness(material) for cell in plan.cells), default=0.0)


def taken(each: State, corner: str, material: str) -> float:
    """Largest loss of a material from above [m]."""
    lost = each.losses.get(corner, ())
    return max(
        (loss.taken for loss in lost if loss.material == material and loss.where == "open"), default=0.0
    )


@pytest.mark.analytic
def test_corners_are_two_standard_deviations_thicker_and_thinner(walked: Walked):
    trace = walked(blanket(TITANIUM))
    deposited = trace.states[0]
    assert deposited.thickness_std is not None
    for corner in CORNERS:
        expected = 60e-9 + corner.film * deposited.thickness_std
        assert thickest(trace.corners[corner.name].plan, "titanium") == pytest.approx(expected)
    assert THIN_FAST.film == -2.0
    assert THICK_SLOW.film == 2.0


@pytest.mark.analytic
def test_corners_etch_two_standard_deviations_faster_and_slower(walked: Walked):
    trace = walked(
        blanket(
            TITANIUM,
            "{etch: titanium, in: dilute hydrogen peroxide and ammonia, time: 60 s, tool: acid bench}",
        )
    )
    etched = state(trace, "2.1")
    assert etched.rate is not None
    # 20 nm/min for a minute, nominal; the whole band of the believed rate at the corners.
    for corner in CORNERS:
        expected = (etched.rate.value + corner.rate * etched.rate.std) * 60
        assert taken(etched, corner.name, "titanium") == pytest.approx(expected)
    assert taken(etched, NOMINAL.name, "titanium") == pytest.approx(20e-9, rel=5e-3)


@pytest.mark.property
@pytest.mark.parametrize("example", [SWITCH, DELAY, THERMOMETER])
def test_at_the_fast_corner_a_bath_takes_no_less_from_what_stays(walked: Walked, example: str):
    for each in walked(example).states:
        if each.step.kind not in {"develop", "rinse", "clean"}:
            continue
        for material in {loss.material for loss in each.losses[NOMINAL.name]}:
            slow, typical, fast = (
                taken(each, corner.name, material) for corner in (THICK_SLOW, NOMINAL, THIN_FAST)
            )
            assert slow <= typical + 1e-15
            assert typical <= fast + 1e-15


@pytest.mark.analytic
def test_a_watched_end_point_follows_the_film_at_each_corner(walked: Walked):
    plan = blanket(
        TITANIUM,
        "{etch: titanium, in: dilute hydrogen peroxide and ammonia, until: end point + 25 %, tool: acid bench}",
    )
    trace = walked(plan)
    # What is watched to its end is gone at every corner, however thick and slow.
    assert all(thickest(wafer.plan, "titanium") == 0.0 for wafer in trace.corners.values())


@pytest.mark.analytic
def test_measured_goes_before_set_before_asked(walked: Walked):
    plan = blanket(TITANIUM)
    begun = Done(step="1.1", what="start", happened="2026-10-26T09:00:00+01:00")
    shorter = Done(step="1.1", what="set", name="time", value=300.0)
    seen = Done(step="1.1", what="measured", name="thickness", value=57e-9)
    asked, done, measured = (
        walked(plan, record).states[0] for record in ((begun,), (begun, shorter), (begun, shorter, seen))
    )
    assert asked.thickness == pytest.approx(60e-9)
    # 300 s at 0.10 nm/s.
    assert done.thickness == pytest.approx(30e-9, rel=5e-3)
    assert measured.thickness == 57e-9
    assert measured.thickness_std == 0.0
    assert thickest(measured.wafer.plan, "titanium") == 57e-9


@pytest.mark.analytic
def test_a_bath_that_stood_too_long_took_more(walked: Walked):
    plan = blanket(TITANIUM, "{clean: SC-1, time: 10 s, tool: acid bench}")
    begun = Done(step="1.1", what="start", happened="2026-10-26T09:00:00+01:00")
    record = (begun, Done(step="2.1", what="set", name="time", value=30.0))
    short, long = (taken(state(walked(plan, each), "2.1"), NOMINAL.name, "titanium") for each in ((), record))
    assert long == pytest.approx(3 * short)


@pytest.mark.analytic
def test_a_line_width_that_was_measured_moves_the_edges(walked: Walked):
    flow = walked(SWITCH).flow
    number = next(step.number for step in flow.steps if step.kind == "develop" and step.mask == "contact")
    kinds = [step for step in flow.steps if step.kind == "probe"]
    record = (
        Done(step=number, what="set", name="drawn width", value=5e-6),
        Done(step=number, what="measured", name="line width", value=5.4e-6),
        Done(step=kinds[-1].number, what="start", happened="2026-10-26T09:00:00+01:00"),
    )
    trace = walked(SWITCH, record)
    shortest = min(device.length for device in trace.devices.transistors if device.length)
    # The resist line over the channel is 0.4 µm wider than drawn, and the gap between lifted contacts is the line.
    assert shortest == pytest.approx(5.4e-6, rel=1e-3)


@pytest.mark.property
@pytest.mark.parametrize("example", [SWITCH, DELAY, THERMOMETER])
def test_what_a_bath_meets_is_the_whole_die(walked: Walked, example: str):
    trace = walked(example)
    die = sum(trace.start.plan.exposed().values())
    for each in trace.states:
        if each.exposed:
            assert sum(each.exposed.values()) == pytest.approx(die, rel=1e-6)


@pytest.mark.analytic
def test_a_developer_meets_what_it_has_just_uncovered(walked: Walked):
    trace = walked(SWITCH)
    develop = next(each for each in trace.states if each.step.kind == "develop" and each.step.mask == "gate")
    assert set(develop.exposed) == {"titanium", "positive novolak resist"}
    strip = state(trace, "5.1")
    assert "titanium" not in strip.exposed
    assert "positive novolak resist" in strip.exposed


@pytest.mark.analytic
def test_unknown_is_said_until_the_lab_measures_it(walked: Walked):
    facts = book()
    assert facts.medium("dilute acetic acid").rate("vanadium").verdict == "unknown"
    plan = blanket(
        "{deposit: vanadium, method: direct-current sputtering, thickness: 50 nm, pressure: 5 mTorr}",
        "{etch: zinc oxide, in: dilute acetic acid, time: 10 s, tool: acid bench}",
    )
    assert state(walked(plan), "2.1").unknown == ("vanadium",)
    row = "  - {tool: acid bench, medium: dilute acetic acid, material: vanadium, etch rate: 2 nm/min ± 20 %, date: 2026-10-20, by: owner, evidence: witness}\n"
    known = LAB.replace("\ncalibrations:\n", "\ncalibrations:\n" + row, 1)
    assert state(walked(plan, (), known), "2.1").unknown == ()


@pytest.mark.analytic
def test_a_witness_chip_goes_where_it_is_sent_and_nowhere_else(walked: Walked):
    trace = walked(
        blanket(
            "{deposit: titanium, method: electron-beam evaporation, thickness: 60 nm, witness: [W1]}",
            "{deposit: gold, method: electron-beam evaporation, thickness: 90 nm, witness: [W1, W2]}",
        )
    )
    first, second = trace.final.chip("W1"), trace.final.chip("W2")
    assert first.thickness("titanium") == pytest.approx(60e-9)
    assert first.thickness("gold") == pytest.approx(90e-9)
    assert second.thickness("titanium") == 0.0
    assert second.thickness("gold") == pytest.approx(90e-9)


@pytest.mark.property
@pytest.mark.parametrize("example", [SWITCH, DELAY, THERMOMETER])
def test_a_walk_repeats_itself(walked: Walked, example: str):
    once = walked(example)
    again = walked(example, (), LAB)
    assert [each.settings for each in once.states] == [each.settings for each in again.states]
    assert once.nets.nets == again.nets.nets
    assert once.devices == again.devices
