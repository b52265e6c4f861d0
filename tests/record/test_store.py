"""What is kept comes back the same, stays as it was written, and shows when it was touched."""

import hashlib
import json
import sqlite3
import subprocess
import sys
import uuid
from contextlib import closing
from dataclasses import replace

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from filmwright.errors import BadInput
from filmwright.knowledge import Calibration
from filmwright.record import EVENT_KINDS, AcceptedCalibration, Event, MeasurementFile, Store, digest
from filmwright.record.chain import event_digest, lot_digest

NOON = "2031-05-04T12:00:00+02:00"
PLAIN = st.text(st.characters(exclude_categories=["Cs"], exclude_characters="\0"), min_size=1, max_size=20)


@pytest.mark.analytic
def test_lots_and_entries_come_back_the_same(place, make_lot, make_event):
    lot, other = make_lot(), make_lot(name="NMJ-9JF", wafers=("1",), seed=2**70)
    entries = (
        make_event(),
        make_event(wafer="B", kind="note", value=None, name="", text="fence — 30 nm ± 5\nsecond line"),
    )
    with Store.open(place, create=True) as store:
        store.start_lot(lot)
        store.start_lot(other)
        assert store.append(entries) == 2
    with Store.open(place) as store:
        assert store.lots() == (lot, other)
        assert store.lot("NMJ-9JF") == other
        assert store.events("K7M-4H7") == entries
        assert store.events("K7M-4H7", after=1) == entries[1:]
        assert store.events("NMJ-9JF") == ()


