"""A plan reviewed while it is written says what the command line says, at the same lines."""

from concurrent.futures import Future

import pytest

from filmwright import desk
from filmwright.desk.bench.completion import complete_plan
from filmwright.desk.bench.live_review import LiveReview
from filmwright.desk.bench.live_work import reviewed
from filmwright.desk.bench.surroundings import Surroundings
from filmwright.errors import BadInput

pytestmark = pytest.mark.whole


@pytest.fixture(scope="module")
def example(tmp_path_factory):
    """The example as a person starts it."""
    folder = tmp_path_factory.mktemp("example")
    desk.new(folder)
    return folder / "plan.yaml"


def at_once(function, job):
    """In this process: the answer is the same, and a test need not wait for another one to start."""
    done = Future()
    done.set_result(function(job))
    return done


def around(plan):
    """What lies around a plan."""
    return Surroundings.of_plan(plan, plan.name)


def test_findings_are_those_of_the_review_at_their_lines(example):
    text = example.read_text()
    live = LiveReview(at_once).review(text, around(example), writer="a", pictures=True)
    wanted = desk.review(example).findings
    found = {(mark.weight, mark.line, mark.said) for mark in live.marks}
    assert found == {(f.severity, f.line, f"{f.what} must be {f.expected}, got {f.got}") for f in wanted}
    assert live.stage == "whole"
    assert [mark.number for mark in live.marks] == list(range(1, len(wanted) + 1))


def test_steps_settings_pictures_and_the_day_come_with_it(example):
    reviewer = LiveReview(at_once)
    live = reviewer.review(example.read_text(), around(example), writer="a", pictures=True)
    told = desk.settings(example).steps
    assert [(step.number, step.code, step.line) for step in live.steps] == [
        (step.number, step.code, step.line) for step in told
    ]
    assert [len(step.settings) for step in live.steps] == [len(step.settings) for step in told]
    assert all(reviewer.picture(step.section).startswith("<svg") for step in live.steps)
    assert len(live.day) == len(live.steps)
    assert reviewer.picture("0" * 64) is None


def test_all_mistakes_are_told_at_once_at_their_lines_as_the_command_line_tells_them(example, tmp_path):
    text = (
        example.read_text()
        .replace("- deposit: titanium", "- deposit: titanum", 1)
        .replace("60 nm ±", "60 mTor ±")
    )
    live = LiveReview(at_once).read(text, around(example))
    wrong = example.with_name("wrong.yaml")
    wrong.write_text(text)
    with pytest.raises(BadInput) as told:
        desk.review(wrong)
    assert [(m.line, m.what, m.remedy) for m in live.marks] == [
        (p.line, p.what, p.remedy) for p in told.value.problems
    ]
    assert live.counts["error"] == 2


def test_an_empty_text_and_one_that_is_no_yaml_are_answered(example):
    for text in ("", "steps: [", "\t", "a: b: c", "- x", "&a [*a]", "\x07"):
        live = LiveReview(at_once).read(text, around(example))
        assert live.marks, text
        assert live.marks[0].weight == "error"


def test_a_drawing_is_read_beside_the_plan_only(example):
    text = example.read_text().replace("drawing: humidity-switch.oas", "drawing: ../../etc/passwd")
    live = LiveReview(at_once).read(text, around(example))
    assert [mark.what for mark in live.marks] == ["the drawing of the masks"]


def test_a_newer_text_takes_the_place_of_one_that_waits(example):
    """The first job waits for ever; the second of the same writer cancels it, that of another writer does not."""
    waiting = []

    def later(function, job):
        waiting.append(Future())
        return waiting[-1]

    reviewer = LiveReview(later)
    import threading

    said = {}
    text = example.read_text()

    def ask(name, writer, more):
        said[name] = reviewer.review(text + more, around(example), writer=writer)

    threads = []
    for name, writer, more in (("other", "b", ""), ("old", "a", "#1\n"), ("new", "a", "#2\n")):
        threads.append(threading.Thread(target=ask, args=(name, writer, more)))
        threads[-1].start()
        while len(waiting) < len(threads):
            pass
    threads[1].join()
    assert said["old"].overtaken
    from filmwright.desk.bench.live_work import Job

    job = Job(text=text, around=around(example), pictures=False, start="2026-11-26T09:00:00")
    for future in (waiting[0], waiting[2]):
        future.set_result(reviewed(job))
    threads[0].join()
    threads[2].join()
    assert not said["new"].overtaken
    assert not said["other"].overtaken


def test_a_process_of_its_own_gives_the_same_answer(example):
    reviewer = LiveReview()
    try:
        text = example.read_text()
        live = reviewer.review(text, around(example), writer="a")
        assert live.stage == "rules"
        assert live.marks == LiveReview(at_once).review(text, around(example), writer="a").marks
    finally:
        reviewer.close()


def test_devices_of_the_drawing_are_offered_for_a_cut(example):
    text = example.read_text()
    line = next(k for k, each in enumerate(text.splitlines(), 1) if "through: T01" in each)
    column = text.splitlines()[line - 1].index("T01") + 2
    found = complete_plan(text, line, column, around(example))
    assert "T02" in [each.text for each in found.offers]
