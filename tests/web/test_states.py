"""Lots in every state that a lot can be in, on every page that shows one."""

from __future__ import annotations

import uuid

import pytest

from filmwright.desk.bench import start_lot
from filmwright.record import Event
from filmwright.web.render import names

pytestmark = pytest.mark.whole

PAGES = ("", "?open=all", "/resume", "/step/02A", "/step/02A?wafer=W1", "/wafer/W1")
AT = "2031-05-04T09:00:00+02:00"


def entry(lot, kind, **more):
    """One entry of an invented lot."""
    return Event(
        id=str(uuid.uuid4()), lot=lot, kind=kind, happened=AT, written=AT, who="AB", invented=True, **more
    )


def through(lot, steps, **more):
    """Steps begun and finished."""
    return [entry(lot, kind, step=step.number, **more) for step in steps for kind in ("start", "finish")]


STORIES = {
    "new": lambda lot, steps: [],
    "running": lambda lot, steps: [entry(lot, "start", step=steps[0].number)],
    "skipped": lambda lot, steps: [entry(lot, "skip", step=steps[0].number, text="clean from the box")],
    "held": lambda lot, steps: through(lot, steps[:9]),
    "back": lambda lot, steps: [
        *through(lot, steps[:9]), entry(lot, "hold", step=steps[8].number, name="rework", text="residue"),
    ],
    "scrapped": lambda lot, steps: [entry(lot, "hold", name="scrap", text="dropped")],
    "cut": lambda lot, steps: [entry(lot, "cleave", wafer="W1", name="W1.a", text="quarter")],
    "away": lambda lot, steps: [entry(lot, "leave", wafer="W1", name="K7M-4H7")],
    "finished": lambda lot, steps: [
        each for step in steps for each in (
            *through(lot, [step]), *([entry(lot, "hold", step=step.number, name="go", text="fine")] if step.hold else []),
        )
    ],
}  # fmt: skip


@pytest.fixture
def started(copy):
    """Starts a lot of two wafers and writes its story."""
    bench = copy.app.state.bench

    def start(story):
        lot = start_lot(bench, plan="delay-line/plan.yaml", wafers=2, who="AB").name
        events = STORIES[story](lot, bench.flow(lot).steps)
        bench.store.append(events)
        return lot

    return start


def test_every_page_shows_a_lot_in_every_state(copy, started):
    lots = {story: started(story) for story in STORIES}
    for story, lot in lots.items():
        for page in PAGES:
            answer = copy.get(f"/lot/{lot}{page}")
            assert answer.status_code == 200, (story, page)
    grid = {story: copy.get(f"/lot/{lot}?open=all").text for story, lot in lots.items()}
    for story, word in (
        ("new", "ready"), ("running", "running"), ("skipped", "skipped"), ("held", "held"), ("back", "rework"),
        ("scrapped", "scrapped"), ("away", "away"), ("finished", "done"),
    ):  # fmt: skip
        assert f"<span>{word}</span>" in grid[story], story
    assert "W1.a" in grid["cut"]
    today = copy.get("/").text
    assert lots["running"] in today
    assert lots["finished"] not in today
    assert lots["finished"] in copy.get("/lots").text
    assert "all steps done" in copy.get(f"/lot/{lots['finished']}/resume").text


@pytest.mark.parametrize(
    ("given", "told"),
    [
        ([], ""),
        (["W1"], "W1"),
        (["W1", "W2"], "W1, W2"),
        (["W1", "W2", "W3", "W4", "W12"], "W1 to W4, W12"),
        (["W8", "W9", "W10"], "W8 to W10"),
        (["A", "B", "C"], "A, B, C"),
        (["W1.a", "W1.b", "W2"], "W1.a, W1.b, W2"),
    ],
)
def test_many_names_are_told_by_their_ends(given, told):
    assert names(given) == told