@pytest.mark.property
@settings(max_examples=40, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(
    kind=st.sampled_from([each for each in EVENT_KINDS if each not in ("cleave", "enter")]),
    name=PLAIN,
    text=PLAIN,
    unit=PLAIN,
    value=st.none() | st.floats(allow_nan=False, allow_infinity=False),
    invented=st.booleans(),
)
def test_any_entry_comes_back_the_same(store, kind, name, text, unit, value, invented):
    first = Event(id=str(uuid.uuid4()), lot="K7M-4H7", kind="note", text="x", happened=NOON, written=NOON)
    store.append([first])
    entry = Event(
        id=str(uuid.uuid4()), lot="K7M-4H7", kind=kind, name=name, text=text, unit=unit, value=value,
        invented=invented, happened=NOON, written=NOON, about=first.id, sha256=store.keep_blob(b"photo"),
    )  # fmt: skip
    store.append([entry])
    assert store.events("K7M-4H7")[-1] == entry
    assert store.verify("K7M-4H7").sound


@pytest.mark.analytic
def test_an_entry_sent_twice_is_kept_once(store, make_event):
    entry = make_event()
    assert store.append([entry, entry]) == 1
    assert store.append([replace(entry, written="2031-05-04T13:00:00+02:00"), make_event()]) == 1
    assert len(store.events("K7M-4H7")) == 2
    assert store.events("K7M-4H7")[0].written == NOON


@pytest.mark.analytic
def test_another_entry_under_a_known_id_is_refused_and_nothing_is_kept(store, make_event):
    entry = make_event()
    store.append([entry])
    with pytest.raises(BadInput, match="correction as a new entry"):
        store.append([make_event(), replace(entry, value=50.0)])
    assert store.events("K7M-4H7") == (entry,)


@pytest.mark.analytic
def test_entries_of_unknown_lots_and_wafers_are_refused_together(store, make_event):
    with pytest.raises(BadInput) as refused:
        store.append([make_event(), make_event(lot="nobody"), make_event(wafer="C")])
    assert len(refused.value.problems) == 2
    assert store.events("K7M-4H7") == ()
    with pytest.raises(BadInput, match="K7M-4H7"):
        store.events("K7M-4H")


@pytest.mark.analytic
def test_a_lot_is_frozen_when_it_starts(store, make_lot):
    store.start_lot(make_lot())
    with pytest.raises(BadInput, match="another name"):
        store.start_lot(make_lot(flow_text="flow: another\n"))
    assert store.lots() == (make_lot(),)


@pytest.mark.analytic
@pytest.mark.parametrize(
    "statement",
    [
        "UPDATE events SET value = 1",
        "DELETE FROM events",
        "INSERT OR REPLACE INTO events SELECT * FROM events",
        "INSERT INTO events SELECT 99, 'x', lot, 7, wafer, step, kind, name, value, unit, text, happened, "
        "written, who, invented, previous, digest, about, sha256 FROM events",
        "UPDATE lots SET note = ''",
        "DELETE FROM lots",
        "UPDATE kept_files SET name = 'b.csv'",
        "REPLACE INTO kept_files SELECT * FROM kept_files",
        "DELETE FROM logbooks",
        "UPDATE logbooks SET text = ''",
        "DELETE FROM files",
    ],
)
def test_another_program_cannot_change_what_was_written(path, file_store, make_event, make_line, statement):
    file_store.append([make_event()])
    file = MeasurementFile(lot="K7M-4H7", name="a.csv", sha256=digest(b"raw"), kept=NOON)
    file_store.keep_file(file, b"raw")
    file_store.enter([make_line()])
    with closing(sqlite3.connect(path)) as other, pytest.raises(sqlite3.IntegrityError, match="append-only"):
        other.execute(statement)
    assert file_store.verify("K7M-4H7").sound


@pytest.mark.analytic
def test_write_ahead_log_full_sync_and_foreign_keys_are_on(path, file_store):
    with closing(sqlite3.connect(path)) as other:
        assert other.execute("PRAGMA journal_mode").fetchone() == ("wal",)
    names = ("synchronous", "foreign_keys", "busy_timeout", "recursive_triggers")
    found = file_store._backend.read(
        lambda connection: {name: connection.exec_driver_sql(f"PRAGMA {name}").scalar() for name in names}
    )
    assert found == {"synchronous": 2, "foreign_keys": 1, "busy_timeout": 4000, "recursive_triggers": 1}


@pytest.mark.analytic
def test_the_chain_follows_its_definition(store, make_lot, make_event):
    entries = [make_event(), make_event(value=None, text="purple")]
    store.append(entries)
    head = event_digest(event_digest(lot_digest(make_lot()), entries[0]), entries[1])
    checked = store.verify("K7M-4H7")
    assert (checked.sound, checked.entries, checked.head) == (True, 2, head)


@pytest.mark.reference
def test_an_entry_seals_all_before_it():
    entry = Event(
        id=str(uuid.UUID(int=1)), lot="K7M-4H7", kind="note", text="purple — Å", happened=NOON, written=NOON
    )
    fields = {
        "id": str(uuid.UUID(int=1)),
        "lot": "K7M-4H7",
        "kind": "note",
        "text": "purple — Å",
        "happened": NOON,
        "written": NOON,
        "wafer": "",
        "step": "",
        "name": "",
        "value": None,
        "unit": "",
        "who": "",
        "invented": False,
    }
    text = json.dumps(fields, sort_keys=True, separators=(",", ":"), ensure_ascii=False)
    assert event_digest("before", entry) == hashlib.sha256(b"before" + text.encode()).hexdigest()


@pytest.mark.analytic
@pytest.mark.parametrize(
    ("statement", "first_bad", "why"),
    [
        ("UPDATE events SET value = value + 1e-9 WHERE position = 2", 2, "entry 2 was changed"),
        (
            "UPDATE events SET written = '2031-05-04T12:00:01+02:00' WHERE position = 3",
            3,
            "entry 3 was changed",
        ),
        ("DELETE FROM events WHERE position = 2", 2, "entry 2 is missing"),
        ("DELETE FROM events WHERE position = 1", 1, "entry 1 is missing"),
        ("UPDATE events SET position = -position", 1, "entry 1 is missing"),
        ("UPDATE lots SET flow_text = 'flow: nicer'", 0, "the lot itself was changed"),
        ("UPDATE events SET kind = 'planned' WHERE position = 1", 0, "can no longer be read"),
    ],
)
def test_the_chain_shows_what_was_touched(tamper, store, make_event, statement, first_bad, why):
    store.append([make_event() for _ in range(4)])
    tamper(statement)
    checked = store.verify("K7M-4H7")
    assert (checked.sound, checked.first_bad) == (False, first_bad)
    assert why in checked.why


@pytest.mark.analytic
def test_a_cut_off_end_shows_against_a_printed_head(tamper, store, make_event):
    store.append([make_event() for _ in range(4)])
    printed = store.verify("K7M-4H7").head[:12]
    store.append([make_event()])
    assert store.verify("K7M-4H7", head=printed).sound
    tamper("DELETE FROM events WHERE position >= 4")
    assert store.verify("K7M-4H7").sound, "the chain alone cannot see its end missing"
    assert not store.verify("K7M-4H7", head=printed).sound


@pytest.mark.analytic
def test_accepted_calibrations_come_back_once_each(store):
    calibration = Calibration(
        of="deposition rate", tool="evaporator", value=1e-10, std=2e-12, unit="ang/s", date="2031-05-04",
        material="titanium", kind="fitted", evidence="two wafers, invented",
    )  # fmt: skip
    accepted = AcceptedCalibration(calibration=calibration, lot="K7M-4H7", who="invented", when=NOON)
    store.accept(accepted)
    store.accept(accepted)
    later = replace(accepted, when="2031-05-05T12:00:00+02:00")
    store.accept(later)
    assert store.accepted() == (accepted, later)
    assert store.accepted("K7M-4H7") == (accepted, later)
    with pytest.raises(BadInput, match="in the record"):
        store.accept(replace(accepted, lot="nobody"))
    with pytest.raises(BadInput, match="a person accepts"):
        replace(accepted, who="")


@pytest.mark.analytic
def test_a_raw_file_is_kept_once_with_its_hash(store):
    raw = bytes(range(256)) * 40
    first = MeasurementFile(lot="K7M-4H7", name="a.csv", sha256=digest(raw), kept=NOON, wafer="A",
    device="T3",
                            width=1e-4, length=1e-5)  # fmt: skip
    second = replace(first, parameters=json.dumps({"threshold_voltage": 1.5}))
    for file in (
        first,
        first,
        second,
        replace(second, kept="2031-05-04T13:00:00+02:00"),
        replace(first, device="T4"),
    ):
        store.keep_file(file, raw)
    assert store.files("K7M-4H7") == (second, replace(first, device="T4"))
    assert store.files("K7M-4H7", every=True) == (first, second, replace(first, device="T4"))
    assert store.raw(digest(raw)) == raw
    assert [(each.sha256, each.name, each.size) for each in store.kept()] == [
        (digest(raw), "a.csv", len(raw))
    ]
    there = store.backend.folder / digest(raw)[:2] / digest(raw)
    assert there.read_bytes() == raw
    with pytest.raises(BadInput, match="changed after it was read"):
        store.keep_file(first, raw + b"x")
    with pytest.raises(BadInput, match=r"the wafer of a\.csv"):
        store.keep_file(replace(first, wafer="C"), raw)
    there.write_bytes(raw[:-1])
    with pytest.raises(BadInput, match="changed bytes"):
        store.raw(digest(raw))
    there.unlink()
    with pytest.raises(BadInput, match="bring the folder back"):
        store.raw(digest(raw))
    store.keep_file(first, raw)
    assert store.raw(digest(raw)) == raw, "keeping it again heals the folder"


@pytest.mark.analytic
def test_importing_the_room_loads_no_database():
    code = "import sys, filmwright.record; print([m for m in ('sqlalchemy', 'alembic', 'psycopg') if m in sys.modules])"
    shown = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert shown.stdout.strip() == "[]"
