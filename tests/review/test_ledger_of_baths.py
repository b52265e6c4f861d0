"""The loss of each kind of film in every bath and plasma: what the ledger says against rate × time of the fact."""

from collections.abc import Iterator

import pytest

from filmwright.emulate import Trace, walk
from filmwright.flow import flow_from_text, lab_from_text
from filmwright.knowledge import book
from filmwright.review import ledger, review

PLAN = """\
flow: A bath on a film
wafer:
  body: sapphire
  diameter: 100 mm
  films:
    - {material: FILM, thickness: 500 nm}

steps:
  - clean: BATH
    time: 10 s
"""
SECONDS, THICK = 10.0, 500e-9
FILMS = [each.name for each in book().materials.values() if each.kind not in {"organic", "substrate"}]
BATHS = [each.name for each in book().media.values() if each.kind != "developer"]


def walked(bath: str, film: str) -> Trace:
    lab = lab_from_text("lab: A lab\n", "lab.yaml")
    flow = flow_from_text(PLAN.replace("FILM", film).replace("BATH", bath), "plan.yaml", lab)
    return walk(flow, lab, book(), None, on="2026-10-26", sections=False)


def answers(bath: str) -> Iterator[tuple[str, str]]:
    """One film for each answer that the facts give of a bath: a rate, attacked without one, not attacked, unknown."""
    seen = set()
    for film in FILMS:
        rate = book().medium(bath).rate(film)
        answer = "rate" if rate.verdict == "attacks" and rate.value is not None else rate.verdict
        if answer not in seen:
            seen.add(answer)
            yield answer, film


@pytest.mark.analytic
@pytest.mark.parametrize("bath", BATHS)
def test_the_ledger_is_rate_times_time_and_the_unknown_is_a_finding(bath: str):
    for answer, film in answers(bath):
        trace = walked(bath, film)
        lost = [each for each in ledger(trace, book()) if each.material == film]
        rate = book().medium(bath).rate(film)
        expected = min(rate.value.value * SECONDS, THICK) if answer == "rate" and rate.value else 0.0
        assert max((each.typical for each in lost), default=0.0) == pytest.approx(expected, rel=1e-6), film
        assert bool(lost) is (expected > 0), film
        named = {name for each in review(trace, book()) for name in (each.rule, *each.also)}
        assert ("unknown pair" in named) is (answer == "unknown"), film
        assert ("attacked, rate not on file" in named) is (answer == "attacks"), film


@pytest.mark.property
def test_every_answer_is_met():
    assert {answer for bath in BATHS for answer, _ in answers(bath)} == {
        "rate", "attacks", "does not attack", "unknown",
    }  # fmt: skip
