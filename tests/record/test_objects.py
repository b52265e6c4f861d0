"""Records are validated at construction, all problems at once."""

import math

import pytest

from filmwright.errors import BadInput
from filmwright.record import MeasurementFile, digest


@pytest.mark.analytic
@pytest.mark.parametrize(
    ("change", "expected"),
    [
        ({"kind": "planned"}, "a kind of entry"),
        ({"kind": "seem"}, 'did you mean "seen"'),
        ({"id": "one"}, "a UUID"),
        ({"happened": "14:02"}, "an ISO time with its offset"),
        ({"written": "2031-05-04T12:00:00"}, "an ISO time with its offset"),
        ({"happened": "2031-05-04T15:00:00+02:00"}, "before it was written"),
        ({"value": math.nan}, "a finite number"),
        ({"value": math.inf}, "a finite number"),
        ({"step": "three"}, 'like "3.2"'),
        ({"name": ""}, "named"),
        ({"value": None}, "a value or words"),
        ({"text": "a\0b"}, "plain text"),
        ({"text": "\ud800"}, "plain text"),
        ({"wafer": "../A"}, 'like "A"'),
    ],
)
def test_an_entry_that_cannot_be_used_is_refused(make_event, change, expected):
    with pytest.raises(BadInput, match=expected):
        make_event(**change)


@pytest.mark.analytic
def test_all_problems_come_together(make_event):
    with pytest.raises(BadInput) as refused:
        make_event(kind="planned", step="three", happened="yesterday")
    assert len(refused.value.problems) == 3


@pytest.mark.analytic
@pytest.mark.parametrize(
    ("change", "expected"),
    [
        ({"wafers": ()}, "at least one name"),
        ({"wafers": ("A", "A")}, "each once"),
        ({"name": "my lot"}, "K7M-4H7"),
        ({"flow_digest": "no"}, "the digest of the flow"),
        ({"started": "today"}, "ISO time"),
    ],
)
def test_a_lot_that_cannot_be_used_is_refused(make_lot, change, expected):
    with pytest.raises(BadInput, match=expected):
        make_lot(**change)


@pytest.mark.analytic
@pytest.mark.parametrize(
    ("change", "expected"),
    [
        ({"name": "a/b.csv"}, "without folders"),
        ({"sha256": "12"}, "SHA-256"),
        ({"parameters": "[1]"}, "a JSON object"),
        ({"parameters": '{"a": NaN}'}, "a JSON object"),
        ({"parameters": '{"a": '}, "a JSON object"),
        ({"width": math.nan}, "a finite number"),
    ],
)
def test_a_file_that_cannot_be_used_is_refused(change, expected):
    given = {"lot": "K7M-4H7", "name": "a.csv", "sha256": digest(b"a"), "kept": "2031-05-04T12:00:00+02:00"}
    with pytest.raises(BadInput, match=expected):
        MeasurementFile(**{**given, **change})


@pytest.mark.analytic
def test_a_whole_number_and_a_negative_zero_become_the_floats_that_are_stored(make_event):
    assert isinstance(make_event(value=60).value, float)
    assert math.copysign(1.0, make_event(value=-0.0).value) == 1.0
