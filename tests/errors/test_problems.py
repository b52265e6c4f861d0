"""One shape for everything that is wrong with an input."""

import pytest

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
