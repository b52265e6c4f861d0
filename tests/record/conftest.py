"""A lot and entries of its own for every test."""

import uuid

import pytest

from filmwright.record import Event, LogbookEntry, Lot, Store, digest

NOON = "2031-05-04T12:00:00+02:00"
FLOW = "flow: invented for tests\nsteps: []\n"


@pytest.fixture
def path(tmp_path):
    return tmp_path / "run.sqlite"


@pytest.fixture
def make_lot():
    def make(**changes):
        given = {
            "name": "K7M-4H7",
            "flow_text": FLOW,
            "flow_digest": digest(FLOW),
            "lab_text": "lab: invented\n",
            "lab_digest": digest("lab: invented\n"),
            "knowledge_version": "1",
            "code_version": "0.1.0",
            "seed": 7,
            "wafers": ("A", "B"),
            "started": NOON,
            "invented": True,
            "note": "invented for tests",
        }
        return Lot(**{**given, **changes})

    return make


@pytest.fixture
def make_event():
    def make(**changes):
        given = {
            "id": str(uuid.uuid4()),
            "lot": "K7M-4H7",
            "step": "3.2",
            "kind": "set",
            "name": "time",
            "value": 45.0,
            "unit": "s",
            "happened": NOON,
            "written": NOON,
            "who": "invented",
            "invented": True,
        }
        return Event(**{**given, **changes})

    return make


@pytest.fixture
def make_line():
    def make(**changes):
        given = {
            "id": str(uuid.uuid4()),
            "book": "tool:evaporator",
            "kind": "check",
            "name": "rate",
            "value": 1e-10,
            "unit": "ang/s",
            "happened": NOON,
            "written": NOON,
            "who": "invented",
            "invented": True,
        }
        return LogbookEntry(**{**given, **changes})

    return make


@pytest.fixture
def store(path, make_lot):
    with Store.open(path, create=True) as opened:
        opened.start_lot(make_lot())
        yield opened
