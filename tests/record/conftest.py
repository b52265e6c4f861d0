"""A lot and entries of its own for every test."""

import sqlite3
import uuid
from contextlib import closing

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


@pytest.fixture(params=["sqlite", "postgres"])
def place(request):
    """Where the record is: each test that uses it runs on both databases."""
    return request.getfixturevalue("path" if request.param == "sqlite" else "postgres_place")


@pytest.fixture
def store(place, make_lot):
    with Store.open(place, create=True) as opened:
        opened.start_lot(make_lot())
        yield opened


@pytest.fixture
def file_store(path, make_lot):
    """A record that is an SQLite file, for what is so only there."""
    with Store.open(path, create=True) as opened:
        opened.start_lot(make_lot())
        yield opened


@pytest.fixture
def tamper(place):
    """Change a record as its owner could: with the guards taken off."""

    def change(*statements):
        if str(place).startswith("postgresql:"):
            import psycopg

            with psycopg.connect(place, autocommit=True) as other:
                for table in ("lots", "events", "files", "kept_files", "logbooks", "calibrations"):
                    other.execute(f"ALTER TABLE {table} DISABLE TRIGGER ALL")
                for statement in statements:
                    other.execute(statement)
            return
        with closing(sqlite3.connect(place, isolation_level=None)) as other:
            triggers = other.execute("SELECT name FROM sqlite_master WHERE type = 'trigger'").fetchall()
            for (name,) in triggers:
                other.execute(f"DROP TRIGGER {name}")
            for statement in statements:
                other.execute(statement)

    return change
