"""One shape for everything that is wrong with an input."""

import dataclasses

import pytest
from hypothesis import given
from hypothesis import strategies as st

from filmwright.errors import BadInput, Problem, Problems, nearest


def problem(**more: object) -> Problem:
    """A problem with a place."""
    fields = {
        "what": "the dose",
        "expected": "a dose",
        "got": '"5"',
        "why": "it prints",
        "remedy": "add the unit",
        **more,
    }
    return Problem(**fields)  # type: ignore[arg-type]


@pytest.mark.analytic
def test_a_problem_reads_as_one_sentence():
    said = str(problem().at("plan.yaml", 12))
    assert said == 'plan.yaml:12: the dose must be a dose, got "5" — it prints; add the unit'
    assert str(problem()).startswith("the dose must be")
    assert problem().at("plan.yaml", 12).fields()["line"] == 12


@pytest.mark.analytic
def test_all_problems_come_together_in_order_of_place():
    found = Problems()
    found.raise_any()
    found.add(problem(file="b.yaml", line=3))
    found.add(problem(file="a.yaml", line=9))
    found.add(problem(file="a.yaml", line=2))
    with pytest.raises(BadInput) as bad:
        found.raise_any()
    assert [(each.file, each.line) for each in bad.value.problems] == [
        ("a.yaml", 2),
        ("a.yaml", 9),
        ("b.yaml", 3),
    ]


@pytest.mark.analytic
def test_the_nearest_word_is_offered_else_what_is_valid():
    assert nearest("Titaniun", ["titanium", "gold"]) == 'did you mean "titanium"?'
    assert nearest("xyz", ["titanium", "gold"]) == "use one of: gold, titanium"


@pytest.mark.analytic
@pytest.mark.parametrize(
    ("place", "head"),
    [
        ({"file": "plan.yaml", "line": 12}, "plan.yaml:12: the dose must be"),
        ({"file": "plan.yaml", "line": 12, "column": 5}, "plan.yaml:12: the dose must be"),
        ({"file": "plan.yaml"}, "plan.yaml: the dose must be"),
        ({}, "the dose must be"),
    ],
)
def test_the_place_stands_in_front_as_far_as_it_is_known(place: dict[str, object], head: str):
    assert str(problem(**place)).startswith(head)


@pytest.mark.analytic
def test_a_problem_keeps_its_words_when_it_gets_its_place():
    found = problem()
    placed = found.at("plan.yaml", 12, 3)
    assert (placed.file, placed.line, placed.column) == ("plan.yaml", 12, 3)
    assert placed.fields() == {
        "what": "the dose",
        "expected": "a dose",
        "got": '"5"',
        "why": "it prints",
        "remedy": "add the unit",
        "file": "plan.yaml",
        "line": 12,
        "column": 3,
    }
    assert (found.file, found.line) == ("", None)
    with pytest.raises(dataclasses.FrozenInstanceError):
        found.line = 3


@pytest.mark.analytic
def test_the_exception_prints_one_line_for_each_problem():
    bad = BadInput(problem(file="a.yaml", line=2), problem(file="a.yaml", line=9))
    assert [line.partition(": ")[0] for line in str(bad).splitlines()] == ["a.yaml:2", "a.yaml:9"]


@pytest.mark.property
@given(
    st.lists(
        st.tuples(
            st.sampled_from(["", "a.yaml", "b.yaml"]), st.none() | st.integers(1, 99), st.integers(1, 9)
        ),
        min_size=1,
    )
)
def test_no_problem_is_lost_and_places_ascend(places: list[tuple[str, int | None, int]]):
    found = Problems()
    for file, line, column in places:
        found.add(problem(file=file, line=line, column=column))
    with pytest.raises(BadInput) as bad:
        found.raise_any()
    said = [(each.file, each.line or 0, each.column) for each in bad.value.problems]
    assert said == sorted((file, line or 0, column) for file, line, column in places)


@pytest.mark.property
@given(st.text(max_size=20), st.lists(st.text(min_size=1, max_size=12), min_size=1, max_size=30))
def test_a_hint_is_always_one_line_with_a_valid_word(word: str, words: list[str]):
    hint = nearest(word, words)
    assert any(each in hint for each in words)
    assert hint.startswith(('did you mean "', "use one of: "))


@pytest.mark.analytic
def test_a_long_list_of_valid_words_is_cut():
    hint = nearest("zzzzzz", [f"word {n:02d}" for n in range(30)])
    assert hint.endswith("word 11, …")
    assert hint.count(",") == 12
