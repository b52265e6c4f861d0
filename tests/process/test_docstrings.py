"""Every public law says what it takes, in which unit, where it stops and where it was read."""

import inspect
import re

import pytest

from filmwright import process

LAWS = [
    getattr(process, name)
    for name in process.__all__
    if inspect.isfunction(getattr(process, name)) and name != "check_range"
]


@pytest.mark.property
@pytest.mark.parametrize("law", LAWS, ids=lambda law: law.__name__)
def test_a_law_is_documented(law):
    text = inspect.getdoc(law)
    described, _, notes = text.partition("\nNotes\n-----\n")
    assert "Source: " in notes, "the reference, or definition, must be named"
    for name in inspect.signature(law).parameters:
        assert re.search(rf"^[\w, ]*\b{name}\b[\w, ]* : ", described, flags=re.MULTILINE), name
    if law.__name__ != "overlay":
        assert "\nRaises\n------\nValueError\n" in described


@pytest.mark.property
@pytest.mark.parametrize("law", LAWS, ids=lambda law: law.__name__)
def test_a_law_takes_at_most_seven_arguments(law):
    assert len(inspect.signature(law).parameters) <= 7
