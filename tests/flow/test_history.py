"""Ways through a plan: rework, repeats, skips, extra steps and variants, each visit with its own values."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from filmwright.errors import BadInput
from filmwright.flow import Done, as_run, flow_from_text, lived, steps_from_text
from filmwright.knowledge import Lab

STEPS = (
    "clean: solvent clean",
    "clean: acetone",
    "park: overnight",
    "clean: solvent clean",
    "clean: acetone",
)
LAB = Lab(name="none")


def plan(*steps):
    """A flow without masks."""
    text = (
        "flow: five steps\nwafer: {body: silicon, diameter: 100 mm}\nsteps:\n"
        + "\n".join(f"- {{{step}}}" for step in steps)
        + "\n"
    )
    return flow_from_text(text, "plan.yaml", LAB)


FLOW = plan(*STEPS)
NUMBERS = [step.number for step in FLOW.steps]


def said(text):
    """Entries from words such as ``start 1.1``, ``set 1.1 time 40``."""
    found = []
    for words in (part.split() for part in text.split(",")):
        what, step, *more = words
        value = float(more[1]) if len(more) > 1 else None
        found.append(Done(step=step, what=what, name=more[0] if more else "", value=value))
    return found


def order(record):
    """Numbers of the visits, each with which time it is."""
    return [(step.number, step.visit) for step in as_run(FLOW, record).steps]


@pytest.mark.analytic
def test_rework_goes_back_and_forward_again_and_each_visit_keeps_its_own_values():
    record = said(
        "set 1.1 time 10, set 2.1 time 20, set 3.1 time 30, rework 2.1, set 2.1 time 21, set 3.1 time 31, start 4.1"
    )
    flow = as_run(FLOW, record)
    assert [(s.number, s.visit, dict(s.done)) for s in flow.steps] == [
        ("1.1", 1, {"time": 10.0}),
        ("2.1", 1, {"time": 20.0}),
        ("3.1", 1, {"time": 30.0}),
        ("2.1", 2, {"time": 21.0}),
        ("3.1", 2, {"time": 31.0}),
        ("4.1", 1, {}),
    ]
    assert len({step.told for step in flow.steps}) == 6


@pytest.mark.analytic
def test_going_back_makes_the_steps_from_there_the_next_ones():
    life = lived(FLOW, said("start 1.1, start 2.1, start 3.1, rework 2.1"))
    assert [step.number for step in life.flow.steps[: life.done]] == ["1.1", "2.1", "3.1"]
    assert [(step.number, step.visit) for step in life.flow.steps[life.done :]] == [
        ("2.1", 2), ("3.1", 2), ("4.1", 1), ("5.1", 1),
    ]  # fmt: skip


@pytest.mark.analytic
def test_of_rework_a_step_that_nobody_wrote_down_counts_as_done_when_a_later_one_was_begun():
    life = lived(FLOW, said("start 3.1, rework 1.1, start 3.1"))
    assert [(step.number, step.visit) for step in life.history.steps] == [
        ("1.1", 1), ("2.1", 1), ("3.1", 1), ("1.1", 2), ("2.1", 2), ("3.1", 2),
    ]  # fmt: skip
    assert life.untold == {0, 1, 3, 4}


@pytest.mark.analytic
def test_a_repeat_does_one_step_again_and_nothing_between():
    assert order(said("start 1.1, start 2.1, start 3.1, repeat 2.1, start 4.1")) == [
        ("1.1", 1), ("2.1", 1), ("3.1", 1), ("2.1", 2), ("4.1", 1),
    ]  # fmt: skip
    # A step that was finished and is begun again was done again, whatever it was called.
    assert order(said("start 2.1, finish 2.1, start 2.1")) == [("1.1", 1), ("2.1", 1), ("2.1", 2)]
    # Two people who begin the same step begin it once.
    assert order(said("start 2.1, start 2.1, finish 2.1")) == [("1.1", 1), ("2.1", 1)]


@pytest.mark.analytic
def test_what_was_skipped_stays_skipped_through_a_repeat_and_comes_back_when_it_is_done():
    assert order(said("start 1.1, skip 3.1, repeat 1.1, start 4.1")) == [
        ("1.1", 1), ("1.1", 2), ("2.1", 1), ("4.1", 1),
    ]  # fmt: skip
    assert order(said("skip 1.1, start 2.1, start 1.1")) == [("1.1", 1), ("2.1", 1)]


@pytest.mark.analytic
def test_an_extra_step_is_walked_where_it_was_done_and_hears_what_was_read_in_it():
    record = [
        *said("start 1.1, start 2.1"),
        Done(step="2.1", what="extra", text="clean: acetone"),
        Done(step="2.1.1", what="set", name="time", value=77.0),
        *said("start 3.1"),
    ]
    steps = as_run(FLOW, record, LAB).steps
    assert [step.number for step in steps] == ["1.1", "2.1", "2.1.1", "3.1"]
    assert (steps[2].kind, steps[2].medium, steps[2].done) == ("clean", "acetone", {"time": 77.0})
    assert steps[2].code.startswith(steps[1].code)


@pytest.mark.analytic
def test_an_extra_step_in_free_words_is_told_as_not_followed():
    life = lived(FLOW, [*said("start 1.1"), Done(step="1.1", what="extra", text="blew a crumb off")])
    assert [step.number for step in life.history.steps] == ["1.1"]
    (problem,) = life.problems
    assert "blew a crumb off" in problem


@pytest.mark.analytic
def test_plan_text_of_an_extra_step_may_be_several_lines_or_several_steps():
    one = steps_from_text("clean: acetone\nbecause: a fingerprint", FLOW, LAB)
    two = steps_from_text("- clean: acetone\n- {clean: solvent clean}", FLOW, LAB)
    assert [step.because for step in one] == ["a fingerprint"]
    assert [step.medium for step in two] == ["acetone", "solvent clean"]
    with pytest.raises(BadInput, match="nothing is known"):
        steps_from_text("polish: acetone", FLOW, LAB)


@pytest.mark.analytic
def test_the_variant_of_a_wafer_stands_where_nothing_was_recorded():
    flow = plan("deposit: gold, method: electron-beam evaporation, thickness: 10 nm", "clean: acetone")
    split = Done(step="1.1", what="split", name="thickness", value=20e-9, unit="nm", text="thick")
    life = lived(flow, [split])
    assert life.done == 0
    assert life.flow.steps[0].asked["thickness"].value == 20e-9
    measured = Done(step="1.1", what="measured", name="thickness", value=22e-9)
    gold = lived(flow, [split, measured]).history.steps[0]
    assert (gold.asked["thickness"].value, gold.measured["thickness"]) == (20e-9, 22e-9)
    assert flow.steps[0].asked["thickness"].value == pytest.approx(10e-9)


WHATS = st.sampled_from(["start", "finish", "set", "skip", "repeat", "rework", "note", "hold"])
RECORDS = st.lists(
    st.builds(
        lambda what, step: Done(step=step, what=what, name="time", value=5.0 if what == "set" else None),
        WHATS,
        st.sampled_from(NUMBERS),
    ),
    max_size=14,
)


@pytest.mark.property
@given(RECORDS)
def test_whatever_is_written_the_history_is_in_order_and_says_each_visit_once(record):
    life = lived(FLOW, record)
    steps = life.flow.steps
    assert len({step.told for step in steps}) == len(steps)
    # Objects are found by what they are: no step stands in two places.
    assert len({id(step) for step in steps}) == len(steps)
    visits = {}
    for step in steps:
        visits[step.number] = visits.get(step.number, 0) + 1
        assert step.visit == visits[step.number]
    ahead = [NUMBERS.index(step.number) for step in steps[life.done :]]
    assert ahead == sorted(set(ahead))
    # What is ahead was not begun since the last going back.
    assert life.history.steps == steps[: life.done]
    assert life.untold <= set(range(life.done))


@pytest.mark.property
@given(RECORDS, st.integers(0, 14), st.sampled_from(NUMBERS))
def test_a_note_tells_nothing_of_what_was_done(record, place, step):
    noted = [*record[:place], Done(step=step, what="note"), *record[place:]]
    assert lived(FLOW, noted) == lived(FLOW, record)
